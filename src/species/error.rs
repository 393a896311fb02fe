//! What keeps a catalogue from being read at all. Faults in what a readable
//! file says are problems, not errors of this kind.

use thiserror::Error;

/// Why there is no catalogue.
#[derive(Debug, Error)]
pub enum SpeciesError {
    /// One or more of its files could not be read; each with the system's reason.
    #[error("cannot read the catalogue: {}", .files.join("; "))]
    Unreadable {
        /// `path: reason` for each file.
        files: Vec<String>,
    },
    /// A flora region of which the catalogue has no list.
    #[error(
        "catalogue.region: the catalogue has no list of the flora region `{region}`, needed one of {}",
        .known.join(", ")
    )]
    NoRegion {
        /// The region asked for.
        region: String,
        /// Those there are.
        known: Vec<String>,
    },
    /// A wetland region of which the catalogue has no status.
    #[error(
        "catalogue.rules.wetland_region: found `{region}`, needed one of {}",
        .known.join(", ")
    )]
    NoWetlandRegion {
        /// The region asked for.
        region: String,
        /// Those there are.
        known: Vec<&'static str>,
    },
}
