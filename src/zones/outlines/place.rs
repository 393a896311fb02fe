//! The place of each zone: a cell well inside it, which carries its label and gives
//! its stable id. Rows of zone labels come in, one cell for each label goes out.

use super::error::OutlineError;
use super::runs::{Run, join_runs};
use crate::grid::{CellIndex, Grid};

/// The longest run of a zone seen so far.
#[derive(Debug, Clone, Copy, Default)]
struct LongestRun {
    row: u32,
    first_col: u32,
    cells: u32,
}

/// Takes in the rows of zone labels, from north to south, and finds the anchor cell
/// of each zone: the middle cell of its longest run in a row, the northmost and then
/// the westmost where several are as long, the western of two middle ones.
#[derive(Debug)]
pub struct AnchorFinder {
    cols: u32,
    rows_seen: u32,
    longest: Vec<LongestRun>,
    joined: Vec<Run>,
}

impl AnchorFinder {
    /// A finder for rows of `cols` cells.
    #[must_use]
    pub fn new(cols: u32) -> AnchorFinder {
        AnchorFinder {
            cols,
            rows_seen: 0,
            longest: Vec::new(),
            joined: Vec::new(),
        }
    }

    /// Takes the next row, as [`OutlineBuilder::push_row`](super::OutlineBuilder::push_row) does.
    ///
    /// # Errors
    /// Runs that do not cover the row in order.
    pub fn push_row(&mut self, runs: &[(u32, u32)]) -> Result<(), OutlineError> {
        join_runs(self.rows_seen, self.cols, runs, &mut self.joined)?;
        let mut first_col = 0;
        for &(end_col, label) in &self.joined {
            let cells = end_col - first_col;
            if label > 0 {
                let zone = label as usize - 1;
                if zone >= self.longest.len() {
                    self.longest.resize(zone + 1, LongestRun::default());
                }
                if cells > self.longest[zone].cells {
                    self.longest[zone] = LongestRun {
                        row: self.rows_seen,
                        first_col,
                        cells,
                    };
                }
            }
            first_col = end_col;
        }
        self.rows_seen += 1;
        Ok(())
    }

    /// The anchor cell of each label, that of label 1 first; nothing for a label no
    /// cell bears.
    #[must_use]
    pub fn finish(self) -> Vec<Option<CellIndex>> {
        let anchor = |run: LongestRun| {
            (run.cells > 0).then(|| CellIndex {
                row: run.row as usize,
                col: (run.first_col + (run.cells - 1) / 2) as usize,
            })
        };
        self.longest.into_iter().map(anchor).collect()
    }
}

/// A short id from the map position of a cell's north-west corner: `e512340n4871230`,
/// with `w` and `s` for negative coordinates. No two cells of a grid share one, and
/// the same ground has the same one on every grid of that CRS and cell size.
///
/// # Units
/// Metres, cut to whole ones; with decimals where the cell is smaller than a metre.
#[must_use]
pub fn stable_id(grid: &Grid, anchor: CellIndex) -> String {
    let (x, y) = grid.corner_to_map(anchor.row, anchor.col);
    let mut decimals = 0;
    let mut parts = 1.0;
    while grid.cell_m() * parts < 1.0 && decimals < 9 {
        decimals += 1;
        parts *= 10.0;
    }
    // Cells are at least one part apart, so cut coordinates stay apart. A thousandth
    // of a part keeps noise in the last digits from deciding.
    let cut = |value: f64| (value * parts + 1e-3).floor() / parts;
    let (x, y) = (cut(x), cut(y));
    let side = |value: f64, above: char, below: char| if value < 0.0 { below } else { above };
    let (east, north) = (side(x, 'e', 'w'), side(y, 'n', 's'));
    format!("{east}{:.decimals$}{north}{:.decimals$}", x.abs(), y.abs())
}
