//! The corners of the grid that still belong to a border, found by place: which
//! of them lie in a triangle. Corners only ever leave it.

use super::lattice::{Point, in_closed_triangle, reach_in_band};
use super::vertex::Corner;

/// Corners in square buckets.
pub(super) struct VertexIndex {
    /// The side of a bucket is two to this power.
    power: u32,
    bucket_cols: usize,
    bucket_rows: usize,
    starts: Vec<u32>,
    /// Corners still there in each bucket; those that left lie behind them.
    present: Vec<u32>,
    /// Row and column within the bucket.
    within: Vec<(u16, u16)>,
}

/// Greatest power of a bucket's side: its rows and columns have two bytes.
const GREATEST_POWER: u32 = 16;

/// Corners that a bucket holds on the whole.
const OF_BUCKET: usize = 4;

impl VertexIndex {
    /// An index of corners; each time it is asked, `corners` names each once, in one order.
    pub(super) fn new<I: Iterator<Item = Corner>>(corners: impl Fn() -> I) -> VertexIndex {
        let (mut rows, mut cols, mut count) = (0, 0, 0);
        for corner in corners() {
            rows = rows.max(corner.row as usize);
            cols = cols.max(corner.col as usize);
            count += 1;
        }
        let most = (count / OF_BUCKET).max(64);
        let mut power = 1;
        while power < GREATEST_POWER && ((rows >> power) + 1) * ((cols >> power) + 1) > most {
            power += 1;
        }
        let (bucket_rows, bucket_cols) = ((rows >> power) + 1, (cols >> power) + 1);
        let mut index = VertexIndex {
            power,
            bucket_cols,
            bucket_rows,
            starts: Vec::new(),
            present: vec![0; bucket_rows * bucket_cols],
            within: vec![(0, 0); count],
        };
        for corner in corners() {
            let bucket = index.bucket_of(corner);
            index.present[bucket] += 1;
        }
        let mut sum = 0;
        let start = |&count: &u32| {
            let start = sum;
            sum += count;
            start
        };
        index.starts = index.present.iter().map(start).collect();
        index.present.fill(0);
        for corner in corners() {
            let bucket = index.bucket_of(corner);
            let place = index.starts[bucket] + index.present[bucket];
            index.within[place as usize] = index.within_bucket(corner);
            index.present[bucket] += 1;
        }
        index
    }

    fn bucket_of(&self, corner: Corner) -> usize {
        (corner.row as usize >> self.power) * self.bucket_cols + (corner.col as usize >> self.power)
    }

    #[expect(clippy::cast_possible_truncation, reason = "a bucket has at most 2^16 rows")]
    fn within_bucket(&self, corner: Corner) -> (u16, u16) {
        let low = |value: u32| (value & ((1 << self.power) - 1)) as u16;
        (low(corner.row), low(corner.col))
    }

    /// Takes a corner out.
    pub(super) fn remove(&mut self, corner: Corner) {
        let (bucket, within) = (self.bucket_of(corner), self.within_bucket(corner));
        let start = self.starts[bucket] as usize;
        let there = &mut self.within[start..start + self.present[bucket] as usize];
        if let Some(place) = there.iter().position(|&other| other == within) {
            let last = there.len() - 1;
            there.swap(place, last);
            self.present[bucket] -= 1;
        }
    }

    /// Whether a corner other than the three lies in their triangle or on its border.
    pub(super) fn any_in_triangle(&self, triangle: [Corner; 3]) -> bool {
        let points = triangle.map(Corner::point);
        let sides = [
            [points[0], points[1]],
            [points[1], points[2]],
            [points[2], points[0]],
        ];
        let rows = triangle.map(|corner| corner.row as usize);
        let first = rows[0].min(rows[1]).min(rows[2]) >> self.power;
        let last = rows[0].max(rows[1]).max(rows[2]) >> self.power;
        (first..=last.min(self.bucket_rows - 1)).any(|bucket_row| {
            // Only the part of the triangle in these rows: a long slanting one has
            // a large box with little in it.
            let north = whole(bucket_row << self.power);
            let south = whole((bucket_row + 1) << self.power);
            let reach = sides
                .iter()
                .filter_map(|&side| reach_in_band(side, -south, -north))
                .reduce(|one, other| (one.0.min(other.0), one.1.max(other.1)));
            let Some((west, east)) = reach else { return false };
            let west = usize::try_from(west).unwrap_or(0) >> self.power;
            let east = (usize::try_from(east).unwrap_or(0) >> self.power).min(self.bucket_cols - 1);
            (west..=east).any(|bucket_col| self.any_in_bucket(bucket_row, bucket_col, points))
        })
    }

    fn any_in_bucket(&self, bucket_row: usize, bucket_col: usize, triangle: [Point; 3]) -> bool {
        let bucket = bucket_row * self.bucket_cols + bucket_col;
        let start = self.starts[bucket] as usize;
        let (north, west) = (whole(bucket_row << self.power), whole(bucket_col << self.power));
        self.within[start..start + self.present[bucket] as usize]
            .iter()
            .map(|&(row, col)| Point {
                x: west + i64::from(col),
                y: -(north + i64::from(row)),
            })
            .any(|point| !triangle.contains(&point) && in_closed_triangle(point, triangle))
    }
}

fn whole(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}
