//! Which polygon owns which cell. In come the polygons of a layer in the grid's
//! CRS, once; out go, window by window, the number of the owner of each cell or
//! a mask of what is covered. It does not know what the polygons stand for.
//!
//! A polygon owns a cell when it holds its centre. A centre on a shared edge goes
//! to exactly one: to the polygon in the east, or in the south where the edge
//! runs level. Everything is worked out in cells from the grid's corner, so the
//! window asked for changes nothing. Of polygons only the runs of cells in rows that
//! they own are kept.

mod crossings;
mod runs;

use std::collections::BTreeMap;
use std::ops::Range;

use geo::MultiPolygon;
use rayon::prelude::*;

pub use crossings::Crossings;
use runs::{MOST_POLYGONS, RunBand};

use super::GeometryError;
use crate::grid::{Cell, Grid, Raster, Window};

/// Stands in a raster of owners where the centre lies in two or more polygons.
pub const OVERLAP: u32 = u32::MAX - 1;

/// Runs are made by bands of rows with about so many crossings.
const CROSSINGS_A_BAND: usize = 65_536;

/// The polygons of a layer as runs of cells, row by row; without any at first.
#[derive(Debug, Default)]
pub struct PolygonIndex {
    /// Bands of rows from the first that any polygon crosses.
    bands: Vec<RunBand>,
    first_row: usize,
    end_row: usize,
    band_rows: usize,
    /// Whether polygons overlap anywhere.
    overlap: bool,
}

/// The owners of a window's cells.
#[derive(Debug, Clone, PartialEq)]
pub struct Owners {
    /// The position of the owning polygon, [`OVERLAP`] where there are several.
    ///
    /// # Missing
    /// No polygon holds the centre.
    pub polygons: Raster<u32>,
    /// Which polygons overlap, on how many cells of the window.
    pub overlaps: Overlaps,
}

/// Which polygons overlap, on how many cells.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Overlaps {
    cells_of: BTreeMap<Vec<u32>, u64>,
}

impl Overlaps {
    /// Each set of polygons that share cells, lowest numbers first, with the number
    /// of cells that lie in all of them and in no other. A cell counts once.
    pub fn sets(&self) -> impl Iterator<Item = (&[u32], u64)> {
        self.cells_of
            .iter()
            .map(|(polygons, &cells)| (polygons.as_slice(), cells))
    }

    /// Number of cells that lie in more than one polygon.
    #[must_use]
    pub fn cells(&self) -> u64 {
        self.cells_of.values().sum()
    }

    /// Counts cells that several polygons share in.
    fn count(&mut self, polygons: &[u32], cells: u64) {
        match self.cells_of.get_mut(polygons) {
            Some(counted) => *counted += cells,
            None => {
                self.cells_of.insert(polygons.to_vec(), cells);
            }
        }
    }

    /// Counts those of another window in.
    pub fn add(&mut self, other: &Overlaps) {
        for (polygons, cells) in &other.cells_of {
            *self.cells_of.entry(polygons.clone()).or_default() += cells;
        }
    }
}

impl PolygonIndex {
    /// The index of a layer's polygons in the grid's CRS; their positions become
    /// the numbers in [`Owners`].
    ///
    /// # Errors
    /// Coordinates that are not finite, more polygons or crossings with rows than can be
    /// numbered.
    pub fn new(grid: &Grid, polygons: &[MultiPolygon<f64>]) -> Result<PolygonIndex, GeometryError> {
        let polygons = polygons.par_iter();
        let crossings: Vec<_> = polygons.map(|polygon| Crossings::of(grid, polygon)).collect();
        PolygonIndex::of(crossings.iter().map(Option::as_ref).collect())
    }

    /// The index of polygons of which only the crossings are left, nothing for those with
    /// coordinates that are not finite.
    ///
    /// # Errors
    /// As [`PolygonIndex::new`].
    pub fn of(crossings: Vec<Option<&Crossings>>) -> Result<PolygonIndex, GeometryError> {
        PolygonIndex::in_bands(crossings, CROSSINGS_A_BAND)
    }

