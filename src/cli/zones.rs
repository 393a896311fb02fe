//! `groundfit zones`: another number of zones from a finished output.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use super::screen::Screen;
use super::{Failure, map};
use crate::project::Project;
use crate::run::{self, BLOCK_ROWS, Options, Stop};

/// Cut another number of zones from a finished output, without a new run.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  groundfit zones site.toml --number 12 --output fewer
  groundfit zones site.toml --number 40 --from out --output more --json

Merging ends where every further step would break the lists of a part (`keep`); a smaller number than that
is refused, and the least possible one is named.")]
pub struct ZonesCommand {
    /// The project file of the finished output
    project: PathBuf,
    /// Number of zones
    #[arg(long, short, value_parser = clap::value_parser!(u32).range(1..))]
    number: u32,
    /// The finished output, instead of the project's output folder
    #[arg(long, value_name = "FOLDER")]
    from: Option<PathBuf>,
    /// Folder for the files
    #[arg(long, short, value_name = "FOLDER")]
    output: PathBuf,
    /// Replace a finished output that is there
    #[arg(long)]
    overwrite: bool,
    /// Print the run record as JSON instead of the summary
    #[arg(long)]
    json: bool,
}

/// Runs the command.
///
/// # Errors
/// What stops a run.
pub fn run(command: &ZonesCommand, screen: &Screen, stop: &Stop, out: &mut dyn Write) -> Result<u8, Failure> {
    let project = Project::read(&command.project)?;
    let from = command
        .from
        .clone()
        .unwrap_or_else(|| project.outputs.folder.clone());
    let options = Options {
        folder: &command.output,
        overwrite: command.overwrite,
        block_rows: BLOCK_ROWS,
        progress: screen,
        stop,
    };
    let mapped = run::recut(&project, &from, command.number, &options)?;
    map::tell(&mapped, &project, command.json, screen, out)?;
    Ok(0)
}
