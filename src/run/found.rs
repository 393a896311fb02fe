//! First pass over the grid: cells are rated and voted on, and regions found.

use rayon::prelude::*;

use super::Options;
use super::prepared::Prepared;
use super::rated_tile::RatedTile;
use super::settings::ZoneSettings;
use super::strips::Strips;
use crate::error::Error;
use crate::gis;
use crate::grid::Window;
use crate::rating::CellRater;
use crate::zones::{CellLayout, PhaseOne, Regions, RunRows, absorb};

/// Regions after the small ones joined a neighbour.
pub struct Joined {
    /// The zones of phase 1.
    pub phase_one: PhaseOne,
    /// The zone of phase 1 in every cell.
    pub rows: RunRows,
}

/// Rates all cells and finds the regions. While one band becomes regions the next is read
/// and rated.
///
/// # Errors
/// When a layer cannot be read, on an interrupt.
pub fn find_regions(
    prepared: &Prepared,
    rater: &CellRater,
    settings: &ZoneSettings,
    options: &Options,
) -> Result<Regions, Error> {
    let grid = prepared.site.grid();
    let layout = CellLayout::new(prepared.catalogue.species.len());
    let mut strips = Strips::new(rater, layout, (grid.rows(), grid.cols()), settings.vote)?;
    let block_rows = options.block_rows.max(1);
    options.progress.begin("rating", grid.rows() as u64);
    let mut join = |rows: usize, tiles: &mut [RatedTile]| -> Result<(), Error> {
        for from in (0..rows).step_by(block_rows) {
            options.stop.check()?;
            let to = rows.min(from + block_rows);
            strips.push(tiles, from..to)?;
            options.progress.advance((to - from) as u64);
        }
        Ok(())
    };
    let rate = |band: Window| -> Result<Vec<RatedTile>, Error> {
        // Each by the next thread that is free, see `Site::read_tile`.
        let tiles = grid.tiles_of(band).enumerate().par_bridge();
        let rated = tiles.map(|(place, tile)| Ok((place, RatedTile::read(prepared, rater, tile)?)));
        let mut rated: Vec<(usize, RatedTile)> = rated.collect::<Result<_, Error>>()?;
        rated.sort_unstable_by_key(|(place, _)| *place);
        Ok(rated.into_iter().map(|(_, tile)| tile).collect())
    };
    let (mut rows, mut tiles) = (0, Vec::new());
    for band in grid.bands() {
        let (next, joined) = rayon::join(|| rate(band), || join(rows, &mut tiles));
        joined?;
        (rows, tiles) = (band.rows, next?);
    }
    join(rows, &mut tiles)?;
    options.progress.end();
    drop(tiles);
    prepared.site.end_pass();
    let builder = strips.finish()?;
    gis::give_memory_back();
    Ok(builder.finish()?)
}

/// Lets regions under the smallest size join a neighbour; their rows become those of the
/// zones of phase 1, and their borders go.
pub fn join_small(regions: &mut Regions, settings: &ZoneSettings) -> Joined {
    let phase_one = absorb(regions, settings.smallest_cells);
    let rows = std::mem::replace(&mut regions.rows, RunRows::new(0));
    let rows = rows.into_relabelled(&phase_one.zone_of_region);
    regions.borders = Vec::new();
    Joined { phase_one, rows }
}

#[cfg(test)]
#[path = "found_tests.rs"]
mod tests;
