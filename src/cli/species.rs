//! `groundfit species`: lists, shows and compares the species of a catalogue, tells
//! where they stand, checks the files and writes them out. A catalogue and the factors
//! come in; text, JSON or a catalogue's files go out. Knows no layer.

mod bars;
mod check;
mod columns;
mod compare;
mod comparison;
mod coverage;
mod curve_plot;
mod export;
mod export_readme;
mod filters;
mod import;
mod light_table;
mod list;
mod opened;
mod opinion_text;
mod profile_json;
mod rule_page;
mod show;
mod source_numbers;
mod stands;
mod stood_span;
mod trait_query;
mod trait_test;
mod trait_values;
mod wrapping;

use std::fmt;
use std::io::{self, Write};
use std::path::PathBuf;

use clap::{Args, Subcommand};
use serde::Serialize;
use thiserror::Error;

pub use opened::CatalogueInput;
use opened::{Opened, Place, Reading};

use crate::output::OutputError;
use crate::plural::counted;
use crate::project::ProjectError;
use crate::species::{Problem, SpeciesError};

/// List, show, compare and check the species of a catalogue.
#[derive(Debug, Args)]
#[command(
    after_help = "Without --catalogue or --project these look at the starter catalogue.

Examples:
  groundfit species list --form grass --where 'height_m < 1' --where 'bloom_months > June' --stands moisture=dry
  groundfit species show 'swamp milkweed'
  groundfit species compare 'red maple' 'sugar maple'
  groundfit species table --form shrub
  groundfit species export my-catalogue
  groundfit species check --project site.toml"
)]
pub struct SpeciesCommand {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    #[command(flatten)]
    Look(Look),
    Import(import::ImportArgs),
}

/// What looks at a catalogue that is there.
#[derive(Debug, Subcommand)]
enum Look {
    List(list::ListArgs),
    Show(show::ShowArgs),
    Compare(compare::CompareArgs),
    Table(light_table::TableArgs),
    Coverage(coverage::CoverageArgs),
    Check(check::CheckArgs),
    Export(export::ExportArgs),
    Rules(rule_page::RulesArgs),
}

impl Look {
    fn place(&self) -> &Place {
        match self {
            Look::List(args) => &args.place,
            Look::Show(args) => &args.place,
            Look::Compare(args) => &args.place,
            Look::Table(args) => &args.place,
            Look::Coverage(args) => &args.place,
            Look::Check(args) => &args.place,
            Look::Export(args) => &args.place,
            Look::Rules(args) => &args.place,
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
    /// A catalogue with errors, which is not written out.
    #[error("the catalogue has {}, needed one without: nothing was written; `species check` tells them all", counted(*errors, "error"))]
    Faulty {
        /// How many.
        errors: usize,
    },
    /// Files that are there already.
    #[error("found {} in {} already: nothing was written; --overwrite replaces them", files.join(", "), folder.display())]
    Exists {
        /// Where.
        folder: PathBuf,
        /// Their names.
        files: Vec<String>,
    },
    /// A file or folder that cannot be written.
    #[error("{} could not be written", path.display())]
    Unwritable {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
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

impl SpeciesCommandError {
    /// 2 for wrong usage, 3 for a file that cannot be written, 1 for the input.
    pub(super) fn exit_code(&self) -> u8 {
        match self {
            SpeciesCommandError::NoSpecies { .. } | SpeciesCommandError::Filter { .. } => 2,
            SpeciesCommandError::Exists { .. } | SpeciesCommandError::Unwritable { .. } => 3,
            _ => 1,
        }
    }

    /// What the system said of the output, where that is what failed.
    pub(super) fn io_error_kind(&self) -> Option<io::ErrorKind> {
        match self {
            SpeciesCommandError::Write(error) => Some(error.kind()),
            SpeciesCommandError::Json(error) => error.io_error_kind(),
            _ => None,
        }
    }
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
    let look = match &command.action {
        Action::Import(args) => return import::run(args, out),
        Action::Look(look) => look,
    };
    let place = look.place();
    let opened = Opened::at(place)?;
    match look {
        Look::List(args) => list::list(args, &opened, out)?,
        Look::Show(args) => show::show(args, &opened, out)?,
        Look::Compare(args) => compare::compare(args, &opened, out)?,
        Look::Table(args) => light_table::table(args, &opened, out)?,
        Look::Coverage(args) => coverage::coverage(args, &opened, out)?,
        Look::Check(args) => return check::check(args, &opened, out),
        Look::Export(args) => export::export(args, &opened, out)?,
        Look::Rules(args) => rule_page::rules(args, &opened, out)?,
    }
    let errors = opened.errors();
    if errors > 0 && !place.json {
        writeln!(out)?;
        writeln!(
            out,
            "The catalogue has {}; what they touch is left out here. `species check` tells them all.",
            counted(errors, "error")
        )?;
    }
    Ok(outcome(&opened.problems))
}

fn outcome(problems: &[Problem]) -> Outcome {
    if problems.iter().any(Problem::is_error) {
        Outcome::Problems
    } else {
        Outcome::Done
    }
}

fn write_json(value: &impl Serialize, out: &mut dyn Write) -> Result<(), SpeciesCommandError> {
    serde_json::to_writer_pretty(&mut *out, value)?;
    writeln!(out)?;
    Ok(())
}

/// Wrong usage: what was found and what is needed.
fn refused(fault: String) -> SpeciesCommandError {
    SpeciesCommandError::Filter { fault }
}

#[cfg(test)]
mod export_tests;
#[cfg(test)]
mod starter_tests;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod where_tests;
