//! First pass over the grid: cells are rated and voted on, and regions found.

use std::collections::VecDeque;

use super::Options;
use super::not_rated::NotRated;
use super::prepared::Prepared;
use super::rows::{Block, Walk};
use super::settings::ZoneSettings;
use crate::error::Error;
use crate::rating::{CellRater, combine};
use crate::site::Met;
use crate::zones::{CellLayout, PhaseOne, Regions, RegionsBuilder, Voter, absorb};

/// The regions of a site and what was counted on the way.
pub struct Found {
    /// The regions.
    pub regions: Regions,
    /// Rated area, and the rest by cause.
    pub not_rated: NotRated,
    /// Odd things met while reading.
    pub met: Met,
}

/// Regions after the small ones joined a neighbour.
pub struct Joined {
    /// The zones of phase 1.
    pub phase_one: PhaseOne,
    /// The zone of phase 1 in every cell.
    pub rows: crate::zones::RunRows,
}

/// Rates all cells and finds the regions.
///
/// # Errors
/// When a layer cannot be read, on an interrupt.
pub fn find_regions(
    prepared: &Prepared,
    rater: &CellRater,
    settings: &ZoneSettings,
    options: &Options,
) -> Result<Found, Error> {
    let grid = prepared.site.grid();
    let layout = CellLayout::new(prepared.catalogue.species.len());
    let row_words = grid.cols() * layout.cell_words();
    let mut voter = Voter::new(layout, grid.cols(), settings.vote);
    let mut builder = RegionsBuilder::new(layout, grid.rows(), grid.cols())?;
    let mut not_rated = NotRated::default();
    // What vector factors say of rows that still wait for their vote.
    let mut waiting: VecDeque<u64> = VecDeque::new();
    let mut take = |mut voted: Vec<u64>, waiting: &mut VecDeque<u64>| -> Result<(), Error> {
        let ground: Vec<u64> = waiting.drain(..voted.len()).collect();
        combine(layout.words(), &mut voted, &ground);
        Ok(builder.push_rows(&voted)?)
    };
    let walk = Walk {
        prepared,
        rater,
        block_rows: options.block_rows,
        progress: options.progress,
        stop: options.stop,
    };
    let met = walk.each("rating", |block| {
        let mut as_rated = block.rated.raster.clone();
        combine(layout.words(), &mut as_rated, &block.rated.ground);
        not_rated.count(prepared, &block, &as_rated);
        waiting.extend(&block.rated.ground);
        let keys = (!block.rated.keys.is_empty()).then_some(block.rated.keys.as_slice());
        let voted = voter.push_rows(&block.rated.raster, keys);
        debug_assert_eq!(
            voted.len() % row_words.max(1),
            0,
            "whole rows come out of the vote"
        );
        take(voted, &mut waiting)
    })?;
    take(voter.finish(), &mut waiting)?;
    Ok(Found {
        regions: builder.finish()?,
        not_rated,
        met,
    })
}

/// Number of regions that a block alone has.
///
/// # Errors
/// When there are more regions than can be numbered.
pub fn find_in_block(block: &Block, layout: CellLayout, vote: usize) -> Result<u64, Error> {
    let cols = block.band.window.cols;
    let mut voter = Voter::new(layout, cols, vote);
    let keys = (!block.rated.keys.is_empty()).then_some(block.rated.keys.as_slice());
    let mut voted = voter.push_rows(&block.rated.raster, keys);
    voted.extend(voter.finish());
    combine(layout.words(), &mut voted, &block.rated.ground);
    let mut builder = RegionsBuilder::new(layout, block.rows, cols)?;
    builder.push_rows(&voted)?;
    Ok(builder.finish()?.len() as u64)
}

impl Found {
    /// Lets regions under the smallest size join a neighbour.
    pub fn join_small(&self, settings: &ZoneSettings) -> Joined {
        let phase_one = absorb(&self.regions, settings.smallest_cells);
        let rows = self.regions.rows.relabelled(&phase_one.zone_of_region);
        Joined { phase_one, rows }
    }
}
