//! The command line: one file a command, and the only place that prints. Options
//! are parsed once into structs; what a command does stands in `run`.

pub mod check;
pub mod map;
pub mod new;
mod screen;
pub mod species;
pub mod why;
pub mod zones;

use std::io::{self, Write};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use rayon::ThreadPoolBuilder;

use crate::error::Error;
use crate::gis;
use crate::run::Stop;

/// Memory for GDAL's cache of raster blocks.
const CACHE_MB: usize = 32;

/// Which plants will live where: rates every cell of a site for every species of a
/// catalogue and draws zones with their species lists.
#[derive(Debug, Parser)]
#[command(
    name = "groundfit",
    version,
    after_help = "Examples:
  groundfit new my-site                         write a commented project file
  groundfit check my-site/project.toml          look at the layers, write nothing
  groundfit map my-site/project.toml            rate the site and write the zones
  groundfit why my-site/project.toml 481200 4981350
  groundfit zones my-site/project.toml --number 12 --output fewer
  groundfit species list --project my-site/project.toml

A desk screening from mapped data: check soil and site by hand, have buried lines located before any
digging, and leave traffic, sight distance and permits to those responsible."
)]
pub struct Cli {
    #[command(subcommand)]
    command: Command,
    /// Threads to use; all cores unless given
    #[arg(long, global = true, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
    /// Tell only results and errors
    #[arg(long, short, global = true)]
    quiet: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Rate a site and write its zones
    Map(map::MapCommand),
    /// Look at project, layers and catalogue without a run; write nothing
    Check(check::CheckCommand),
    /// Explain how each species fares at one place
    Why(why::WhyCommand),
    /// Cut another number of zones from a finished output, without a new run
    Zones(zones::ZonesCommand),
    Species(species::SpeciesCommand),
    New(new::NewCommand),
}

/// Set by Ctrl-C; a run stops at the next block and leaves nothing behind.
static STOP: Stop = Stop::new();

/// Parses the command line, does what it says, and tells how it ended: 0 done, 1
/// problems in the input, 2 wrong usage, 3 a file could not be read or written.
#[must_use]
pub fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            let code = if error.use_stderr() { 2 } else { 0 };
            // Nothing can be told where even the terminal cannot be written to.
            let _ = error.print();
            return ExitCode::from(code);
        }
    };
    gis::start(CACHE_MB);
    // Without these the program does the same on all cores and without Ctrl-C's care.
    let _ = ctrlc::set_handler(|| STOP.ask());
    let threads = cli.threads.map_or(0, usize::from);
    let _ = ThreadPoolBuilder::new().num_threads(threads).build_global();
    let mut out = io::stdout().lock();
    let done = cli.run(&mut out).and_then(|code| {
        out.flush()?;
        Ok(code)
    });
    match done {
        Ok(code) => ExitCode::from(code),
        // Whoever reads the output has seen enough.
        Err(failure) if failure.is_broken_pipe() => ExitCode::SUCCESS,
        Err(failure) => screen::tell_failure(&failure),
    }
}

impl Cli {
    fn run(&self, out: &mut dyn Write) -> Result<u8, Failure> {
        let screen = screen::Screen::new(self.quiet);
        match &self.command {
            Command::Map(command) => map::run(command, &screen, &STOP, out),
            Command::Check(command) => check::run(command, out),
            Command::Why(command) => why::run(command, out),
            Command::Zones(command) => zones::run(command, &screen, &STOP, out),
            Command::Species(command) => Ok(match species::run(command, out)? {
                species::Outcome::Done => 0,
                species::Outcome::Problems => 1,
            }),
            Command::New(command) => {
                new::run(command, out)?;
                Ok(0)
            }
        }
    }
}

/// Why a command did not end well.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// A run.
    #[error(transparent)]
    Run(#[from] Error),
    /// The catalogue commands.
    #[error(transparent)]
    Species(#[from] species::SpeciesCommandError),
    /// The starter project.
    #[error(transparent)]
    New(#[from] new::NewError),
    /// What was done could not be told.
    #[error("the result could not be printed: {0}")]
    Told(#[from] io::Error),
    /// JSON could not be made.
    #[error("the result could not be printed as JSON: {0}")]
    Json(#[from] serde_json::Error),
}

impl From<crate::project::ProjectError> for Failure {
    fn from(error: crate::project::ProjectError) -> Failure {
        Failure::Run(Error::from(error))
    }
}

impl Failure {
    fn exit_code(&self) -> u8 {
        match self {
            Failure::Run(error) => error.exit_code(),
            Failure::Species(error) => error.exit_code(),
            Failure::New(_) | Failure::Told(_) | Failure::Json(_) => 3,
        }
    }

    fn is_broken_pipe(&self) -> bool {
        let kind = match self {
            Failure::Told(error) => Some(error.kind()),
            Failure::Json(error) => error.io_error_kind(),
            Failure::Species(error) => error.io_error_kind(),
            _ => None,
        };
        kind == Some(io::ErrorKind::BrokenPipe)
    }

    fn advice(&self) -> Option<&'static str> {
        match self {
            Failure::Run(error) => error.advice(),
            _ => None,
        }
    }
}
