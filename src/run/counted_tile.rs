//! One tile of the second pass: its cells rated as they are, before any vote, and
//! counted by zone of phase 1 and by what keeps them from being rated.

use rayon::prelude::*;

use super::found::Joined;
use super::not_rated::{NotRated, TileRow};
use super::picture_so_far::{CauseCounts, TilePicture};
use super::prepared::Prepared;
use crate::error::Error;
use crate::grid::Window;
use crate::rating::{AsRated, CellRater, WORD};
use crate::site::{Met, TO_RATE, TileValues};
use crate::zones::{CountedZone, GroundShape, TileCounts};

/// What one tile says.
pub struct CountedTile {
    /// Where it lies.
    pub window: Window,
    /// Sums by zone.
    pub zones: Vec<CountedZone>,
    /// Areas by cause.
    pub not_rated: NotRated,
    /// Where they lie.
    pub picture: TilePicture,
    /// Odd things met while reading.
    pub met: Met,
    /// Where ratings are written, for each species the rating byte of every cell, row
    /// by row; else nothing.
    pub ratings: Vec<Vec<u8>>,
}

/// What the cells of a tile are counted by.
pub struct Counting<'c> {
    /// The site and its species.
    pub prepared: &'c Prepared<'c>,
    /// What rates.
    pub rater: &'c CellRater<'c>,
    /// The zones.
    pub joined: &'c Joined,
    /// What is summed.
    pub shape: &'c GroundShape,
    /// Side of a coarse cell of the picture of what is not rated, in cells.
    pub coarse_cell: usize,
    /// Whether rating bytes are kept.
    pub with_ratings: bool,
}

impl Counting<'_> {
    /// Reads, rates and counts some tiles; they come in any order.
    ///
    /// # Errors
    /// When a layer cannot be read.
    pub fn tiles(&self, windows: &[Window]) -> Result<Vec<CountedTile>, Error> {
        // Each by the next thread that is free: tiles at work lie together then, and what
        // was decoded for one is still there for its neighbours.
        let windows = windows.iter().par_bridge();
        windows.map(|&window| self.tile(window)).collect()
    }

    /// Reads, rates and counts one tile.
    ///
    /// # Errors
    /// When a layer cannot be read.
    pub fn tile(&self, window: Window) -> Result<CountedTile, Error> {
        let values = self.prepared.site.read_tile(window)?;
        let mut tile = CountedTile {
            window,
            zones: Vec::new(),
            not_rated: NotRated::default(),
            picture: TilePicture::default(),
            met: values.met.clone(),
            ratings: Vec::new(),
        };
        if self.with_ratings {
            let room = || Vec::with_capacity(window.cells());
            tile.ratings.resize_with(self.shape.species, room);
        }
        let mut counts = TileCounts::new(self.shape, &self.rater.ground_counts());
        let mut places = CauseCounts::new(self.coarse_cell, window);
        let mut cells = AsRated::default();
        for row in 0..window.rows {
            let factors = values.row(row);
            self.rater.rate_whole(&factors, window.cols, &mut cells);
            self.count_row(&values, row, &factors, &cells, &mut counts);
            let rated = TileRow {
                values: &values,
                row,
                factors: &factors,
                statuses: values.status.row(row),
                cells: &cells,
            };
            tile.not_rated.count_row(self.prepared, &rated, Some(&mut places));
            keep_ratings(&rated, &mut tile.ratings);
        }
        tile.zones = counts.finish();
        tile.picture = places.finish();
        Ok(tile)
    }

    fn count_row(
        &self,
        values: &TileValues,
        row: usize,
        factors: &[&[f32]],
        cells: &AsRated,
        counts: &mut TileCounts,
    ) {
        let window = values.window;
        let mut counts = counts.row(cells, factors);
        let areas = self.prepared.site.cell_areas().row(window.row + row);
        let runs = self.joined.rows.row(window.row + row);
        each_run(runs, window.col..window.col_end(), |zone, from, to| {
            let cols = from - window.col..to - window.col;
            counts.add_run(zone, areas.run_mm2(from, to), cols);
        });
    }
}

/// Keeps the rating bytes of a row for each species that has room for them.
fn keep_ratings(rated: &TileRow, ratings: &mut [Vec<u8>]) {
    let cells = rated.cells;
    for (species, bytes) in ratings.iter_mut().enumerate() {
        let plane = species / WORD * cells.ends().len();
        let mut from = 0;
        for (at, &to) in (plane..).zip(cells.ends()) {
            let is_known = cells.known[at] >> (species % WORD) & 1 == 1;
            let byte = if is_known {
                cells.bytes[at][species % WORD]
            } else {
                u8::MAX
            };
            let statuses = rated.statuses[from..to].iter();
            bytes.extend(statuses.map(|&status| if status == TO_RATE { byte } else { u8::MAX }));
            from = to;
        }
    }
}

/// Calls `visit` with the label and the columns of each run within some columns that
/// has one.
pub fn each_run(runs: &[(u32, u32)], cols: std::ops::Range<usize>, mut visit: impl FnMut(u32, usize, usize)) {
    let mut from = cols.start;
    let first = runs.partition_point(|&(end, _)| end as usize <= from);
    for &(end, label) in &runs[first..] {
        let to = cols.end.min(end as usize);
        if label > 0 {
            visit(label, from, to);
        }
        from = to;
        if from == cols.end {
            return;
        }
    }
}
