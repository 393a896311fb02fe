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
    starts: Vec<usize>,
    /// Corners still there in each bucket; those that left lie behind them.
    present: Vec<u32>,
    corners: Vec<Corner>,
}

impl VertexIndex {
    /// An index of corners, each named once.
    pub(super) fn new(corners: &[Corner]) -> VertexIndex {
        let rows = corners.iter().map(|corner| corner.row).max().unwrap_or(0) as usize;
        let cols = corners.iter().map(|corner| corner.col).max().unwrap_or(0) as usize;
        let mut power = 1;
        while ((rows >> power) + 1) * ((cols >> power) + 1) > corners.len().max(64) {
            power += 1;
        }
        let (bucket_rows, bucket_cols) = ((rows >> power) + 1, (cols >> power) + 1);
        let bucket_of =
            |corner: &Corner| (corner.row as usize >> power) * bucket_cols + (corner.col as usize >> power);
        let mut present = vec![0u32; bucket_rows * bucket_cols];
        for corner in corners {
            present[bucket_of(corner)] += 1;
        }
        let mut starts = Vec::with_capacity(present.len());
        let mut sum = 0;
        for &count in &present {
            starts.push(sum);
            sum += count as usize;
        }
        let mut next = starts.clone();
        let mut sorted = vec![Corner { row: 0, col: 0 }; corners.len()];
        for corner in corners {
            let slot = &mut next[bucket_of(corner)];
            sorted[*slot] = *corner;
            *slot += 1;
        }
        VertexIndex {
            power,
            bucket_cols,
            bucket_rows,
            starts,
            present,
            corners: sorted,
        }
    }

    /// Takes a corner out.
    pub(super) fn remove(&mut self, corner: Corner) {
        let bucket =
            (corner.row as usize >> self.power) * self.bucket_cols + (corner.col as usize >> self.power);
        let start = self.starts[bucket];
        let there = &mut self.corners[start..start + self.present[bucket] as usize];
        if let Some(place) = there.iter().position(|&other| other == corner) {
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
            (west..=east)
                .any(|bucket_col| self.any_in_bucket(bucket_row * self.bucket_cols + bucket_col, points))
        })
    }

    fn any_in_bucket(&self, bucket: usize, triangle: [Point; 3]) -> bool {
        let start = self.starts[bucket];
        self.corners[start..start + self.present[bucket] as usize]
            .iter()
            .map(|corner| corner.point())
            .any(|point| !triangle.contains(&point) && in_closed_triangle(point, triangle))
    }
}

fn whole(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}
