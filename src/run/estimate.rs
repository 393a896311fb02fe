//! How large a run will be, told from a few tiles that are rated, counted and merged as
//! the run would, each by itself.

use rayon::prelude::*;

use super::counted::shape_of;
use super::counted_tile::each_run;
use super::found::join_small;
use super::page;
use super::prepared::Prepared;
use super::rated_tile::RatedTile;
use super::settings::{StopAt, ZoneSettings};
use super::strips::Strips;
use crate::error::Error;
use crate::gis;
use crate::grid::{TILE_CELLS, Window};
use crate::output::{MOST_ROWS, memory_bytes, peak_memory_bytes};
use crate::range::Standing;
use crate::rating::{AsRated, CellRater};
use crate::site::TileValues;
use crate::zones::{CellLayout, TileCounts, ZoneCounts, merge_zones};

/// Most tiles that are looked at.
const MOST_TILES: usize = 9;

/// Sites of more cells are looked at before a run, too.
const LARGE_CELLS: usize = 100_000_000;

/// Memory that a zone takes while the page is made: its borders, how species stand in it.
const PAGE_BYTES_A_ZONE: f64 = 3_000.0;

/// Memory of GDAL's cache, and of what is freed within a stage and not given back. The
/// libraries are in what opening the layers left.
const ALWAYS_BYTES: u64 = 50_000_000;

/// Parts of zones in some tiles or on a whole site.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Parts {
    /// Cells, rated or not.
    pub cells: f64,
    /// What is left of the cells before the vote, in bytes.
    pub rated_bytes: f64,
    /// Stretches of cells of one region in one row.
    pub runs: f64,
    /// Regions before small ones join.
    pub regions: f64,
    /// Zones of phase 1.
    pub phase_1_zones: f64,
    /// Zones where merging stops.
    pub zones: f64,
}

impl Parts {
    /// The parts of one tile, as if it were the whole site.
    ///
    /// # Errors
    /// More cells than can be counted exactly.
    pub fn of_tile(
        prepared: &Prepared,
        rater: &CellRater,
        settings: &ZoneSettings,
        tile: &TileValues,
    ) -> Result<Parts, Error> {
        let window = tile.window;
        let layout = CellLayout::new(prepared.catalogue.species.len());
        let mut strips = Strips::new(rater, layout, (window.rows, window.cols), settings.vote)?;
        let mut rated = RatedTile::of(rater, tile);
        let rated_bytes = as_f64(rated.bytes());
        strips.push(std::slice::from_mut(&mut rated), 0..window.rows)?;
        let mut regions = strips.finish()?.finish()?;
        let mut parts = Parts {
            cells: as_f64(window.cells()),
            rated_bytes,
            runs: as_f64(regions.rows.len()),
            regions: as_f64(regions.len()),
            ..Parts::default()
        };
        let mut joined = join_small(&mut regions, settings);
        let shape = shape_of(prepared);
        let mut counts = ZoneCounts::new(&shape, joined.phase_one.len());
        let mut counting = TileCounts::new(&shape, &rater.ground_counts());
        let mut cells = AsRated::default();
        for row in 0..window.rows {
            let values = tile.row(row);
            rater.rate_whole(&values, window.cols, &mut cells);
            let mut counted = counting.row(&cells, &values);
            each_run(joined.rows.row(row), 0..window.cols, |zone, from, to| {
                counted.add_run(zone, 0, from..to);
            });
        }
        for zone in counting.finish() {
            counts.add(&zone);
        }
        parts.phase_1_zones = as_f64(joined.phase_one.len());
        let borders = std::mem::take(&mut joined.phase_one.borders);
        let merges = merge_zones(&joined.phase_one, borders, &counts.tallies, &settings.merge)?;
        parts.zones = match settings.stop_at {
            StopAt::Fidelity(target) => merges.cut_at_fidelity(target).zones.into(),
            StopAt::Number(number) => number.into(),
        };
        Ok(parts)
    }

