//! The whole path of the data on one screen: layers and catalogue in, rated cells,
//! regions, zones, files. The only part that knows every stage; what happens in a
//! stage stands in its folder.

mod accounting;
mod catalogue;
mod counted;
mod counted_tile;
mod described;
mod drawn;
mod estimate;
mod explain;
mod explanation;
mod facts;
mod final_sums;
mod found;
mod found_and_needed;
mod memory;
mod not_rated;
mod not_rated_picture;
mod page;
mod picture_so_far;
mod prepared;
mod progress;
mod rated_tile;
mod record;
mod settings;
mod species_areas;
mod spread;
mod strips;
mod survey;
mod write;

use std::path::Path;
use std::sync::Arc;

pub use explanation::{Explanation, SoilHere, SpeciesHere, Why};
pub use prepared::Prepared;
pub use progress::{Progress, Silent, Stop};
pub use survey::{Survey, SurveyFactor};
pub use write::Mapped;

use accounting::Clock;
use facts::Facts;
use settings::ZoneSettings;
use write::Ending;

use crate::error::Error;
use crate::gis;
use crate::output::PartialFolder;
use crate::project::Project;
use crate::rating::CellRater;

/// What a run may do and how it reports.
pub struct Options<'a> {
    /// Where the files go.
    pub folder: &'a Path,
    /// Whether a finished output there may be replaced.
    pub overwrite: bool,
    /// Rows that are rated at a time; any number gives the same bytes.
    pub block_rows: usize,
    /// Who is told how far it is.
    pub progress: &'a dyn Progress,
    /// Asked between blocks whether to stop.
    pub stop: &'a Stop,
}

/// Rows that are rated at a time unless asked otherwise.
pub const BLOCK_ROWS: usize = 64;

/// Rates a site, draws its zones, and writes all files, whole or not at all.
///
/// # Errors
/// Problems in the project, its layers or its catalogue; files that cannot be read
/// or written; an interrupt.
pub fn map(project: &Project, options: &Options) -> Result<Mapped, Error> {
    let mut clock = Clock::start();
    let (prepared, inputs) = rayon::join(|| Prepared::open(project), || record::inputs(project));
    let mut prepared = prepared?;
    prepared.site.keep_tiles();
    // The layers go before the rater does.
    let questions = Arc::clone(&prepared.questions);
    let rater = CellRater::new(&questions, prepared.settings)?;
    let settings = ZoneSettings::new(project, &prepared)?;
    let (memory_bytes, room) = estimate::needed(&prepared, &rater, &settings)?;
    memory::refuse_too_large(&prepared, memory_bytes)?;
    let mut folder = PartialFolder::create(options.folder, options.overwrite, Some(room))?;
    let inputs = inputs?;
    clock.lap("opening layers and catalogue");

    gis::give_memory_back();
    let mut regions = found::find_regions(&prepared, &rater, &settings, options)?;
    gis::give_memory_back();
    clock.lap("reading, rating and regions");
    let joined = found::join_small(&mut regions, &settings);
    gis::give_memory_back();
    clock.lap("joining small regions");
    let counted = counted::count(&prepared, &rater, &joined, options, &mut folder)?;
    prepared.site.let_layers_go();
    gis::give_memory_back();
    clock.lap("counting cells by zone");
    let facts = Facts::new(&prepared, &regions, &joined, &counted, &settings, &inputs);
    drop(regions);
    let merged = counted.merge(&prepared, joined, &settings, |zones| {
        write::write_sums(&folder, &facts, &zones.ground, &zones.areas_mm2)
    })?;
    let cut = merged.cut(&settings)?;
    gis::give_memory_back();
    clock.lap("merging zones, writing zones.sums");
    let ending = Ending {
        prepared: &prepared,
        facts,
        merged,
        cut: &cut,
        settings: &settings,
        inputs,
    };
    ending.finish(&rater, options.stop, folder, clock)
}

/// Cuts another number of zones from a finished output, without a new run.
///
/// # Errors
/// An output that is not of this project as it is now, a number that merging cannot
/// reach, files that cannot be written.
pub fn recut(project: &Project, from: &Path, number: u32, options: &Options) -> Result<Mapped, Error> {
    let mut clock = Clock::start();
    let prepared = Prepared::open(project)?;
    let rater = prepared.rater()?;
    let settings = ZoneSettings::new(project, &prepared)?.with_number(number);
    let inputs = record::inputs(project)?;
    let (facts, merged) = write::read_back(&prepared, from, &inputs)?;
    let cut = merged.log.sequence.cut_at_number(number)?;
    clock.lap("reading the stored merges");
    let folder = PartialFolder::create(options.folder, options.overwrite, None)?;
    write::write_sums(&folder, &facts, &merged.ground, &merged.areas_mm2)?;
    let ending = Ending {
        prepared: &prepared,
        facts,
        merged,
        cut: &cut,
        settings: &settings,
        inputs,
    };
    ending.finish(&rater, options.stop, folder, clock)
}

/// Looks at everything a run would read, and tells what it would be like. Writes
/// nothing.
///
/// # Errors
/// Problems in the project, its layers or its catalogue.
pub fn check(project: &Project) -> Result<Survey, Error> {
    let prepared = Prepared::open(project)?;
    let settings = ZoneSettings::new(project, &prepared)?;
    survey::survey(&prepared, &settings)
}
