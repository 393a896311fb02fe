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
}
