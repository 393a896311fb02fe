//! `groundfit species check`: every problem of a catalogue's files.

use std::io::Write;

use clap::Args;
use serde::Serialize;

use super::{Opened, Outcome, Place, SpeciesCommandError, counted, outcome, write_json};
use crate::species::{Contradiction, Problem, all_contradictions};

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
    contradictions: Vec<Told<'a>>,
}

/// A contradiction and whose it is.
#[derive(Serialize)]
struct Told<'a> {
    species: &'a str,
    #[serde(flatten)]
    found: Contradiction,
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
        contradictions: all_contradictions(&catalogue.species)
            .into_iter()
            .map(|(place, found)| Told {
                species: &catalogue.species[place].id,
                found,
            })
            .collect(),
    };
    if args.place.json {
        write_json(&found, out)?;
        return Ok(outcome(problems));
    }
    for problem in problems {
        writeln!(out, "{}: {problem}", problem.severity)?;
    }
    let open: Vec<&Told<'_>> = found
        .contradictions
        .iter()
        .filter(|told| !told.found.settled)
        .collect();
    for told in &open {
        let (species, text) = (told.species, &told.found.text);
        writeln!(
            out,
            "warning: {species}: {text}; mark one of them as disputed, and say which is used and why"
        )?;
    }
    if !problems.is_empty() || !open.is_empty() {
        writeln!(out)?;
    }
    writeln!(
        out,
        "{} species, {}, {}: {}, {}",
        found.species,
        counted(found.responses, "response"),
        counted(found.sources, "source"),
        counted(errors, "error"),
        counted(found.warnings + open.len(), "warning")
    )?;
    let settled = found.contradictions.len() - open.len();
    if settled > 0 {
        writeln!(
            out,
            "{} in recorded values marked as disputed, with what is used and why",
            counted(settled, "contradiction")
        )?;
    }
    Ok(outcome(problems))
}
