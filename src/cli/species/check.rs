//! `groundfit species check`: every problem of a catalogue's files.

use std::io::Write;

use clap::Args;
use serde::Serialize;

use super::{Opened, Outcome, Place, SpeciesCommandError, outcome, write_json};
use crate::plural::counted;
use crate::species::{Contradiction, Problem, contradictions};

/// Every problem of the catalogue's files; exit code 1 when one is an error.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  groundfit species check --catalogue my-catalogue
  groundfit species check --project site.toml --json")]
pub(super) struct CheckArgs {
    #[command(flatten)]
    pub(super) place: Place,
}

#[derive(Serialize)]
struct Checked<'a> {
    species: usize,
    responses: usize,
    sources: usize,
    errors: usize,
    warnings: usize,
    problems: &'a [Problem],
    contradictions: Vec<Contradiction>,
}

pub(super) fn check(
    args: &CheckArgs,
    opened: &Opened,
    out: &mut dyn Write,
) -> Result<Outcome, SpeciesCommandError> {
    let (catalogue, problems) = (&opened.catalogue, &opened.problems);
    let errors = opened.errors();
    let found = Checked {
        species: catalogue.species.len(),
        responses: catalogue
            .species
            .iter()
            .map(|species| species.opinions.len())
            .sum(),
        sources: catalogue.sources.len(),
        errors,
        warnings: problems.len() - errors,
        problems,
        contradictions: contradictions(catalogue),
    };
    if args.place.json {
        write_json(&found, out)?;
        return Ok(outcome(problems));
    }
    for problem in problems {
        writeln!(out, "{}: {problem}", problem.severity)?;
    }
    if !problems.is_empty() {
        writeln!(out)?;
    }
    writeln!(
        out,
        "{} species, {}, {}: {}, {}",
        found.species,
        counted(found.responses, "response"),
        counted(found.sources, "source"),
        counted(errors, "error"),
        counted(found.warnings, "warning")
    )?;
    let resolved = found.contradictions.iter().filter(|pair| pair.resolved).count();
    if resolved > 0 {
        let pairs = counted(resolved, "contradiction");
        writeln!(out, "{pairs} between sources, resolved or marked as disputed")?;
    }
    Ok(outcome(problems))
}
