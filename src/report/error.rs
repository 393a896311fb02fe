//! What can go wrong with the page.

use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

/// Why the page could not be written.
#[derive(Debug, Error)]
pub enum ReportError {
    /// The file cannot be written.
    #[error("{path} cannot be written", path = .path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

impl ReportError {
    /// Wraps what the system says of a file.
    pub(super) fn write(path: &Path) -> impl FnOnce(io::Error) -> ReportError + '_ {
        move |source| ReportError::Write {
            path: path.to_owned(),
            source,
        }
    }
}
