//! `groundfit map`: the job.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use super::Failure;
use super::screen::Screen;
use crate::output::words::{area_words, class_words, length_words};
use crate::plural::counted;
use crate::project::{Project, Units};
use crate::run::{self, BLOCK_ROWS, Mapped, Options, Stop};
use crate::zones::{Listing, Zone};

/// Rate a site and write its zones.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  groundfit map sample-data/project.toml
  groundfit map site.toml --output /tmp/trial --overwrite --threads 4
  groundfit map site.toml --json > summary.json

Writes report.html, zones.geojson, zones.gpkg, zone_species.csv, run.json, zones.merges and zones.sums (and
ratings.tif if the project asks for it) into the output folder: all of them, or none.")]
pub struct MapCommand {
    /// The project file
    project: PathBuf,
    /// Folder for the files, instead of the project's
    #[arg(long, short, value_name = "FOLDER")]
    output: Option<PathBuf>,
    /// Replace a finished output that is there
    #[arg(long)]
    overwrite: bool,
    /// Rows rated at a time; the same files come for any number
    #[arg(long, value_name = "ROWS", default_value_t = BLOCK_ROWS, hide_default_value = true)]
    block_rows: usize,
    /// Print the run record as JSON instead of the summary
    #[arg(long)]
    json: bool,
    /// Print where the time went
    #[arg(long)]
    timings: bool,
}

/// Zones that the summary shows.
const SHOWN: usize = 12;

/// Runs the command.
///
/// # Errors
/// What stops a run.
pub fn run(command: &MapCommand, screen: &Screen, stop: &Stop, out: &mut dyn Write) -> Result<u8, Failure> {
    let project = Project::read(&command.project)?;
    let folder = command
        .output
        .clone()
        .unwrap_or_else(|| project.outputs.folder.clone());
    let options = Options {
        folder: &folder,
        overwrite: command.overwrite,
        block_rows: command.block_rows,
        progress: screen,
        stop,
    };
    let mapped = run::map(&project, &options)?;
    tell(&mapped, &project, command.json, screen, out)?;
    if command.timings {
        for stage in &mapped.record.measured.stages {
            writeln!(out, "{:>8.2} s  {}", stage.seconds, stage.stage)?;
        }
    }
    Ok(0)
}

/// Tells what came out of a run.
///
/// # Errors
/// When nothing can be printed.
pub fn tell(
    mapped: &Mapped,
    project: &Project,
    json: bool,
    screen: &Screen,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    for told in &mapped.told {
        screen.line(told);
    }
    for warning in &mapped.record.warnings {
        screen.line(&format!("warning: {warning}"));
    }
    if json {
        serde_json::to_writer_pretty(&mut *out, &mapped.record)?;
        writeln!(out)?;
        return Ok(());
    }
    let record = &mapped.record;
    let units = project.units;
    // Not `sum`, which makes -0 of nothing.
    let rated_m2: f64 = mapped.zones.iter().fold(0.0, |sum, zone| sum + zone.area_m2);
    writeln!(out, "{}", record.title)?;
    writeln!(
        out,
        "  {} on {} rated, {} species, {} of {} in {}",
        counted(mapped.zones.len(), "zone"),
        area_words(rated_m2, units),
        record.counts.species,
        counted(record.counts.rated_cells, "cell"),
        length_words(record.grid.cell_m, units),
        record.grid.crs
    )?;
    if let Some(fidelity) = &record.fidelity {
        writeln!(
            out,
            "  fidelity of the lists to the rated cells {:.2}: {:.0} % of the suitable area is found, {:.0} % of the listed area is right",
            fidelity.fidelity,
            fidelity.suitable_area_found * 100.0,
            fidelity.listed_area_right * 100.0
        )?;
        if !fidelity.species_lost.is_empty() {
            writeln!(
                out,
                "  suit somewhere, but are listed nowhere: {}",
                fidelity.species_lost.join(", ")
            )?;
        }
    }
    for cause in &record.not_rated {
        writeln!(
            out,
            "  not rated: {} ({})",
            area_words(cause.area_m2, units),
            cause.cause
        )?;
    }
    writeln!(out)?;
    let mut by_size: Vec<&Zone> = mapped.zones.iter().collect();
    by_size.sort_by(|one, other| {
        other
            .area_m2
            .total_cmp(&one.area_m2)
            .then(one.number.cmp(&other.number))
    });
    for zone in by_size.iter().take(SHOWN) {
        tell_zone(zone, mapped, units, out)?;
    }
    if by_size.len() > SHOWN {
        writeln!(
            out,
            "  ... and {}",
            counted(by_size.len() - SHOWN, "smaller zone")
        )?;
    }
    writeln!(out, "\nfiles in {}:", mapped.folder.display())?;
    for file in &record.outputs {
        writeln!(out, "  {:<18} {:>12} bytes", file.file, file.bytes)?;
    }
    writeln!(out, "  {:<18} the record of the run", "run.json")?;
    writeln!(out, "\n{}", record.cautions.join(" "))?;
    Ok(())
}

fn tell_zone(zone: &Zone, mapped: &Mapped, units: Units, out: &mut dyn Write) -> Result<(), Failure> {
    let listed: Vec<&str> = zone
        .species
        .iter()
        .filter(|entry| entry.listing.is_listed())
        .map(|entry| mapped.species[entry.index()].0.as_str())
        .collect();
    let left_out = zone
        .species
        .iter()
        .any(|entry| entry.listing == Listing::NotDocumented);
    let nothing = if left_out {
        "nothing documented suits"
    } else {
        "nothing suits"
    };
    let best = zone.best_class.map_or_else(|| nothing.to_owned(), class_words);
    write!(
        out,
        "zone {:<4} {:<22} {best}; {} species",
        zone.number,
        area_words(zone.area_m2, units),
        listed.len()
    )?;
    match listed.len() {
        0 => writeln!(out)?,
        1..=6 => writeln!(out, ": {}", listed.join(", "))?,
        _ => writeln!(out, ": {}, ...", listed[..6].join(", "))?,
    }
    if !zone.limited_by.is_empty() {
        let limits: Vec<&str> = zone
            .limited_by
            .iter()
            .map(|&factor| mapped.factors[factor].as_str())
            .collect();
        writeln!(out, "          what keeps the others out: {}", limits.join(", "))?;
    }
    Ok(())
}
