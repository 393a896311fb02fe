//! Cells of one set that touch become regions. Rows of cells come in from north to
//! south; regions, their borders and their runs go out. Keeps runs, never
//! the raster; knows neither scores nor what a set means.

use rayon::prelude::*;

use super::cell_sets::CellLayout;
use super::error::ZonesError;
use super::runs::{RunRows, narrow};
use super::set_book::{SetBook, SetId};
use super::set_runs::{RowOfRuns, SetRun, runs_of_rows};
use crate::grid::CellIndex;

/// A 4-connected piece of the site whose cells all have the same set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Region {
    /// The number of its set in the book.
    pub set: SetId,
    /// Number of cells.
    pub cells: u32,
    /// Row of the first cell.
    pub first_row: u32,
    /// Column of the first cell.
    pub first_col: u32,
}

impl Region {
    /// Its first cell: the westernmost of its northernmost row.
    #[must_use]
    pub fn first_cell(&self) -> CellIndex {
        CellIndex {
            row: self.first_row as usize,
            col: self.first_col as usize,
        }
    }
}

/// A border between two regions or zones.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Border {
    /// The lower number.
    pub a: u32,
    /// The higher number.
    pub b: u32,
    /// Length in cell edges.
    pub length: u32,
}

impl Border {
    /// The border between two numbers in either order.
    #[must_use]
    pub fn between(one: u32, other: u32, length: u32) -> Border {
        Border {
            a: one.min(other),
            b: one.max(other),
            length,
        }
    }

    pub(super) fn pair(&self) -> u64 {
        u64::from(self.a) << 32 | u64::from(self.b)
    }
}

/// Sorts borders by pair and joins those of one pair.
pub(super) fn tidy_borders(borders: &mut Vec<Border>) {
    borders.par_sort_unstable_by_key(Border::pair);
    borders.dedup_by(|next, kept| {
        let same = next.pair() == kept.pair();
        if same {
            kept.length += next.length;
        }
        same
    });
}

/// The regions of a site, numbered from 1 in the order of their first cells, row
/// by row; label 0 is not rated.
#[derive(Debug, Clone)]
pub struct Regions {
    /// The distinct sets.
    pub book: SetBook,
    /// Region `n` stands at `n - 1`.
    pub regions: Vec<Region>,
    /// Every pair that shares an edge, sorted.
    pub borders: Vec<Border>,
    /// The label of every cell.
    pub rows: RunRows,
}

impl Regions {
    /// Number of regions.
    #[must_use]
    pub fn len(&self) -> usize {
        self.regions.len()
    }

    /// Whether no cell is rated.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.regions.is_empty()
    }

    /// The region of a number from 1.
    #[must_use]
    pub fn region(&self, number: u32) -> &Region {
        &self.regions[number as usize - 1]
    }

    /// Number of rated cells.
    #[must_use]
    pub fn rated_cells(&self) -> u64 {
        self.regions.iter().map(|region| u64::from(region.cells)).sum()
    }
}

/// Builds [`Regions`] from rows of cells that come in blocks.
///
/// # Method
/// Union-find over the runs of two rows at a time, after Rosenfeld and Pfaltz,
/// Sequential Operations in Digital Picture Processing, 1966 (from memory,
/// unverified). Labels rise in row-major order and the lowest of a region is its
/// root, so the order of roots is the order of first cells.
#[derive(Debug)]
pub struct RegionsBuilder {
    book: SetBook,
    grid_rows: usize,
    rows: RunRows,
    /// What each label stands for until labels are united.
    pieces: Vec<Region>,
    parents: Vec<u32>,
}

impl RegionsBuilder {
    /// A builder for a grid of `rows` x `cols` cells.
    ///
    /// # Errors
    /// When so many cells and species would overflow the exact sums that zones
    /// are made with.
    pub fn new(layout: CellLayout, rows: usize, cols: usize) -> Result<RegionsBuilder, ZonesError> {
        let most_cells = most_cells(layout);
        let (rows_64, cols_64) = (rows as u64, cols as u64);
        if rows_64
            .checked_mul(cols_64)
            .is_none_or(|cells| cells > most_cells)
            || rows_64.max(cols_64) > most_cells
        {
            let species = layout.species();
            return Err(ZonesError::TooManyCells {
                rows: rows_64,
                cols: cols_64,
                species,
                most_cells,
            });
        }
        Ok(RegionsBuilder {
            book: SetBook::new(layout),
            grid_rows: rows,
            rows: RunRows::new(narrow(cols)),
            // Piece 0 stands for what is not rated.
            pieces: vec![Region {
                set: 0,
                cells: 0,
                first_row: 0,
                first_col: 0,
            }],
            parents: vec![0],
        })
    }

    /// Takes the next rows; `tell` tells the runs of one, whose last ends where the grid
    /// does.
    ///
    /// # Errors
    /// When a row has another length, or more rows come than the grid has.
    pub fn push_rows<R: Sync>(
        &mut self,
        rows: &[R],
        tell: impl Fn(&R, &mut RowOfRuns) + Sync,
    ) -> Result<(), ZonesError> {
        let (found, needed) = (self.rows.rows() + rows.len(), self.grid_rows);
        if found > needed {
            return Err(ZonesError::MoreRows { found, needed });
        }
        let needed = self.rows.cols();
        for row in runs_of_rows(&mut self.book, rows, tell) {
            let found = row.last().map_or(0, |run| run.end);
            if found != needed {
                return Err(ZonesError::RowLength { found, needed });
            }
            self.add_row(&row);
        }
        Ok(())
    }

