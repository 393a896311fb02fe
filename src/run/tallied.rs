//! Second pass over the grid: what cells say as rated, before the vote, counted by
//! the zones of phase 1; and then the merging of these zones.

use rayon::prelude::*;

use super::Options;
use super::found::Joined;
use super::prepared::Prepared;
use super::rows::{Block, Walk};
use super::settings::{StopAt, ZoneSettings};
use crate::error::Error;
use crate::factor::Kind;
use crate::gis::RatingsWriter;
use crate::grid::Window;
use crate::output::{Expected, OutputError, PartialFolder};
use crate::rating::{CellRater, combine};
use crate::zones::{CellLayout, Cut, GroundShape, MergeLog, Tallies, ZoneGround, merge_zones};

/// Counts by zone of phase 1.
pub struct Tallied {
    /// Known and suiting cells of each species.
    pub tallies: Tallies,
    /// Ground and ratings; zone `n` at `n - 1`.
    pub ground: Vec<ZoneGround>,
    /// Geodesic area in square millimetres; zone `n` at `n - 1`.
    pub areas_mm2: Vec<u128>,
}

/// Zones of phase 1 with all their counts and the order in which they merge.
pub struct Merged {
    /// The zones of phase 1, where they lie, their tallies and the merges.
    pub log: MergeLog,
    /// Ground and ratings; zone `n` at `n - 1`.
    pub ground: Vec<ZoneGround>,
    /// Geodesic area in square millimetres; zone `n` at `n - 1`.
    pub areas_mm2: Vec<u128>,
}

/// Sums of one thread.
struct Part {
    tallies: Tallies,
    ground: Vec<ZoneGround>,
}

