//! The run record: from what the stages hold to what `run.json` tells.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use serde_json::{Value, json};

use super::accounting::Clock;
use super::counted::Merged;
use super::drawn::{Drawn, square_metres};
use super::facts::Facts;
use super::not_rated::CellsAndArea;
use super::prepared::Prepared;
use super::settings::{StopAt, ZoneSettings};
use crate::error::Error;
use crate::factor::{Factor, Units};
use crate::gis;
use crate::output::{
    AreaByCause, Counts, FidelityRecord, FileFacts, GridRecord, InputRecord, LayerRecord, Measured,
    OutputRecord, Program, RangeRecord, RuleRecord, RunRecord, SCHEMA_VERSION, StageSeconds, now_text,
    peak_memory_bytes, source_date_epoch, utc_text,
};
use crate::project::{Missing, Project, Rule};
use crate::range::Documented;
use crate::site::LayerFact;
use crate::zones::Cut;

/// All that a record is made of.
pub struct Parts<'a> {
    /// What was read.
    pub prepared: &'a Prepared<'a>,
    /// What was found on the way.
    pub facts: &'a Facts,
    /// Zones of phase 1 and merges.
    pub merged: &'a Merged,
    /// Where merging stopped.
    pub cut: &'a Cut,
    /// The zones.
    pub drawn: &'a Drawn,
    /// How zones were made.
    pub settings: &'a ZoneSettings,
    /// The files that were read.
    pub inputs: Vec<InputRecord>,
    /// The date of the files, in seconds since 1970.
    pub date: i64,
    /// Rows of the table of zones and species.
    pub rows: u64,
    /// What people should know.
    pub warnings: Vec<String>,
    /// The other files.
    pub outputs: Vec<OutputRecord>,
}

/// The record of a run.
pub fn record(parts: Parts, clock: &Clock) -> RunRecord {
    let Parts {
        prepared,
        facts,
        drawn,
        ..
    } = parts;
    let project = prepared.project;
    let site = &prepared.site;
    RunRecord {
        schema_version: SCHEMA_VERSION,
        program: Program::this(),
        date: utc_text(parts.date),
        title: title(prepared).to_owned(),
        project: project.path.display().to_string(),
        grid: GridRecord::new(
            site.grid(),
            &format!("CRS: {}; cell: {}", site.crs_set_by(), site.cell_set_by()),
        ),
        layers: site.facts().iter().map(layer).collect(),
        rating: rule(prepared),
        settings: settings(prepared, parts.settings, &parts.outputs),
        counts: Counts {
            cells: site.grid().cells() as u64,
            rated_cells: facts.not_rated.rated.cells,
            species: prepared.catalogue.species.len() as u64,
            regions: facts.regions,
            phase_1_zones: parts.merged.log.cells.len() as u64,
            zones: drawn.zones.len() as u64,
            zone_species_rows: parts.rows,
        },
        not_rated: areas(&facts.not_rated.causes),
        not_counted: areas(&facts.not_rated.ignored),
        limited: areas(&facts.not_rated.limited),
        greatest_area_change: drawn.greatest_area_change,
        range: range(prepared, drawn),
        fidelity: (!drawn.zones.is_empty()).then(|| fidelity(&parts)),
        inputs: parts.inputs,
        warnings: parts.warnings,
        cautions: RunRecord::general_cautions(),
        outputs: parts.outputs,
        measured: measured(clock),
    }
}

fn layer(fact: &LayerFact) -> LayerRecord {
    let vector = "polygons own the cells whose centres they hold; distances are exact";
    LayerRecord {
        name: fact.name.clone(),
        path: fact.path.clone(),
        kind: fact.kind.clone(),
        operation: fact.transform.clone(),
        resampling: fact.resampling.unwrap_or(vector).to_owned(),
        support_m: fact.support_m,
        nodata: fact.nodata,
        coverage: fact.covers,
        notes: fact
            .date
            .iter()
            .map(|date| format!("date: {date}"))
            .chain(fact.notes.iter().cloned())
            .collect(),
    }
}

fn rule(prepared: &Prepared) -> RuleRecord {
    let rating = &prepared.project.rating;
    let factors = prepared.site.factors();
    let ids = |wanted: fn(&Factor) -> bool| -> Vec<String> {
        let wanted = factors.iter().filter(|factor| wanted(factor));
        wanted.map(|factor| factor.id.clone()).collect()
    };
    let weights = factors
        .iter()
        .map(|factor| (factor.id.clone(), rating.weight_of(&factor.id)));
    let stand_ins = factors
        .iter()
        .filter_map(|factor| Some((factor.id.clone(), factor.stands_in_for.clone()?)));
    RuleRecord {
        rule: rating.rule.word().to_owned(),
        limits: rating.limits,
        at_least: rating.at_least,
        weights: weights.filter(|_| rating.rule == Rule::Geometric).collect(),
        factors: ids(|_| true),
        decisive: ids(|factor| factor.decisive),
        remediable: ids(|factor| factor.remediable),
        stand_ins: stand_ins.collect(),
    }
}