    fn add_row(&mut self, runs: &[SetRun]) {
        let row = self.rows.rows();
        let above: Vec<(u32, u32)> = if row == 0 {
            Vec::new()
        } else {
            self.rows.row(row - 1).to_vec()
        };
        let (mut next, mut start) = (0, 0);
        for run in runs {
            while next < above.len() && above[next].0 <= start {
                next += 1;
            }
            let mut label = 0;
            let mut at = next;
            let mut at_start = if at == 0 { 0 } else { above[at - 1].0 };
            while run.set != 0 && at < above.len() && at_start < run.end {
                let (end, other) = above[at];
                if other != 0 && self.pieces[other as usize].set == run.set {
                    label = if label == 0 {
                        self.root(other)
                    } else {
                        self.unite(label, other)
                    };
                }
                at_start = end;
                at += 1;
            }
            if run.set != 0 && label == 0 {
                label = narrow(self.pieces.len());
                self.parents.push(label);
                let first_row = narrow(row);
                self.pieces.push(Region {
                    set: run.set,
                    cells: 0,
                    first_row,
                    first_col: start,
                });
            }
            self.pieces[label as usize].cells += run.end - start;
            self.rows.raw_push(run.end, label);
            start = run.end;
        }
        self.rows.end_row();
    }

    fn root(&mut self, mut piece: u32) -> u32 {
        while self.parents[piece as usize] != piece {
            let above = self.parents[self.parents[piece as usize] as usize];
            self.parents[piece as usize] = above;
            piece = above;
        }
        piece
    }

    fn unite(&mut self, one: u32, other: u32) -> u32 {
        let (one, other) = (self.root(one), self.root(other));
        let (low, high) = (one.min(other), one.max(other));
        self.parents[high as usize] = low;
        low
    }

    /// The regions, once all rows have come.
    ///
    /// # Errors
    /// When rows are missing.
    pub fn finish(mut self) -> Result<Regions, ZonesError> {
        let found = self.rows.rows();
        // A grid without columns has nothing to push.
        if found != self.grid_rows && self.rows.cols() > 0 {
            return Err(ZonesError::RowsMissing {
                found,
                needed: self.grid_rows,
            });
        }
        // A parent is never higher than its child, so one sweep numbers all.
        let mut numbers = vec![0; self.parents.len()];
        let mut regions: Vec<Region> = Vec::new();
        for piece in 1..self.parents.len() {
            let parent = self.parents[piece] as usize;
            if parent == piece {
                regions.push(self.pieces[piece]);
                numbers[piece] = narrow(regions.len());
            } else {
                numbers[piece] = numbers[parent];
                regions[numbers[piece] as usize - 1].cells += self.pieces[piece].cells;
            }
        }
        regions.shrink_to_fit();
        self.rows.relabel(&numbers);
        // Borders take much room, too.
        (self.pieces, self.parents) = (Vec::new(), Vec::new());
        drop(numbers);
        let borders = borders_of(&self.rows);
        Ok(Regions {
            book: self.book,
            regions,
            borders,
            rows: self.rows,
        })
    }
}

/// The most cells for which no exact sum of so many species can overflow: squares
/// of `q1 a2 - q2 a1`, at most half the square of all cells, in 128 bits; borders
/// in 32 bits.
fn most_cells(layout: CellLayout) -> u64 {
    let mut most: u64 = (1 << 31) - 1;
    let fits = |cells: u64| {
        let difference = u128::from(cells) * u128::from(cells) / 2;
        (difference * difference)
            .checked_mul(layout.species() as u128 + 1)
            .is_some()
    };
    while !fits(most) {
        most /= 2;
    }
    most
}

/// The borders between the labels of rows, sorted by pair; label 0 has none.
#[must_use]
pub fn borders_of(rows: &RunRows) -> Vec<Border> {
    const ROWS_AT_ONCE: usize = 64;
    let parts: Vec<Vec<Border>> = (0..rows.rows().div_ceil(ROWS_AT_ONCE))
        .into_par_iter()
        .map(|part| {
            let mut borders = Vec::new();
            let first = part * ROWS_AT_ONCE;
            for row in first..(first + ROWS_AT_ONCE).min(rows.rows()) {
                borders_of_row(rows, row, &mut borders);
            }
            borders.sort_unstable_by_key(Border::pair);
            borders.dedup_by(|next, kept| {
                let same = next.pair() == kept.pair();
                kept.length += if same { next.length } else { 0 };
                same
            });
            borders
        })
        .collect();
    let mut borders = Vec::with_capacity(parts.iter().map(Vec::len).sum());
    for part in parts {
        borders.extend(part);
    }
    tidy_borders(&mut borders);
    borders
}

fn borders_of_row(rows: &RunRows, row: usize, borders: &mut Vec<Border>) {
    let runs = rows.row(row);
    for pair in runs.windows(2) {
        if pair[0].1 != 0 && pair[1].1 != 0 && pair[0].1 != pair[1].1 {
            borders.push(Border::between(pair[0].1, pair[1].1, 1));
        }
    }
    if row == 0 {
        return;
    }
    let mut above = rows.row(row - 1).iter();
    let mut over = above.next();
    let mut start = 0;
    for &(end, label) in runs {
        while let Some(&(over_end, over_label)) = over {
            let stop = over_end.min(end);
            if label != 0 && over_label != 0 && label != over_label && stop > start {
                borders.push(Border::between(label, over_label, stop - start));
            }
            start = stop;
            if over_end <= end {
                over = above.next();
            }
            if start >= end {
                break;
            }
        }
        start = end;
    }
}

#[cfg(test)]
#[path = "regions_tests.rs"]
pub(crate) mod tests;
