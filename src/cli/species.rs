//! `groundfit species`: lists a catalogue, shows a profile, checks the files.
//! A catalogue and the factors come in; text or JSON goes out. Knows no layer.

mod import;
mod list;
mod show;

use std::fmt;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use serde::Serialize;
use thiserror::Error;

use crate::factor::Factor;
use crate::output::OutputError;
use crate::project::{CatalogueFiles, CatalogueSection, Project, ProjectError};
use crate::species::{Catalogue, CataloguePaths, Problem, SpeciesError, contradictions};

/// List the species of a catalogue, show their profiles, check its files.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  groundfit species list --catalogue sample-data/catalogue --form shrub
  groundfit species list --catalogue sample-data/catalogue --stands drainage='poorly drained' --stands canopy=60
  groundfit species show 'swamp milkweed' --catalogue sample-data/catalogue
  groundfit species check --project site.toml")]
pub struct SpeciesCommand {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    /// One line a species.
    List(list::ListArgs),
    /// Names, traits and responses of one species, with numbered sources.
    Show(show::ShowArgs),
    /// Every problem of the catalogue's files; exit code 1 when one is an error.
    Check(Place),
    /// A catalogue from a table of your own, one row a species, by a mapping of its columns.
    Import(import::ImportArgs),
}

/// Where the catalogue is.
#[derive(Debug, Args)]
struct Place {
    /// Folder with species.csv, tolerances.csv and sources.csv; the starter catalogue if not given
    #[arg(long, value_name = "FOLDER", conflicts_with = "project")]
    catalogue: Option<PathBuf>,
    /// Project file that names the catalogue and any factors of its own
    #[arg(long, value_name = "FILE")]
    project: Option<PathBuf>,
    /// Write JSON for programs
    #[arg(long)]
    json: bool,
}

/// The files of a catalogue and the factors that it may speak of.
#[derive(Debug, Clone)]
pub struct CatalogueInput {
    /// Where the species stand.
    pub section: CatalogueSection,
    /// The standard factors and those a project adds.
    pub factors: Vec<Factor>,
}

impl CatalogueInput {
    /// The catalogue in a folder, read against the standard factors.
    #[must_use]
    pub fn in_folder(folder: &Path) -> CatalogueInput {
        let paths = CataloguePaths::in_folder(folder);
        CatalogueInput {
            section: CatalogueSection {
                own: Some(CatalogueFiles {
                    species: paths.species,
                    traits: paths.traits,
                    tolerances: paths.tolerances,
                    sources: paths.sources,
                }),
                starter: false,
                ..CatalogueSection::default()
            },
            factors: Factor::standard_ids().filter_map(Factor::standard).collect(),
        }
    }

    /// The starter catalogue, with what the rules derive.
    #[must_use]
    pub fn starter() -> CatalogueInput {
        CatalogueInput {
            section: CatalogueSection::default(),
            factors: Factor::standard_ids().filter_map(Factor::standard).collect(),
        }
    }

    /// The catalogue that a project names, with its factors as the project has
    /// them and the standard ones that it does not name.
    #[must_use]
    pub fn of_project(project: &Project) -> CatalogueInput {
        CatalogueInput {
            section: project.catalogue.clone(),
            factors: project.known_factors(),
        }
    }
}

/// How a command ended that did its work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Nothing to mend; exit code 0.
    Done,
    /// The catalogue has errors; exit code 1.
    Problems,
}

/// Why the command could not do its work.
#[derive(Debug, Error)]
pub enum SpeciesCommandError {
    /// The catalogue cannot be read at all.
    #[error(transparent)]
    Catalogue(#[from] SpeciesError),
    /// The project that should name it cannot be used.
    #[error(transparent)]
    Project(#[from] ProjectError),
    /// No species of that name.
    #[error("there is no species `{name}` in the catalogue{}", Near(near))]
    NoSpecies {
        /// The name asked for.
        name: String,
        /// Ids of the species most like it.
        near: Vec<String>,
    },
    /// A filter that says nothing.
    #[error("{fault}")]
    Filter {
        /// What was found and what is needed.
        fault: String,
    },
    /// A folder that was to be written could not.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// The text could not be written.
    #[error("cannot write")]
    Write(#[from] io::Error),
    /// The JSON could not be written.
    #[error("cannot write JSON")]
    Json(#[from] serde_json::Error),
}

/// The names that a person may have meant.
struct Near<'a>(&'a [String]);

impl fmt::Display for Near<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            [] => f.write_str("; `species list` shows all"),
            near => write!(f, "; did you mean {}?", near.join(", ")),
        }
    }
}

/// Runs the command.
///
/// # Errors
/// A catalogue or project that cannot be read, a name that is not there, a
/// filter that says nothing, output that cannot be written. Faults in the
/// catalogue's files are no error but an [`Outcome`].
pub fn run(command: &SpeciesCommand, out: &mut dyn Write) -> Result<Outcome, SpeciesCommandError> {
    let place = match &command.action {
        Action::List(args) => &args.place,
        Action::Show(args) => &args.place,
        Action::Check(place) => place,
        Action::Import(args) => return import::run(args, out),
    };
    let input = match (&place.project, &place.catalogue) {
        (Some(path), _) => CatalogueInput::of_project(&Project::read(path)?),
        (None, Some(folder)) => CatalogueInput::in_folder(folder),
        (None, None) => CatalogueInput::starter(),
    };
    let (catalogue, problems) = Catalogue::open(&input.section, &input.factors)?;
    match &command.action {
        Action::List(args) => list::list(args, &catalogue, &input.factors, out)?,
        Action::Show(args) => show::show(args, &catalogue, &input.factors, out)?,
        Action::Check(_) | Action::Import(_) => return check(&catalogue, &problems, place.json, out),
    }
    let errors = problems.iter().filter(|problem| problem.is_error()).count();
    if errors > 0 && !place.json {
        writeln!(out)?;
        writeln!(
            out,
            "The catalogue has {}; what they touch is left out here. `species check` tells them all.",
            counted(errors, "error")
        )?;
    }
    Ok(outcome(&problems))
}

fn outcome(problems: &[Problem]) -> Outcome {
    if problems.iter().any(Problem::is_error) {
        Outcome::Problems
    } else {
        Outcome::Done
    }
}

#[derive(Serialize)]
struct Checked<'a> {
    species: usize,
    responses: usize,
    sources: usize,
    errors: usize,
    warnings: usize,
    contradictions_resolved: usize,
    problems: &'a [Problem],
}

fn check(
    catalogue: &Catalogue,
    problems: &[Problem],
    json: bool,
    out: &mut dyn Write,
) -> Result<Outcome, SpeciesCommandError> {
    let errors = problems.iter().filter(|problem| problem.is_error()).count();
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
        contradictions_resolved: contradictions(catalogue)
            .iter()
            .filter(|pair| pair.resolved)
            .count(),
        problems,
    };
    if json {
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
    if found.contradictions_resolved > 0 {
        let pairs = counted(found.contradictions_resolved, "contradiction");
        writeln!(out, "{pairs} between sources, resolved or marked as disputed")?;
    }
    Ok(outcome(problems))
}

fn write_json(value: &impl Serialize, out: &mut dyn Write) -> Result<(), SpeciesCommandError> {
    serde_json::to_writer_pretty(&mut *out, value)?;
    writeln!(out)?;
    Ok(())
}

/// `1 error`, `2 errors`.
fn counted(count: usize, thing: &str) -> String {
    format!("{count} {thing}{}", if count == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests;
