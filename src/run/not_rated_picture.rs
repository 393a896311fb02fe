//! Where ground inside the boundary is not rated and why, as a small picture: square
//! coarse cells of the grid, each with the cause that most of its cells have.
//!
//! A coarse cell is a power of two of cells wide, as a tile is, so none lies in two tiles
//! and each tile settles its own.

use serde::{Deserialize, Serialize};

use super::picture_so_far::coarse_cell;
use crate::grid::{Grid, TILE_CELLS};

/// Most coarse cells on a side of any grid: a grid has at most 1,000,000 cells there.
const MOST_OF_ANY_GRID: usize = 1_000_000 / TILE_CELLS + 1;

/// Coarse cells with the cause that most of their cells have.
///
/// # Method
/// A coarse cell counts its cells inside the grid: those outside the boundary, those that
/// are rated, and those of each cause. The largest count wins; where two are even, a cause
/// before what is rated or outside, and of two causes the first by name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Stored", into = "Stored")]
pub struct NotRatedPicture {
    /// Side of a coarse cell in cells of the grid, a power of two. The last row and column
    /// may reach beyond the grid.
    pub cell: usize,
    /// Rows of coarse cells.
    pub rows: usize,
    /// Columns of coarse cells.
    pub cols: usize,
    /// The causes by name, as areas are told by them.
    pub causes: Vec<String>,
    /// Row by row from the north: 0 outside the boundary or rated, else 1 and the
    /// position of the cause.
    pub values: Vec<u8>,
}

/// The picture as it is stored: runs of one value, each with its length.
#[derive(Clone, Serialize, Deserialize)]
struct Stored {
    cell: usize,
    rows: usize,
    cols: usize,
    causes: Vec<String>,
    runs: Vec<(u8, usize)>,
}

impl From<NotRatedPicture> for Stored {
    fn from(picture: NotRatedPicture) -> Stored {
        let same = picture.values.chunk_by(|one, next| one == next);
        Stored {
            runs: same.map(|run| (run[0], run.len())).collect(),
            cell: picture.cell,
            rows: picture.rows,
            cols: picture.cols,
            causes: picture.causes,
        }
    }
}

impl TryFrom<Stored> for NotRatedPicture {
    type Error = String;

    fn try_from(stored: Stored) -> Result<NotRatedPicture, String> {
        let (rows, cols) = (stored.rows, stored.cols);
        if rows.max(cols) > MOST_OF_ANY_GRID {
            return Err(format!(
                "a picture of {rows} x {cols} cells: at most {MOST_OF_ANY_GRID} on a side are needed"
            ));
        }
        let mut values = Vec::with_capacity(rows * cols);
        for (value, length) in stored.runs {
            if length > rows * cols - values.len() || usize::from(value) > stored.causes.len() {
                return Err(format!(
                    "{length} cells of cause {value} in a picture of {rows} x {cols} cells with {} causes: cells and causes that are there are needed",
                    stored.causes.len()
                ));
            }
            values.resize(values.len() + length, value);
        }
        if values.len() < rows * cols {
            return Err(format!(
                "{} cells in a picture of {rows} x {cols}: as many are needed",
                values.len()
            ));
        }
        Ok(NotRatedPicture {
            cell: stored.cell,
            rows,
            cols,
            causes: stored.causes,
            values,
        })
    }
}

impl NotRatedPicture {
    /// Whether it is a picture of a grid of this size.
    pub fn fits(&self, grid: &Grid) -> bool {
        let cell = coarse_cell(grid.rows(), grid.cols());
        let size = (grid.rows().div_ceil(cell), grid.cols().div_ceil(cell));
        self.cell == cell && (self.rows, self.cols) == size
    }
}