    fn in_bands(
        crossings: Vec<Option<&Crossings>>,
        crossings_a_band: usize,
    ) -> Result<PolygonIndex, GeometryError> {
        if crossings.len() > MOST_POLYGONS {
            return Err(too_many("polygons", crossings.len(), MOST_POLYGONS));
        }
        let lost = crossings.iter().enumerate();
        let lost: Vec<usize> = lost
            .filter(|(_, crossings)| crossings.is_none())
            .map(|(number, _)| number)
            .collect();
        if !lost.is_empty() {
            return Err(GeometryError::NotFinite { features: lost });
        }
        let crossings: Vec<&Crossings> = crossings.into_iter().flatten().collect();
        let rows = crossings.iter().filter_map(|crossings| crossings.rows());
        let rows = rows.reduce(|one, other| (one.0.min(other.0), one.1.max(other.1)));
        let (first_row, end_row) = rows.unwrap_or_default();
        let all: usize = crossings.iter().map(|crossings| crossings.len()).sum();
        let band_rows = (end_row - first_row).div_ceil(all / crossings_a_band + 1).max(1);
        let mut meeting = vec![Vec::new(); (end_row - first_row).div_ceil(band_rows)];
        for (number, (from, to)) in crossings
            .iter()
            .enumerate()
            .filter_map(|(number, crossings)| Some((number, crossings.rows()?)))
        {
            let bands = (from - first_row) / band_rows..=(to - 1 - first_row) / band_rows;
            for band in &mut meeting[bands] {
                band.push(index_u32(number));
            }
        }
        let bands = meeting.into_par_iter().enumerate().map(|(band, meeting)| {
            let from = first_row + band * band_rows;
            let to = end_row.min(from + band_rows);
            RunBand::new(from, to, &meeting, &crossings)
        });
        let bands: Option<Vec<RunBand>> = bands.collect();
        let bands = bands.ok_or_else(|| too_many("crossings of rows", all, u32::MAX as usize))?;
        Ok(PolygonIndex {
            overlap: bands.iter().any(RunBand::has_several),
            bands,
            first_row,
            end_row,
            band_rows,
        })
    }

    /// The owner of each cell of a window.
    #[must_use]
    pub fn owners(&self, window: Window) -> Owners {
        let mut polygons = Raster::filled(window, u32::MISSING);
        let mut overlaps = Overlaps::default();
        self.each_run(window, |row, cols, holders| {
            let owner = match holders {
                [owner] => *owner,
                several => {
                    overlaps.count(several, cols.len() as u64);
                    OVERLAP
                }
            };
            polygons.row_mut(row)[cols].fill(owner);
        });
        Owners { polygons, overlaps }
    }

    /// What overlaps in a window, and 1 where it does, else 0; nothing where no polygons
    /// overlap.
    #[must_use]
    pub fn overlaps(&self, window: Window) -> Option<(Overlaps, Raster<u8>)> {
        let mut found = None;
        if self.overlap {
            self.each_run(window, |row, cols, holders| {
                if holders.len() > 1 {
                    let none = || (Overlaps::default(), Raster::filled(window, 0));
                    let (overlaps, mask) = found.get_or_insert_with(none);
                    overlaps.count(holders, cols.len() as u64);
                    mask.row_mut(row)[cols].fill(1);
                }
            });
        }
        found
    }

    /// 1 where the centre lies in any polygon, one or several, else 0.
    ///
    /// # Missing
    /// Never.
    #[must_use]
    pub fn covers(&self, window: Window) -> Raster<u8> {
        let mut covered = Raster::filled(window, 0);
        self.each_run(window, |row, cols, _| covered.row_mut(row)[cols].fill(1));
        covered
    }

    /// Calls `each` for every run of cells of a window that lie in the same polygons,
    /// at least one: row and columns from the window's corner, and the polygons,
    /// lowest number first.
    pub fn each_run(&self, window: Window, mut each: impl FnMut(usize, Range<usize>, &[u32])) {
        let mut holders = Vec::new();
        for row in window.row.max(self.first_row)..window.row_end().min(self.end_row) {
            let in_bands = row - self.first_row;
            let band = &self.bands[in_bands / self.band_rows];
            let cols = window.col..window.col_end();
            band.each(in_bands % self.band_rows, cols, &mut holders, |cols, holders| {
                let cols = cols.start - window.col..cols.end - window.col;
                each(row - window.row, cols, holders);
            });
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "rows and columns stay below 1,000,000")]
fn as_cells(index: usize) -> f64 {
    index as f64
}

/// Numbers of polygons, checked to be fewer.
#[expect(clippy::cast_possible_truncation, reason = "polygons are counted before")]
fn index_u32(index: usize) -> u32 {
    index as u32
}

fn too_many(what: &'static str, found: usize, most: usize) -> GeometryError {
    GeometryError::TooMany { what, found, most }
}

#[cfg(test)]
mod tests;

#[cfg(test)]
mod properties;
