//! Second pass over the grid: what cells say as rated, before the vote, counted by
//! the zones of phase 1; and then the merging of these zones.

use super::Options;
use super::counted_tile::{CountedTile, Counting};
use super::found::Joined;
use super::not_rated::NotRated;
use super::picture_so_far::{PictureSoFar, coarse_cell};
use super::prepared::Prepared;
use super::settings::{StopAt, ZoneSettings};
use crate::error::Error;
use crate::factor::Kind;
use crate::gis::RatingsWriter;
use crate::grid::Window;
use crate::output::{Expected, OutputError, PartialFolder};
use crate::rating::CellRater;
use crate::site::Met;
use crate::zones::{Cut, GroundBook, GroundShape, MergeLog, ZoneCounts, merge_zones};

/// Tiles a thread counts before their sums are added up.
const TILES_A_THREAD: usize = 8;

/// Counts by zone of phase 1, and what was met on the way.
pub struct Counted {
    /// Sums by zone.
    pub zones: ZoneCounts,
    /// Rated area, and the rest by cause.
    pub not_rated: NotRated,
    /// Where the rest lies.
    pub picture: PictureSoFar,
    /// Odd things met while reading.
    pub met: Met,
}

/// Zones of phase 1 with all their counts and the order in which they merge.
pub struct Merged {
    /// The zones of phase 1, where they lie, their tallies and the merges.
    pub log: MergeLog,
    /// Ground and ratings.
    pub ground: GroundBook,
    /// Geodesic area in square millimetres; zone `n` at `n - 1`.
    pub areas_mm2: Vec<u128>,
}

/// Counts all cells by zone of phase 1, and writes ratings where they are wanted.
///
/// # Errors
/// When a layer cannot be read, when ratings cannot be written, on an interrupt.
pub fn count(
    prepared: &Prepared,
    rater: &CellRater,
    joined: &Joined,
    options: &Options,
    folder: &mut PartialFolder,
) -> Result<Counted, Error> {
    let wanted = prepared.project.outputs.ratings;
    let mut ratings = wanted.then(|| open_ratings(prepared, folder)).transpose()?;
    let shape = shape_of(prepared);
    let grid = prepared.site.grid();
    let coarse_cell = coarse_cell(grid.rows(), grid.cols());
    let mut counted = Counted {
        zones: ZoneCounts::new(&shape, joined.phase_one.len()),
        not_rated: NotRated::default(),
        picture: PictureSoFar::new(coarse_cell, grid.rows(), grid.cols()),
        met: Met::default(),
    };
    let counting = Counting {
        prepared,
        rater,
        joined,
        shape: &shape,
        coarse_cell,
        with_ratings: wanted,
    };
    let tiles: Vec<Window> = grid.tiles().collect();
    // The ratings of a tile take much room.
    let at_once = rayon::current_num_threads() * if wanted { 1 } else { TILES_A_THREAD };
    options.progress.begin("counting", grid.rows() as u64);
    let mut take = |done: &[CountedTile]| -> Result<(), Error> {
        for tile in done {
            counted.add(tile);
            if let Some(writer) = &mut ratings {
                write_ratings(writer, tile)?;
            }
            if tile.window.col_end() == grid.cols() {
                options.progress.advance(tile.window.rows as u64);
            }
        }
        Ok(())
    };
    // While the sums of some tiles are added up, the next are counted.
    let mut done = Vec::new();
    for tiles in tiles.chunks(at_once) {
        options.stop.check()?;
        let (next, taken) = rayon::join(|| counting.tiles(tiles), || take(&done));
        taken?;
        done = next?;
    }
    take(&done)?;
    options.progress.end();
    if let Some(writer) = ratings {
        writer.finish().map_err(OutputError::from)?;
    }
    Ok(counted)
}

/// What is summed for each zone of a project.
pub fn shape_of(prepared: &Prepared) -> GroundShape {
    let factors = prepared.questions.factors().iter();
    GroundShape {
        measured: factors
            .map(|rated| matches!(rated.factor.kind, Kind::Measured(_)))
            .collect(),
        questions: prepared.questions.questions().len(),
        species: prepared.catalogue.species.len(),
    }
}

/// The file of ratings, a band a species.
fn open_ratings(prepared: &Prepared, folder: &mut PartialFolder) -> Result<RatingsWriter, Error> {
    let grid = prepared.site.grid();
    let names: Vec<&str> = prepared
        .catalogue
        .species
        .iter()
        .map(|species| species.id.as_str())
        .collect();
    folder.expect(
        "ratings.tif",
        Expected::Ratings {
            bands: names.len(),
            rows: grid.rows(),
            cols: grid.cols(),
        },
    );
    let writer = RatingsWriter::create(&folder.file("ratings.tif"), grid, &names);
    Ok(writer.map_err(OutputError::from)?)
}

/// Writes a tile's rating bytes, band by band.
fn write_ratings(writer: &mut RatingsWriter, tile: &CountedTile) -> Result<(), Error> {
    for (species, bytes) in tile.ratings.iter().enumerate() {
        writer
            .write_block(tile.window, species, bytes)
            .map_err(OutputError::from)?;
    }
    Ok(())
}

impl Counted {
    fn add(&mut self, tile: &CountedTile) {
        for zone in &tile.zones {
            self.zones.add(zone);
        }
        self.not_rated.add(&tile.not_rated);
        self.picture.add(tile.window, &tile.picture);
        self.met.add(&tile.met);
    }

    /// Merges the zones of phase 1 to the end. That takes one thread; on the others goes
    /// what is done `beside` it with the counts and needs no merges.
    ///
    /// # Errors
    /// When counts and zones do not fit each other; what goes wrong beside.
    pub fn merge(
        self,
        prepared: &Prepared,
        mut joined: Joined,
        settings: &ZoneSettings,
        beside: impl FnOnce(&ZoneCounts) -> Result<(), Error> + Send,
    ) -> Result<Merged, Error> {
        // Nobody asks for regions any more, nor for borders once zones know their neighbours.
        joined.phase_one.zone_of_region = Vec::new();
        let borders = std::mem::take(&mut joined.phase_one.borders);
        let (sequence, done) = rayon::join(
            || merge_zones(&joined.phase_one, borders, &self.zones.tallies, &settings.merge),
            || beside(&self.zones),
        );
        let sequence = sequence?;
        done?;
        let ids = prepared
            .catalogue
            .species
            .iter()
            .map(|species| species.id.clone())
            .collect();
        let log = MergeLog::new(
            ids,
            settings.merge,
            joined.phase_one,
            self.zones.tallies,
            sequence,
            Some(joined.rows),
        )?;
        Ok(Merged {
            log,
            ground: self.zones.ground,
            areas_mm2: self.zones.areas_mm2,
        })
    }
}

impl Merged {
    /// Lets sums go that are needed no more once zones are described and sums written.
    pub fn let_sums_go(&mut self) {
        self.ground.clear();
        self.areas_mm2 = Vec::new();
    }

    /// Where merging stops under the settings; where it cannot reach the number asked
    /// for, at the least number it can.
    ///
    /// # Errors
    /// When the merges do not fit each other.
    pub fn cut(&self, settings: &ZoneSettings) -> Result<Cut, Error> {
        let sequence = &self.log.sequence;
        match settings.stop_at {
            StopAt::Fidelity(target) => Ok(sequence.cut_at_fidelity(target)),
            StopAt::Number(number) => Ok(sequence.cut_at_number(number.max(sequence.smallest_number()))?),
        }
    }
}
