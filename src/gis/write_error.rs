//! Why a file could not be written or is not what was written.

use std::path::{Path, PathBuf};

use thiserror::Error;

/// Why a file could not be written through GDAL, or cannot be read back.
#[derive(Debug, Error, PartialEq)]
pub enum WriteError {
    /// GDAL refused or failed: a full disk, a folder without the right to write.
    #[error("could not write {}: {step}: {reason}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What was being done.
        step: String,
        /// What GDAL says.
        reason: String,
    },
    /// The finished file cannot be opened or read.
    #[error("{} was written but cannot be read back: {reason}", path.display())]
    ReadBack {
        /// The file.
        path: PathBuf,
        /// What GDAL says.
        reason: String,
    },
    /// A block does not have the shape it should have.
    #[error("{}: a block of {found} values came for band {band}, {needed} were needed", path.display())]
    Block {
        /// The file.
        path: PathBuf,
        /// The band, from 1.
        band: usize,
        /// Number of values that came.
        found: usize,
        /// Number of values needed.
        needed: usize,
    },
    /// A file with no band at all.
    #[error("{}: a file of ratings needs at least one species, none was given", path.display())]
    NoBands {
        /// The file.
        path: PathBuf,
    },
}

impl WriteError {
    pub(super) fn write(path: &Path, step: impl Into<String>) -> impl FnOnce(String) -> WriteError {
        let (path, step) = (path.to_owned(), step.into());
        move |reason| WriteError::Write { path, step, reason }
    }

    pub(super) fn read_back(path: &Path) -> impl FnOnce(String) -> WriteError {
        let path = path.to_owned();
        move |reason| WriteError::ReadBack { path, reason }
    }
}
