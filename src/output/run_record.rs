//! `run.json`: what was read, what was set, what came out. Everything but the block
//! `measured` is the same for the same inputs.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::Path;

use serde::Serialize;

use super::{InputRecord, OutputError, cautions};
use crate::gis::TransformTold;
use crate::grid::{Extent, Grid};
use crate::range::RangeFacts;
use crate::score::{Class, ClassLimits};

/// The version of the layout of `run.json`; raised when a field changes its meaning
/// or goes away.
pub const SCHEMA_VERSION: u32 = 1;

/// The record of one run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunRecord {
    /// [`SCHEMA_VERSION`].
    pub schema_version: u32,
    /// The program that ran.
    pub program: Program,
    /// The date of the files as UTC (see [`super::file_date`]).
    pub date: String,
    /// The title of the project.
    pub title: String,
    /// The path of the project file as it was given.
    pub project: String,
    /// Every file that was read.
    pub inputs: Vec<InputRecord>,
    /// The grid.
    pub grid: GridRecord,
    /// How each layer came to the grid.
    pub layers: Vec<LayerRecord>,
    /// Rule, limits and wanted class.
    pub rating: RuleRecord,
    /// All other settings, by their name in the project file, defaults included.
    pub settings: BTreeMap<String, serde_json::Value>,
    /// How many of everything.
    pub counts: Counts,
    /// Area that is not rated, by cause.
    pub not_rated: Vec<AreaByCause>,
    /// Rated area on which a factor has no value and is not counted, as the project
    /// asks with `missing = "ignore"`; the cause is the factor.
    pub not_counted: Vec<AreaByCause>,
    /// Rated area on which plants must stay low or thin; the cause is the limit.
    pub limited: Vec<AreaByCause>,
    /// Greatest change of a zone's area by simplifying its outline, as a share of the
    /// area of its cells.
    pub greatest_area_change: f64,
    /// Where species are documented; nothing where the project has no ranges.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<RangeRecord>,
    /// How true the zones are to the rated cells; nothing when there are none.
    pub fidelity: Option<FidelityRecord>,
    /// What the run warned of.
    pub warnings: Vec<String>,
    /// What holds for every result.
    pub cautions: Vec<String>,
    /// The other files of the run.
    pub outputs: Vec<OutputRecord>,
    /// Time and memory; different in each run.
    pub measured: Measured,
}

/// Name and version of the program.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Program {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
}

impl Program {
    /// This program.
    #[must_use]
    pub fn this() -> Program {
        Program {
            name: env!("CARGO_PKG_NAME").to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
        }
    }
}

/// The grid of the run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GridRecord {
    /// Name of the CRS.
    pub crs: String,
    /// Its code, where it has one.
    pub crs_code: Option<String>,
    /// Its definition as well-known text.
    pub crs_wkt: String,
    /// Side of a cell in metres.
    pub cell_m: f64,
    /// Number of rows.
    pub rows: usize,
    /// Number of columns.
    pub cols: usize,
    /// The extent in map coordinates.
    pub extent: Extent,
    /// What set the CRS and the cell size: the project or a layer.
    pub set_by: String,
}

impl GridRecord {
    /// The record of a grid.
    #[must_use]
    pub fn new(grid: &Grid, set_by: &str) -> GridRecord {
        GridRecord {
            crs: grid.crs().name.clone(),
            crs_code: grid.crs().code.clone(),
            crs_wkt: grid.crs().wkt.clone(),
            cell_m: grid.cell_m(),
            rows: grid.rows(),
            cols: grid.cols(),
            extent: grid.extent(),
            set_by: set_by.to_owned(),
        }
    }
}

/// How a layer came to the grid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LayerRecord {
    /// Its name in the project: the factor it gives, `boundary`, `exclude roads`.
    pub name: String,
    /// The path as the project writes it.
    pub path: String,
    /// What it is and how it is used: `raster, measured`, `polygons, classes`.
    pub kind: String,
    /// How its coordinates became those of the grid.
    pub operation: TransformTold,
    /// `nearest`, `mode`, `bilinear`, `average`, or how polygons were burnt.
    pub resampling: String,
    /// The size of what it can tell apart, in metres, where known.
    pub support_m: Option<f64>,
    /// The value that stood for nothing known, where one was set.
    pub nodata: Option<f64>,
    /// Share of the area it covers, 0 to 1.
    pub coverage: Option<f64>,
    /// Anything to tell: repaired polygons, unknown codes, overlaps.
    pub notes: Vec<String>,
}

/// How scores became classes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RuleRecord {
    /// `limiting`, `geometric`, `square-root` or `product`.
    pub rule: String,
    /// The lowest rating of each class.
    pub limits: ClassLimits,
    /// The class that counts as suitable.
    pub at_least: Class,
    /// The weights of the geometric mean, by factor; empty under the other rules.
    pub weights: BTreeMap<String, f64>,
    /// The factors in the project's order.
    pub factors: Vec<String>,
    /// Those of them that are decisive.
    pub decisive: Vec<String>,
    /// Those that people can put right, which parts N1 from N2.
    pub remediable: Vec<String>,
    /// Factors that stand in for another, and that other.
    pub stand_ins: BTreeMap<String, String>,
}

