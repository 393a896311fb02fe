//! Goes over the grid from north to south: reads bands, rates blocks of rows, and
//! marks what is not to be rated.

use super::prepared::Prepared;
use super::progress::{Progress, Stop};
use crate::error::Error;
use crate::rating::{CellRater, RatedRows};
use crate::site::{BandValues, Met, OUTSIDE, TO_RATE};
use crate::zones::CellLayout;

/// A block of rows, read and rated.
pub struct Block<'b> {
    /// First row of the block on the grid.
    pub row: usize,
    /// First column of the block on the grid.
    pub first_col: usize,
    /// Number of rows.
    pub rows: usize,
    /// The band the block lies in.
    pub band: &'b BandValues,
    /// First row of the block in the band.
    pub band_row: usize,
    /// Sets of the block's cells.
    pub rated: RatedRows,
}

impl Block<'_> {
    /// The values of all factors in one row of the block.
    pub fn values(&self, row: usize) -> Vec<&[f32]> {
        self.band
            .factors
            .iter()
            .map(|raster| raster.row(self.band_row + row))
            .collect()
    }

    /// Why each cell of a row is or is not to be rated.
    pub fn status(&self, row: usize) -> &[u8] {
        self.band.status.row(self.band_row + row)
    }
}

/// How the grid is gone over.
pub struct Walk<'w> {
    /// What is read.
    pub prepared: &'w Prepared<'w>,
    /// What rates.
    pub rater: &'w CellRater<'w>,
    /// Rows in a block.
    pub block_rows: usize,
    /// Who is told.
    pub progress: &'w dyn Progress,
    /// Who may stop it.
    pub stop: &'w Stop,
}

impl Walk<'_> {
    /// Calls `visit` with each block of rows in order, and tells what was met.
    ///
    /// # Errors
    /// When a layer cannot be read, when `visit` fails, on an interrupt.
    pub fn each(&self, stage: &str, mut visit: impl FnMut(Block) -> Result<(), Error>) -> Result<Met, Error> {
        let grid = self.prepared.site.grid();
        let layout = CellLayout::new(self.prepared.catalogue.species.len());
        let mut met = Met::default();
        self.progress.begin(stage, grid.rows() as u64);
        for window in grid.bands() {
            let band = self.prepared.site.read_band(window)?;
            met.add(&band.met);
            for band_row in (0..window.rows).step_by(self.block_rows.max(1)) {
                self.stop.check()?;
                let rows = self.block_rows.max(1).min(window.rows - band_row);
                let mut rated = self
                    .rater
                    .rate_rows(&band.factors, band_row..band_row + rows, window.cols);
                let statuses = (band_row..band_row + rows).flat_map(|row| band.status.row(row));
                mark_not_rated(layout, statuses, &mut rated);
                let block = Block {
                    row: window.row + band_row,
                    first_col: window.col,
                    rows,
                    band: &band,
                    band_row,
                    rated,
                };
                visit(block)?;
                self.progress.advance(rows as u64);
            }
        }
        self.progress.end();
        Ok(met)
    }
}

/// Cells outside take no part in anything; excluded ones still take part in the vote
/// on what raster factors say, and are taken out with the vector factors.
pub fn mark_not_rated<'s>(layout: CellLayout, statuses: impl Iterator<Item = &'s u8>, rated: &mut RatedRows) {
    let width = layout.cell_words();
    let nothing = layout.not_rated();
    let cells = rated
        .raster
        .chunks_exact_mut(width)
        .zip(rated.ground.chunks_exact_mut(width));
    for (&status, (raster, ground)) in statuses.zip(cells) {
        if status != TO_RATE {
            ground.fill(u64::MAX);
        }
        if status == OUTSIDE {
            raster.copy_from_slice(&nothing);
        }
    }
}