    /// Adds the parts of another tile.
    pub fn add(&mut self, other: &Parts) {
        self.cells += other.cells;
        self.rated_bytes += other.rated_bytes;
        self.runs += other.runs;
        self.regions += other.regions;
        self.phase_1_zones += other.phase_1_zones;
        self.zones += other.zones;
    }

    /// The parts of a whole site of which these are a sample.
    pub fn of_site(&self, prepared: &Prepared, settings: &ZoneSettings) -> Parts {
        let cells = as_f64(prepared.site.grid().cells());
        let scale = cells / self.cells.max(1.0);
        Parts {
            cells,
            rated_bytes: self.rated_bytes * scale,
            runs: self.runs * scale,
            regions: self.regions * scale,
            phase_1_zones: self.phase_1_zones * scale,
            zones: match settings.stop_at {
                StopAt::Fidelity(_) => self.zones * scale,
                StopAt::Number(number) => number.into(),
            },
        }
    }

    /// Room that the files of a run take, about, with the byte a cell and species of
    /// ratings, twice while overviews are made.
    ///
    /// # Units
    /// Bytes.
    pub fn disk_bytes(&self, prepared: &Prepared) -> u64 {
        let species = as_f64(prepared.catalogue.species.len());
        let files = self.zones * (2_000.0 + 550.0 * self.told_species(species))
            + self.phase_1_zones * (500.0 + 13.0 * species)
            + self.on_page(prepared) * (300.0 + 30.0 * self.told_species(species));
        20_000_000 + whole(files) + ratings_bytes(prepared)
    }

    /// Zones that the page shows: all, or none where there is no page.
    fn on_page(&self, prepared: &Prepared) -> f64 {
        if page::is_written(prepared.project, whole(self.zones)) {
            self.zones
        } else {
            0.0
        }
    }

    /// Species that are told of in a zone, about: all of them while the table of zones and
    /// species is short, beyond that those that are listed or suit in parts.
    fn told_species(&self, species: f64) -> f64 {
        if self.zones * species <= as_f64(MOST_ROWS) {
            species
        } else {
            0.25 * species
        }
    }

    /// Memory that a run takes at its peak, about: what opening the layers left, and the
    /// most of what the stages need; each gives back what it took before the next comes.
    /// DEVELOPERS.md, "What grows", tells the parts. `opened` is what opening the layers
    /// left.
    ///
    /// # Units
    /// Bytes.
    pub fn memory_bytes(&self, prepared: &Prepared, opened: Opened) -> u64 {
        let grid = prepared.site.grid();
        let species = as_f64(prepared.catalogue.species.len());
        let factors = as_f64(prepared.site.factors().len());
        let runs = 8.0 * self.runs;
        let regions = 56.0 * self.regions;
        let tiles = as_f64(while_tiles_are_read(prepared));
        // Rows of one band go while those of the next come.
        let bands = 1.25 * self.rated_bytes * as_f64(TILE_CELLS.min(grid.rows())) / as_f64(grid.rows());
        let counted = self.phase_1_zones * (0.7 * species + 250.0);
        let merging = self.phase_1_zones * (0.8 * species + 270.0);
        let drawing = self.zones * (50.0 * self.told_species(species) + 30.0 * factors + 800.0);
        let page = self.on_page(prepared) * PAGE_BYTES_A_ZONE;
        let range = match &prepared.range {
            None => 0.0,
            // A standing for each zone and species, and the zones' cells in runs of three numbers.
            Some(_) => self.zones * species * as_f64(size_of::<Standing>()) + 12.0 * self.runs,
        };
        let reading = runs + regions + tiles + bands.max(counted);
        let ending = runs + counted + merging.max(drawing + page + range);
        opened.held_bytes + ALWAYS_BYTES + whole(reading.max(ending))
    }
}