/// Counts all cells by zone of phase 1, and writes ratings where they are wanted.
///
/// # Errors
/// When a layer cannot be read, when ratings cannot be written, on an interrupt.
pub fn tally(
    prepared: &Prepared,
    rater: &CellRater,
    joined: &Joined,
    options: &Options,
    folder: &mut PartialFolder,
) -> Result<Tallied, Error> {
    let wanted = prepared.project.outputs.ratings;
    let mut ratings = wanted.then(|| open_ratings(prepared, folder)).transpose()?;
    let layout = CellLayout::new(prepared.catalogue.species.len());
    let shape = shape_of(prepared);
    let zones = joined.phase_one.len();
    let part = || Part {
        tallies: Tallies::new(layout, zones),
        ground: vec![ZoneGround::empty(&shape); zones],
    };
    let mut parts: Vec<Part> = std::iter::repeat_with(part)
        .take(rayon::current_num_threads())
        .collect();
    let mut areas_mm2 = vec![0u128; zones];
    let walk = Walk {
        prepared,
        rater,
        block_rows: options.block_rows,
        progress: options.progress,
        stop: options.stop,
    };
    walk.each("counting", |mut block| {
        combine(layout.words(), &mut block.rated.raster, &block.rated.ground);
        for row in 0..block.rows {
            let areas = prepared.site.cell_areas().row(block.row + row);
            each_run(joined.rows.row(block.row + row), |zone, from, to| {
                areas_mm2[zone as usize - 1] += u128::from(areas.run_mm2(from, to));
            });
        }
        let share = block.rows.div_ceil(parts.len());
        let block = &block;
        parts.par_iter_mut().enumerate().for_each(|(index, part)| {
            for row in (index * share..(index + 1) * share).take_while(|&row| row < block.rows) {
                part.count(rater, joined, block, row, layout);
            }
        });
        match ratings.as_mut() {
            Some(writer) => write_ratings(writer, rater, block, layout),
            None => Ok(()),
        }
    })?;
    if let Some(writer) = ratings {
        writer.finish().map_err(OutputError::from)?;
    }
    let mut parts = parts.into_iter();
    let mut whole = parts.next().unwrap_or_else(part);
    for other in parts {
        whole.tallies.add(&other.tallies)?;
        for (ground, others) in whole.ground.iter_mut().zip(&other.ground) {
            ground.merge(others);
        }
    }
    Ok(Tallied {
        tallies: whole.tallies,
        ground: whole.ground,
        areas_mm2,
    })
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

/// Calls `visit` with the label and the columns of each run that has one.
pub fn each_run(runs: &[(u32, u32)], mut visit: impl FnMut(u32, usize, usize)) {
    let mut from = 0;
    for &(end, label) in runs {
        let to = end as usize;
        if label > 0 {
            visit(label, from, to);
        }
        from = to;
    }
}

impl Part {
    fn count(&mut self, rater: &CellRater, joined: &Joined, block: &Block, row: usize, layout: CellLayout) {
        let cols = block.band.window.cols;
        let width = layout.cell_words();
        let species = layout.species();
        let values = block.values(row);
        let cells = &block.rated.raster[row * cols * width..(row + 1) * cols * width];
        let mut bytes = vec![0u8; cols * species];
        rater.byte_row(&values, &mut bytes);
        let runs = joined.rows.row(block.row + row);
        each_run(runs, |zone, from, to| {
            self.tallies.add_run(zone, &cells[from * width..to * width]);
            let ground = &mut self.ground[zone as usize - 1];
            for (factor, values) in values.iter().enumerate() {
                ground.add_values(factor, &values[from..to]);
            }
            for col in from..to {
                let suits = &cells[col * width..col * width + layout.words()];
                ground.add_ratings(suits, &bytes[col * species..(col + 1) * species]);
            }
        });
        let mut numbers = vec![0u64; cols];
        for question in 0..self.ground.first().map_or(0, |ground| ground.questions.len()) {
            rater.ground_numbers(question, &values, &mut numbers);
            each_run(runs, |zone, from, to| {
                self.ground[zone as usize - 1].add_numbers(question, &numbers[from..to]);
            });
        }
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

/// Writes the block's rating bytes, band by band; unknown is the missing value.
fn write_ratings(
    writer: &mut RatingsWriter,
    rater: &CellRater,
    block: &Block,
    layout: CellLayout,
) -> Result<(), Error> {
    let cols = block.band.window.cols;
    let (width, species) = (layout.cell_words(), layout.species());
    let mut bytes = vec![0u8; block.rows * cols * species];
    bytes
        .par_chunks_mut((cols * species).max(1))
        .enumerate()
        .for_each(|(row, bytes)| {
            rater.byte_row(&block.values(row), bytes);
            let cells = block.rated.raster[row * cols * width..].chunks_exact(width);
            for (bytes, cell) in bytes.chunks_exact_mut(species).zip(cells) {
                for (index, byte) in bytes.iter_mut().enumerate() {
                    if cell[layout.words() + index / 64] >> (index % 64) & 1 == 1 {
                        *byte = u8::MAX;
                    }
                }
            }
        });
    let window = Window {
        row: block.row,
        col: 0,
        rows: block.rows,
        cols,
    };
    let mut of_one = vec![0u8; block.rows * cols];
    for index in 0..species {
        for (byte, cell) in of_one.iter_mut().zip(bytes.chunks_exact(species)) {
            *byte = cell[index];
        }
        writer
            .write_block(window, index, &of_one)
            .map_err(OutputError::from)?;
    }
    Ok(())
}

impl Tallied {
    /// Merges the zones of phase 1 to the end.
    ///
    /// # Errors
    /// When counts and zones do not fit each other.
    pub fn merge(
        self,
        prepared: &Prepared,
        joined: Joined,
        settings: &ZoneSettings,
    ) -> Result<Merged, Error> {
        let sequence = merge_zones(&joined.phase_one, &self.tallies, &settings.merge)?;
        let ids = prepared
            .catalogue
            .species
            .iter()
            .map(|species| species.id.clone())
            .collect();
        let log = MergeLog::new(
            ids,
            settings.merge,
            &joined.phase_one,
            self.tallies,
            sequence,
            Some(joined.rows),
        )?;
        Ok(Merged {
            log,
            ground: self.ground,
            areas_mm2: self.areas_mm2,
        })
    }
}

impl Merged {
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
