//! `groundfit check`: everything but the job.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use super::Failure;
use crate::plural::{counted, one_or_many};
use crate::project::Project;
use crate::run::{self, Survey};

/// Look at project, layers and catalogue without a run; write nothing.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  groundfit check sample-data/project.toml
  groundfit check site.toml --json

Opens every layer, reads a few tiles of the site, and tells CRS, extents, overlap with the area, missing
values, unknown classes, what will be unknown for which species, and how long and large a run would be.")]
pub struct CheckCommand {
    /// The project file
    project: PathBuf,
    /// Print JSON for programs
    #[arg(long)]
    json: bool,
}

/// Species that are unknown and shown by name.
const SHOWN: usize = 15;

/// Runs the command.
///
/// # Errors
/// Problems with the project, its layers or its catalogue.
pub fn run(command: &CheckCommand, out: &mut dyn Write) -> Result<u8, Failure> {
    let project = Project::read(&command.project)?;
    let survey = run::check(&project)?;
    if command.json {
        serde_json::to_writer_pretty(&mut *out, &survey)?;
        writeln!(out)?;
    } else {
        tell(&survey, out)?;
    }
    Ok(0)
}

#[expect(clippy::cast_precision_loss, reason = "sizes for people")]
fn tell(survey: &Survey, out: &mut dyn Write) -> Result<(), Failure> {
    writeln!(
        out,
        "grid: {} x {} of {} m in {}",
        counted(survey.rows, "row"),
        counted(survey.cols, "column"),
        survey.cell_m,
        survey.crs
    )?;
    writeln!(
        out,
        "  cell set by {}; CRS set by {}",
        survey.cell_set_by, survey.crs_set_by
    )?;
    tell_layers(survey, out)?;
    let (tiles, all) = survey.tiles;
    writeln!(
        out,
        "\nfactors, in {tiles} of {} ({} to rate)",
        counted(all, "tile"),
        counted(survey.cells_looked_at, "cell")
    )?;
    for factor in &survey.factors {
        let weight = if factor.decisive { "decisive" } else { "helpful" };
        writeln!(
            out,
            "  {} ({weight}): {}; {:.1} % without a value",
            factor.factor,
            factor.holds,
            factor.missing * 100.0
        )?;
    }
    for (cause, share) in &survey.not_rated {
        writeln!(out, "  not rated: {:.1} % ({cause})", share * 100.0)?;
    }
    if !survey.range.is_empty() {
        writeln!(out, "\nwhere species are documented")?;
        for line in &survey.range {
            writeln!(out, "  {line}")?;
        }
    }
    writeln!(out, "\nspecies: {}", survey.species)?;
    if let Some(quality) = survey.floristic_quality {
        writeln!(
            out,
            "  {} with a coefficient of conservatism, {:.1} in the mean, floristic quality index {:.1}",
            quality.native, quality.mean_c, quality.index
        )?;
    }
    let mut unknown: Vec<_> = survey.unknown.iter().collect();
    unknown.sort_by(|one, other| other.share.total_cmp(&one.share));
    for species in unknown.iter().take(SHOWN) {
        let causes: Vec<String> = species
            .causes
            .iter()
            .map(|(cause, share)| format!("{cause} on {:.1} %", share * 100.0))
            .collect();
        writeln!(
            out,
            "  {} will be unknown on {:.1} %: {}",
            species.species,
            species.share * 100.0,
            causes.join(", ")
        )?;
    }
    if unknown.len() > SHOWN {
        writeln!(out, "  ... and {} more species", unknown.len() - SHOWN)?;
    }
    writeln!(
        out,
        "\na run: about {} to rate, {} after {} {} of the vote, {}, {:.0} s, {:.0} MB of memory, up to {:.0} MB of disk",
        counted(survey.cells_to_rate, "cell"),
        counted(survey.regions, "region"),
        survey.vote,
        one_or_many(survey.vote, "pass", "passes"),
        counted(survey.zones, "zone"),
        survey.seconds.ceil(),
        survey.memory_bytes as f64 / 1e6,
        survey.disk_bytes as f64 / 1e6
    )?;
    for warning in &survey.warnings {
        writeln!(out, "warning: {warning}")?;
    }
    writeln!(out, "nothing was written")?;
    Ok(())
}

/// The layers, how they come to the grid, and what the computing of factors rests on.
fn tell_layers(survey: &Survey, out: &mut dyn Write) -> Result<(), Failure> {
    writeln!(out, "\nlayers")?;
    for layer in &survey.layers {
        let resampling = layer
            .resampling
            .map_or_else(String::new, |how| format!(", {how}"));
        let features = layer
            .features
            .map_or_else(String::new, |count| format!(", {}", counted(count, "feature")));
        let support = layer
            .support_m
            .map_or_else(String::new, |side| format!(", shows {side:.1} m"));
        writeln!(
            out,
            "  {}: {} ({}{resampling}{features}{support})",
            layer.name, layer.path, layer.kind
        )?;
        let way = &layer.transform;
        let accuracy = way
            .accuracy_m
            .map_or_else(String::new, |metres| format!(", to {metres} m"));
        let ballpark = if way.ballpark { ", ballpark only" } else { "" };
        if way.same {
            write!(out, "    in the grid's CRS")?;
        } else {
            write!(out, "    from {}{accuracy}{ballpark}", way.from)?;
        }
        match layer.covers {
            Some(share) => writeln!(out, "; covers {:.0} % of the area's extent", share * 100.0)?,
            None => writeln!(out)?,
        }
        for note in &layer.notes {
            writeln!(out, "    {note}")?;
        }
    }
    if !survey.computed_from.is_empty() {
        writeln!(out, "\nroad salt")?;
        for line in &survey.computed_from {
            writeln!(out, "  {line}")?;
        }
    }
    Ok(())
}
