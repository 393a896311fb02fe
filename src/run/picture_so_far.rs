//! Gathers the picture of what is not rated: cells by cause counted in each tile, what
//! wins in its coarse cells, and all of it put together.

use std::collections::BTreeMap;
use std::ops::Range;

use super::not_rated_picture::NotRatedPicture;
use crate::grid::{TILE_CELLS, Window};

/// Most coarse cells on the longer side of the grid, as long as a coarse cell is no larger
/// than a tile.
const MOST_CELLS: usize = 1_000;

const _: () = assert!(TILE_CELLS.is_power_of_two());

/// Stands for all causes from the 255th on, where there are so many.
const OTHER_CAUSES: &str = "other causes";

/// Side of a coarse cell in cells of a grid of so many rows and columns.
pub fn coarse_cell(rows: usize, cols: usize) -> usize {
    let mut cell = 1;
    while cell < TILE_CELLS && rows.max(cols).div_ceil(cell) > MOST_CELLS {
        cell *= 2;
    }
    cell
}

/// Cells by cause in each coarse cell of one tile.
#[derive(Debug)]
pub struct CauseCounts {
    cell: usize,
    /// Rows and columns of cells.
    size: (usize, usize),
    /// Columns of coarse cells.
    cols: usize,
    outside: Vec<usize>,
    causes: BTreeMap<String, Vec<usize>>,
}

/// What won in each coarse cell of one tile.
#[derive(Debug, Default)]
pub struct TilePicture {
    causes: Vec<String>,
    /// As in [`NotRatedPicture`]; nothing where all is rated or outside.
    values: Vec<u16>,
}

impl CauseCounts {
    /// No cell counted yet.
    pub fn new(cell: usize, window: Window) -> CauseCounts {
        let cols = window.cols.div_ceil(cell);
        CauseCounts {
            cell,
            size: (window.rows, window.cols),
            cols,
            outside: vec![0; window.rows.div_ceil(cell) * cols],
            causes: BTreeMap::new(),
        }
    }

    /// Counts columns of a row as outside the boundary.
    pub fn outside(&mut self, row: usize, from: usize, to: usize) {
        add(&mut self.outside, (self.cell, self.cols), row, from..to);
    }

    /// Counts columns of a row as not rated.
    pub fn not_rated(&mut self, cause: &str, row: usize, from: usize, to: usize) {
        let size = self.outside.len();
        if !self.causes.contains_key(cause) {
            self.causes.insert(cause.to_owned(), vec![0; size]);
        }
        if let Some(counts) = self.causes.get_mut(cause) {
            add(counts, (self.cell, self.cols), row, from..to);
        }
    }

    /// What wins in each coarse cell, when all rows are counted.
    pub fn finish(self) -> TilePicture {
        if self.causes.is_empty() {
            return TilePicture::default();
        }
        TilePicture {
            values: (0..self.outside.len()).map(|at| self.winner(at)).collect(),
            causes: self.causes.into_keys().collect(),
        }
    }

    fn winner(&self, at: usize) -> u16 {
        let side = |coarse: usize, cells: usize| self.cell.min(cells - coarse * self.cell);
        let cells = side(at / self.cols, self.size.0) * side(at % self.cols, self.size.1);
        let mut rated = cells - self.outside[at];
        let (mut winner, mut most) = (0, 0);
        for (number, counts) in (1..).zip(self.causes.values()) {
            rated -= counts[at];
            if counts[at] > most {
                (winner, most) = (number, counts[at]);
            }
        }
        if most >= rated.max(self.outside[at]) {
            winner
        } else {
            0
        }
    }
}

/// Adds a stretch of a row to the counts of the coarse cells that it crosses.
fn add(counts: &mut [usize], (cell, cols): (usize, usize), row: usize, stretch: Range<usize>) {
    let mut from = stretch.start;
    while from < stretch.end {
        let coarse = from / cell;
        let to = stretch.end.min((coarse + 1) * cell);
        counts[row / cell * cols + coarse] += to - from;
        from = to;
    }
}

/// The picture of the whole grid while tiles come in, in any order.
#[derive(Debug)]
pub struct PictureSoFar {
    cell: usize,
    rows: usize,
    cols: usize,
    /// In the order in which they were met.
    causes: Vec<String>,
    values: Vec<u16>,
}

impl PictureSoFar {
    /// An empty picture of a grid of so many cells, in coarse cells of such a side.
    pub fn new(cell: usize, rows: usize, cols: usize) -> PictureSoFar {
        let (rows, cols) = (rows.div_ceil(cell), cols.div_ceil(cell));
        PictureSoFar {
            cell,
            rows,
            cols,
            causes: Vec::new(),
            values: vec![0; rows * cols],
        }
    }

    /// Puts in what a tile has.
    pub fn add(&mut self, window: Window, tile: &TilePicture) {
        let numbers: Vec<u16> = tile.causes.iter().map(|cause| self.number(cause)).collect();
        let (row, col) = (window.row / self.cell, window.col / self.cell);
        let cols = window.cols.div_ceil(self.cell);
        for (line, values) in tile.values.chunks(cols.max(1)).enumerate() {
            let start = (row + line) * self.cols + col;
            for (to, &value) in self.values[start..start + values.len()].iter_mut().zip(values) {
                *to = usize::from(value).checked_sub(1).map_or(0, |at| numbers[at]);
            }
        }
    }

    /// 1 and the position of a cause among those met.
    fn number(&mut self, cause: &str) -> u16 {
        let known = self.causes.iter().position(|known| known == cause);
        let at = known.unwrap_or_else(|| {
            self.causes.push(cause.to_owned());
            self.causes.len() - 1
        });
        u16::try_from(at + 1).unwrap_or(u16::MAX)
    }

    /// The picture with the names of all causes that were met, in order.
    pub fn finish(&self, mut names: Vec<String>) -> NotRatedPicture {
        let number = |cause: &String| {
            let at = names.binary_search(cause).map_or(usize::MAX, |at| at + 1);
            u8::try_from(at).unwrap_or(u8::MAX)
        };
        let numbers: Vec<u8> = self.causes.iter().map(number).collect();
        if names.len() > usize::from(u8::MAX) {
            names.truncate(usize::from(u8::MAX) - 1);
            names.push(OTHER_CAUSES.to_owned());
        }
        let value = |&value: &u16| usize::from(value).checked_sub(1).map_or(0, |at| numbers[at]);
        NotRatedPicture {
            cell: self.cell,
            rows: self.rows,
            cols: self.cols,
            causes: names,
            values: self.values.iter().map(value).collect(),
        }
    }
}

#[cfg(test)]
#[path = "picture_so_far_tests.rs"]
mod tests;