/// What a run will need of memory and disk, in bytes: of a large site told from some of
/// its tiles, of another from its number of cells.
///
/// # Errors
/// When a layer cannot be read.
pub fn needed(prepared: &Prepared, rater: &CellRater, settings: &ZoneSettings) -> Result<(u64, u64), Error> {
    let opened = Opened::now();
    let grid = prepared.site.grid();
    if grid.cells() <= LARGE_CELLS {
        let usual = as_f64(grid.cells()) * 12.0;
        let disk_bytes = 20_000_000 + whole(usual) + ratings_bytes(prepared);
        let memory_bytes = opened.held_bytes + ALWAYS_BYTES + while_tiles_are_read(prepared) as u64;
        return Ok((memory_bytes, disk_bytes));
    }
    let tiles: Vec<Window> = grid.tiles().collect();
    let parts: Vec<Parts> = spread(&tiles)
        .into_par_iter()
        .map(|tile| Parts::of_tile(prepared, rater, settings, &prepared.site.read_tile(tile)?))
        .collect::<Result<_, Error>>()?;
    let mut sample = Parts::default();
    for part in &parts {
        sample.add(part);
    }
    let parts = sample.of_site(prepared, settings);
    Ok((parts.memory_bytes(prepared, opened), parts.disk_bytes(prepared)))
}

/// Some of the tiles, evenly spread.
pub fn spread(tiles: &[Window]) -> Vec<Window> {
    if tiles.len() <= MOST_TILES {
        return tiles.to_vec();
    }
    (0..MOST_TILES)
        .map(|index| tiles[(2 * index + 1) * tiles.len() / (2 * MOST_TILES)])
        .collect()
}

fn ratings_bytes(prepared: &Prepared) -> u64 {
    if !prepared.project.outputs.ratings {
        return 0;
    }
    2 * (prepared.site.grid().cells() * prepared.catalogue.species.len()) as u64
}

/// Memory that is held while tiles are read, whatever the cells hold: decoded cells kept
/// for neighbours, tiles kept for the second pass, the ground around tiles that may throw
/// shade, the tiles at hand, a strip of rows in sets.
///
/// # Units
/// Bytes.
fn while_tiles_are_read(prepared: &Prepared) -> usize {
    let grid = prepared.site.grid();
    let threads = rayon::current_num_threads();
    let tile_cells = TILE_CELLS.min(grid.rows()) * TILE_CELLS.min(grid.cols());
    // Beside its factors a tile has a few more bytes a cell on the way.
    let tiles = threads * tile_cells * (4 * prepared.site.factors().len() + 16);
    let words = CellLayout::new(prepared.catalogue.species.len()).words();
    let strip = grid.cols() * super::BLOCK_ROWS * words * 8 * 6;
    let kept = prepared.site.kept_bytes() + prepared.site.shade_bytes(threads);
    usize::try_from(kept)
        .unwrap_or(usize::MAX)
        .saturating_add(tiles + strip)
}

/// Memory that opening the layers took; 60 MB where the system does not tell.
///
/// # Units
/// Bytes.
#[derive(Debug, Clone, Copy)]
pub struct Opened {
    /// At its peak.
    pub peak_bytes: u64,
    /// What of it is still held when tiles are read. Crossings of polygons and what
    /// following water over a catchment took are given back by then.
    pub held_bytes: u64,
}

impl Opened {
    /// As it stands; what opening has freed is given back.
    pub fn now() -> Opened {
        let peak_bytes = peak_memory_bytes().unwrap_or(60_000_000);
        gis::give_memory_back();
        Opened {
            peak_bytes,
            held_bytes: memory_bytes().unwrap_or(peak_bytes),
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "estimates for people")]
fn as_f64(count: usize) -> f64 {
    count as f64
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "an estimate of 0 or more"
)]
pub fn whole(estimate: f64) -> u64 {
    estimate.round() as u64
}