/// How many of everything.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Counts {
    /// Cells of the grid.
    pub cells: u64,
    /// Cells in which a species is known.
    pub rated_cells: u64,
    /// Species of the catalogue.
    pub species: u64,
    /// Regions before merging.
    pub regions: u64,
    /// Zones after the first phase of merging.
    pub phase_1_zones: u64,
    /// Zones.
    pub zones: u64,
    /// Rows of the table of zones and species.
    pub zone_species_rows: u64,
}

/// Where species are documented, in numbers. Pairs are of a zone and a species.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RangeRecord {
    /// What was read.
    #[serde(flatten)]
    pub read: RangeFacts,
    /// Pairs documented in a region that the zone touches.
    pub documented_here: u64,
    /// Pairs documented in an adjoining region alone.
    pub documented_adjoining: u64,
    /// Pairs documented in neither.
    pub not_documented: u64,
    /// Pairs where no region lies.
    pub no_region: u64,
    /// Whether only documented species are listed.
    pub documented_only: bool,
    /// Pairs left off the lists for that.
    pub left_out: u64,
    /// How far records were looked for.
    pub reach_km: f64,
    /// Side of the squares to which the records of blurred species are moved.
    pub blur_m: Option<f64>,
}

/// Area that is not rated for one cause.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AreaByCause {
    /// The cause.
    pub cause: String,
    /// Number of cells.
    pub cells: u64,
    /// Their geodesic area in square metres.
    pub area_m2: f64,
}

/// How true the zones' lists are to the cells as rated: truth to the layers, not to
/// the field.
///
/// # Method
/// Sorensen similarity, counted in area over all species.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FidelityRecord {
    /// The similarity, 0 to 1.
    pub fidelity: f64,
    /// What was asked for; nothing where a number of zones was.
    pub target: Option<f64>,
    /// The similarity after the first phase of merging.
    pub after_phase_1: f64,
    /// Share of the suitable area that is listed, 0 to 1.
    pub suitable_area_found: f64,
    /// Share of the listed area that is suitable, 0 to 1.
    pub listed_area_right: f64,
    /// Ids of species that suit somewhere and are listed nowhere.
    pub species_lost: Vec<String>,
    /// Area the first phase absorbed against `keep`, in square metres.
    pub absorbed_against_keep_m2: f64,
}

/// One file of the run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OutputRecord {
    /// Its name in the folder.
    pub file: String,
    /// Its size.
    pub bytes: u64,
    /// Its SHA-256 checksum.
    pub sha256: String,
}

/// Seconds one stage took.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageSeconds {
    /// The stage.
    pub stage: String,
    /// Seconds of wall time.
    pub seconds: f64,
}

/// What differs from run to run.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Measured {
    /// When the run ended, as UTC.
    pub finished: String,
    /// Wall time of the whole run.
    pub seconds: f64,
    /// Wall time by stage.
    pub stages: Vec<StageSeconds>,
    /// The most memory it held.
    pub peak_memory_bytes: Option<u64>,
    /// Threads it used.
    pub threads: usize,
}

impl RunRecord {
    /// The general cautions, for [`RunRecord::cautions`].
    #[must_use]
    pub fn general_cautions() -> Vec<String> {
        cautions::GENERAL.map(str::to_owned).to_vec()
    }

    /// Writes the record as indented JSON.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn write(&self, path: &Path) -> Result<(), OutputError> {
        let mut out = BufWriter::new(File::create(path).map_err(OutputError::write(path))?);
        serde_json::to_writer_pretty(&mut out, self)
            .map_err(std::io::Error::from)
            .and_then(|()| out.write_all(b"\n"))
            .and_then(|()| out.flush())
            .map_err(OutputError::write(path))
    }
}

/// The most memory this process held so far, or nothing where the system does not
/// tell.
#[must_use]
pub fn peak_memory_bytes() -> Option<u64> {
    parse_peak(&fs::read_to_string("/proc/self/status").ok()?)
}

/// Memory of this process as it stands; nothing where the system does not tell.
///
/// # Units
/// Bytes.
#[must_use]
pub fn memory_bytes() -> Option<u64> {
    parse(&fs::read_to_string("/proc/self/status").ok()?, "VmRSS:")
}

fn parse_peak(status: &str) -> Option<u64> {
    parse(status, "VmHWM:")
}

fn parse(status: &str, name: &str) -> Option<u64> {
    let line = status.lines().find_map(|line| line.strip_prefix(name))?;
    let kilobytes: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(kilobytes * 1024)
}

#[cfg(test)]
#[path = "run_record_tests.rs"]
mod tests;