/// What the tables of ranges gave.
fn range(prepared: &Prepared, drawn: &Drawn) -> Option<RangeRecord> {
    let (range, ranges) = (prepared.range.as_ref()?, drawn.ranges.as_ref()?);
    let section = prepared.project.range.as_ref()?;
    Some(RangeRecord {
        read: range.facts().clone(),
        documented_here: ranges.count(Documented::Here),
        documented_adjoining: ranges.count(Documented::Adjoining),
        not_documented: ranges.count(Documented::Not),
        no_region: ranges.count(Documented::NoRegion),
        documented_only: section.documented_only,
        left_out: drawn.left_out,
        reach_km: section.reach_km,
        blur_m: section.blur_m,
    })
}

fn areas(by_cause: &BTreeMap<String, CellsAndArea>) -> Vec<AreaByCause> {
    let area = |(cause, sums): (&String, &CellsAndArea)| AreaByCause {
        cause: cause.clone(),
        cells: sums.cells,
        area_m2: square_metres(sums.area_mm2),
    };
    by_cause.iter().map(area).collect()
}

impl RunRecord {
    /// Tells of a file that was written after all others.
    pub fn add_output(&mut self, outputs: Vec<OutputRecord>, clock: &Clock) {
        self.outputs = outputs;
        self.measured = measured(clock);
    }
}

fn measured(clock: &Clock) -> Measured {
    let stage = |(stage, seconds): &(String, f64)| StageSeconds {
        stage: stage.clone(),
        seconds: *seconds,
    };
    Measured {
        finished: now_text(),
        seconds: clock.seconds(),
        stages: clock.laps().iter().map(stage).collect(),
        peak_memory_bytes: peak_memory_bytes(),
        threads: rayon::current_num_threads(),
    }
}

/// The project's title, or its file name.
pub fn title<'a>(prepared: &'a Prepared) -> &'a str {
    let project = prepared.project;
    let stem = || project.path.file_stem().and_then(|stem| stem.to_str());
    project.title.as_deref().or_else(stem).unwrap_or("groundfit")
}

fn settings(
    prepared: &Prepared,
    settings: &ZoneSettings,
    outputs: &[OutputRecord],
) -> BTreeMap<String, Value> {
    let listing = settings.merge.listing;
    let (fidelity, number) = match settings.stop_at {
        StopAt::Fidelity(share) => (Some(share.get()), None),
        StopAt::Number(number) => (None, Some(number)),
    };
    let project = prepared.project;
    // A later cut of other zones writes no ratings.
    let has_ratings = outputs.iter().any(|output| output.file == "ratings.tif");
    let ignored = project
        .factors
        .iter()
        .filter(|section| section.missing == Missing::Ignore);
    let ignored: Vec<&str> = ignored.map(|section| section.factor.id.as_str()).collect();
    let units = match project.units {
        Units::Metric => "metric",
        Units::Us => "us",
    };
    let survey = project.soil_survey.as_ref().map(|survey| {
        json!({
            "reading": survey.reading.word(),
            "depth_cm": survey.depths.chemistry_cm,
            "water_depth_cm": survey.depths.water_cm,
            "least_known": survey.depths.least_known,
            "drier_below": survey.nudge.map(|nudge| nudge.drier_below),
            "wetter_from": survey.nudge.map(|nudge| nudge.wetter_from),
        })
    });
    let entries = [
        ("soil_survey", json!(survey)),
        ("units", json!(units)),
        ("factors.missing_ignored", json!(ignored)),
        ("zones.vote", json!(settings.vote)),
        ("zones.smallest_ha", json!(project.zones.smallest_ha)),
        ("zones.fidelity", json!(fidelity)),
        ("zones.number", json!(number)),
        ("zones.keep", json!(settings.merge.keep.get())),
        ("zones.list_share", json!(listing.list_share.get())),
        ("zones.throughout_share", json!(listing.throughout.get())),
        ("zones.in_parts_share", json!(listing.in_parts.get())),
        ("zones.known_share", json!(listing.known_share.get())),
        ("zones.simplify_m", json!(settings.simplify_m)),
        ("outputs.ratings", json!(has_ratings)),
        ("outputs.all_rows", json!(project.outputs.all_rows)),
        ("catalogue.starter", json!(project.catalogue.starter)),
        ("catalogue.only", json!(project.catalogue.only)),
        ("catalogue.leave_out", json!(project.catalogue.leave_out)),
        ("catalogue.region", json!(project.catalogue.region)),
        (
            "catalogue.leave_out_introduced",
            json!(project.catalogue.leave_out_introduced),
        ),
        (
            "catalogue.leave_out_unlisted",
            json!(project.catalogue.leave_out_unlisted),
        ),
        ("catalogue.rules", json!(project.catalogue.rules)),
        ("road_salt", json!(prepared.site.computed_from())),
    ];
    entries.map(|(key, value)| (key.to_owned(), value)).into()
}

