//! The rows of a grid as runs: the columns at which what holds the cells changes. In come
//! the crossings of all polygons with rows, out go runs of some rows and, from these, who
//! holds which cells. Does not know what polygons stand for.

use std::ops::Range;

use super::crossings::Crossings;

/// From here on in a row something else holds the cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    col: u32,
    /// One polygon alone, [`NONE`], or with [`CHANGES`] a polygon that comes to those that
    /// held the cells before or leaves them, where there are several. Of the latter there
    /// may be several at one column.
    holds: u32,
}

/// Marks a polygon that comes or leaves.
const CHANGES: u32 = 1 << 31;

/// No polygon.
const NONE: u32 = CHANGES - 1;

/// Most polygons that can be told apart.
pub const MOST_POLYGONS: usize = NONE as usize;

/// The runs of some rows.
#[derive(Debug, Default)]
pub struct RunBand {
    /// For each row where its runs end.
    ends: Vec<u32>,
    runs: Box<[Run]>,
}

impl RunBand {
    /// The runs of the rows `from` to `to` from the crossings of those polygons that meet
    /// them.
    ///
    /// # Missing
    /// Nothing when there are more crossings than can be numbered.
    pub fn new(from: usize, to: usize, meeting: &[u32], crossings: &[&Crossings]) -> Option<RunBand> {
        let here = |polygon: u32| crossings[polygon as usize].of_rows(from, to);
        let mut starts = vec![0_usize; to - from + 1];
        for (row, _) in meeting.iter().flat_map(|&polygon| here(polygon)) {
            starts[row - from + 1] += 1;
        }
        for row in 1..starts.len() {
            starts[row] += starts[row - 1];
        }
        let mut places = vec![0_u64; starts[to - from]];
        u32::try_from(places.len()).ok()?;
        let mut next = starts.clone();
        for &polygon in meeting {
            for (row, col) in here(polygon) {
                let place = &mut next[row - from];
                places[*place] = u64::from(col) << 32 | u64::from(polygon);
                *place += 1;
            }
        }
        let (mut ends, mut runs, mut holders) = (Vec::with_capacity(to - from), Vec::new(), Vec::new());
        for row in starts.windows(2) {
            let row = &mut places[row[0]..row[1]];
            row.sort_unstable();
            add_row(row, &mut holders, &mut runs);
            ends.push(u32::try_from(runs.len()).ok()?);
        }
        Some(RunBand {
            ends,
            runs: runs.into_boxed_slice(),
        })
    }

    /// Whether several polygons hold one cell anywhere.
    pub fn has_several(&self) -> bool {
        self.runs.iter().any(|run| run.holds & CHANGES != 0)
    }

    /// Calls `each` for every run of columns of a row that lie in the same polygons, at
    /// least one, lowest number first. `holders` is room to work in.
    pub fn each(
        &self,
        row: usize,
        cols: Range<usize>,
        holders: &mut Vec<u32>,
        mut each: impl FnMut(Range<usize>, &[u32]),
    ) {
        let start = row.checked_sub(1).map_or(0, |before| self.ends[before] as usize);
        let runs = &self.runs[start..self.ends[row] as usize];
        let begun = runs.partition_point(|run| run.col as usize <= cols.start);
        let alone = runs[..begun].iter().rposition(|run| run.holds & CHANGES == 0);
        holders.clear();
        let mut at = cols.start;
        for run in &runs[alone.unwrap_or(0)..] {
            let col = (run.col as usize).clamp(cols.start, cols.end);
            if col > at && !holders.is_empty() {
                each(at..col, holders);
            }
            at = col;
            if col == cols.end {
                return;
            }
            if run.holds & CHANGES != 0 {
                change(holders, run.holds & !CHANGES);
                continue;
            }
            holders.clear();
            if run.holds != NONE {
                holders.push(run.holds);
            }
        }
        if !holders.is_empty() {
            each(at..cols.end, holders);
        }
    }
}

/// Adds the runs of one row from its crossings, columns before polygons, in order.
#[expect(
    clippy::cast_possible_truncation,
    reason = "columns and polygons have half each"
)]
fn add_row(crossings: &[u64], holders: &mut Vec<u32>, runs: &mut Vec<Run>) {
    holders.clear();
    for here in crossings.chunk_by(|a, b| a >> 32 == b >> 32) {
        for &crossing in here {
            change(holders, crossing as u32);
        }
        let col = (here[0] >> 32) as u32;
        let alone = match holders.as_slice() {
            [] => Some(NONE),
            [alone] => Some(*alone),
            _ => None,
        };
        if let Some(holds) = alone {
            runs.push(Run { col, holds });
            continue;
        }
        runs.extend(here.iter().map(|&crossing| Run {
            col,
            holds: crossing as u32 | CHANGES,
        }));
    }
}

/// A polygon's border is passed: it comes to the holders of cells or leaves them.
fn change(holders: &mut Vec<u32>, polygon: u32) {
    match holders.binary_search(&polygon) {
        Ok(inside) => {
            holders.remove(inside);
        }
        Err(outside) => holders.insert(outside, polygon),
    }
}
