//! What can go wrong in a run: one transparent variant for each stage's error, the
//! exit code it gives, and the next step to try.

use std::path::PathBuf;

use thiserror::Error;

use crate::gis::GisError;
use crate::output::OutputError;
use crate::project::ProjectError;
use crate::range::RangeError;
use crate::rating::RatingError;
use crate::report::ReportError;
use crate::site::SiteError;
use crate::species::{Problem, SpeciesError};
use crate::zones::ZonesError;
use crate::zones::outlines::{GeographicError, OutlineError};

/// Why a command did not do what it was asked.
#[derive(Debug, Error)]
pub enum Error {
    /// The project file.
    #[error(transparent)]
    Project(#[from] ProjectError),
    /// The layers.
    #[error(transparent)]
    Site(#[from] SiteError),
    /// The catalogue's files.
    #[error(transparent)]
    Species(#[from] SpeciesError),
    /// Problems in the catalogue.
    #[error("{}", told(problems))]
    Catalogue {
        /// Errors and warnings.
        problems: Vec<Problem>,
    },
    /// Nothing to rate.
    #[error("{} has no species: at least one is needed", path.display())]
    NoSpecies {
        /// The species file.
        path: PathBuf,
    },
    /// Where species are documented.
    #[error(transparent)]
    Range(#[from] RangeError),
    /// The rating.
    #[error(transparent)]
    Rating(#[from] RatingError),
    /// Regions and zones.
    #[error(transparent)]
    Zones(#[from] ZonesError),
    /// Outlines.
    #[error(transparent)]
    Outlines(#[from] OutlineError),
    /// Outlines in longitude and latitude.
    #[error(transparent)]
    Geographic(#[from] GeographicError<GisError>),
    /// Coordinates.
    #[error(transparent)]
    Gis(#[from] GisError),
    /// Files.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// The page.
    #[error(transparent)]
    Report(#[from] ReportError),
    /// Stored merges that do not say where zones lie.
    #[error("the stored merges do not say where the zones lie, which is needed to draw them")]
    NoRows,
    /// A stored output of something else.
    #[error("{} does not belong to this project as it is now: {reason}", path.display())]
    OtherProject {
        /// The stored output.
        path: PathBuf,
        /// What differs.
        reason: String,
    },
    /// A grid too large for the memory that is free.
    #[error(
        "a grid of {rows} rows x {cols} columns needs about {needed_mb} MB of memory, and {free_mb} MB are free: a `cell_m` of {fits_m:.2} m or more would fit, or an area in parts"
    )]
    TooLittleMemory {
        /// Rows of the grid.
        rows: usize,
        /// Columns of the grid.
        cols: usize,
        /// Memory needed for the grid alone.
        needed_mb: u64,
        /// Memory that is free.
        free_mb: u64,
        /// Side of a cell that would fit, in metres.
        fits_m: f64,
    },
    /// A place outside the grid.
    #[error(
        "{place} lies outside the area's grid, which covers x {west:.0} to {east:.0} and y {south:.0} to {north:.0} in {crs}"
    )]
    OutsideGrid {
        /// The place as asked for.
        place: String,
        /// West edge of the grid.
        west: f64,
        /// East edge.
        east: f64,
        /// South edge.
        south: f64,
        /// North edge.
        north: f64,
        /// The grid's CRS.
        crs: String,
    },
    /// No species of that name.
    #[error("no species is called \"{asked}\"{near}")]
    NoSuchSpecies {
        /// The name asked for.
        asked: String,
        /// The nearest names.
        near: String,
    },
    /// Interrupted by the user.
    #[error("interrupted: nothing was written")]
    Interrupted,
}

fn told(problems: &[Problem]) -> String {
    let errors = problems.iter().filter(|problem| problem.is_error());
    let lines: Vec<String> = errors.map(ToString::to_string).collect();
    lines.join("\n")
}

impl Error {
    /// The program's exit code: 1 for problems in the input, 2 for wrong usage, 3 for
    /// a file that could not be read or written.
    #[must_use]
    pub fn exit_code(&self) -> u8 {
        match self {
            Error::Project(ProjectError::Unreadable { .. })
            | Error::Site(SiteError::Read { .. })
            | Error::Species(_)
            | Error::Output(_)
            | Error::Report(_)
            | Error::Gis(_) => 3,
            Error::OutsideGrid { .. } | Error::NoSuchSpecies { .. } => 2,
            // What the shell gives for an interrupt.
            Error::Interrupted => 130,
            _ => 1,
        }
    }

    /// The next step to try, where there is one to name.
    #[must_use]
    pub fn advice(&self) -> Option<&'static str> {
        match self {
            Error::Project(ProjectError::Unreadable { .. }) => {
                Some("check the path; `groundfit new FOLDER` writes a project file that explains every key")
            }
            Error::Project(_) => Some(
                "mend the lines above; `groundfit new FOLDER` writes a project file that explains every key",
            ),
            Error::Site(SiteError::Problems { .. }) => {
                Some("mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run")
            }
            Error::Site(SiteError::Read { .. }) => {
                Some("the file may be cut short or damaged: fetch it again")
            }
            Error::Species(SpeciesError::NoRegion { .. } | SpeciesError::NoWetlandRegion { .. }) => {
                Some("mend the project file; the README tells all keys")
            }
            Error::Species(_) | Error::Catalogue { .. } => {
                Some("mend the catalogue; `groundfit species check` tells all problems with line and column")
            }
            Error::Zones(ZonesError::TooFewZones { .. }) => {
                Some("ask for a larger number, or run `groundfit map` again with a smaller `keep`")
            }
            Error::OtherProject { .. } => Some("run `groundfit map` again"),
            Error::Output(OutputError::Exists { .. }) => {
                Some("`--overwrite` replaces it, `--output FOLDER` leaves it")
            }
            Error::NoSuchSpecies { .. } => Some("`groundfit species list` names all of them"),
            _ => None,
        }
    }
}