fn fidelity(parts: &Parts) -> FidelityRecord {
    let fidelity = parts.cut.fidelity;
    let lost = &parts.drawn.species_lost;
    let species = &parts.prepared.catalogue.species;
    let against_keep = plane_area_m2(parts.prepared, parts.facts.absorbed_against_keep);
    FidelityRecord {
        fidelity: fidelity.get(),
        target: match parts.settings.stop_at {
            StopAt::Fidelity(target) => Some(target.get()),
            StopAt::Number(_) => None,
        },
        after_phase_1: parts.merged.log.sequence.start.get(),
        suitable_area_found: fidelity.found_share(),
        listed_area_right: fidelity.right_share(),
        species_lost: lost.iter().map(|&index| species[index].id.clone()).collect(),
        absorbed_against_keep_m2: against_keep,
    }
}

/// The area of so many cells on the plane of the grid, for people.
#[expect(clippy::cast_precision_loss, reason = "an area for people")]
pub fn plane_area_m2(prepared: &Prepared, cells: u64) -> f64 {
    let cell_m = prepared.site.grid().cell_m();
    cells as f64 * cell_m * cell_m
}

/// All files a project reads, with size, time and checksum.
///
/// # Errors
/// A file that cannot be read.
pub fn inputs(project: &Project) -> Result<Vec<InputRecord>, Error> {
    let latest = source_date_epoch()?;
    let name = |path: &Path| {
        path.file_name()
            .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
    };
    let mut wanted: Vec<(String, String, Vec<PathBuf>)> = Vec::new();
    let mut add = |role: &str, written: &str, files| {
        wanted.push((role.to_owned(), written.to_owned(), files));
    };
    add("project", &name(&project.path), vec![project.path.clone()]);
    for path in project.catalogue.files() {
        add("catalogue", &name(path), vec![path.to_owned()]);
    }
    if let Some(range) = &project.range {
        add("range.table", &range.table_as_written, vec![range.table.clone()]);
    }
    if let Some((path, written)) = project.survey_tables() {
        add("soil_survey.tables", written, files_of_tables(path)?);
    }
    let mut seen: Vec<&Path> = Vec::new();
    for (role, layer) in project.layers() {
        if !seen.contains(&layer.path.as_path()) {
            seen.push(&layer.path);
            add(&role, &layer.as_written, gis::files_of(&layer.path)?);
        }
    }
    let read: Vec<Result<InputRecord, Error>> = wanted
        .into_par_iter()
        .map(|(role, written, files)| {
            let as_written = |file: &Path| match file.file_name() {
                Some(name) if files.len() > 1 => format!("{written}: {}", name.to_string_lossy()),
                _ => written.clone(),
            };
            let facts: Vec<Result<FileFacts, Error>> = files
                .par_iter()
                .map(|file| Ok(FileFacts::read(file, &as_written(file), latest)?))
                .collect();
            Ok(InputRecord {
                role,
                files: facts.into_iter().collect::<Result<_, _>>()?,
                path: written,
            })
        })
        .collect();
    // The first error in the project's order, whichever thread was first.
    read.into_iter().collect()
}

/// The files of a survey's tables: those of a database, or all of a folder.
fn files_of_tables(path: &Path) -> Result<Vec<PathBuf>, Error> {
    let found = gis::files_of(path);
    let Some(entries) = std::fs::read_dir(path).ok().filter(|_| found.is_err()) else {
        return Ok(found?);
    };
    let mut files: Vec<PathBuf> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    files.retain(|file| file.is_file());
    files.sort();
    Ok(files)
}

/// The checksum of each input file, by path as the project writes it.
pub fn checksums(inputs: &[InputRecord]) -> BTreeMap<String, String> {
    let files = inputs.iter().flat_map(|input| &input.files);
    files
        .filter_map(|file| Some((file.path.clone(), file.sha256.clone()?)))
        .collect()
}
