//! What can go wrong when results are written.

use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use crate::gis::WriteError;

/// Why results are not, or not wholly, in their folder.
#[derive(Debug, Error)]
pub enum OutputError {
    /// A file or folder cannot be written: a full disk, no right to write.
    #[error("could not write {}: {reason}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system says.
        reason: String,
    },
    /// A file cannot be read.
    #[error("could not read {}: {reason}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system says.
        reason: String,
    },
    /// A file cannot be written or read back through GDAL.
    #[error(transparent)]
    Gis(#[from] WriteError),
    /// Zones and outlines do not fit each other.
    #[error("the zones cannot be written: {}", problems.join("; "))]
    Zones {
        /// Every problem found.
        problems: Vec<String>,
    },
    /// A finished file does not hold what was written to it.
    #[error("{} was written but holds {found} instead of {needed}", path.display())]
    NotAsWritten {
        /// The file.
        path: PathBuf,
        /// What stands in it.
        found: String,
        /// What was written.
        needed: String,
    },
    /// The output folder is there already.
    #[error(
        "the output folder {} exists already; name another folder, or ask for it to be overwritten",
        path.display()
    )]
    Exists {
        /// The folder.
        path: PathBuf,
    },
    /// The output path is a file, not a folder.
    #[error("the output folder {} is a file; a folder is needed", path.display())]
    NotAFolder {
        /// The path.
        path: PathBuf,
    },
    /// A folder that is in the way holds what no run of this program wrote there.
    #[error(
        "{} is not removed, because it holds files that this program did not write there: {}; move them away or name another folder",
        path.display(), files.join(", ")
    )]
    NotOurs {
        /// The folder.
        path: PathBuf,
        /// The names of the files, the first few.
        files: Vec<String>,
    },
    /// Another run writes to the same folder.
    #[error("another run is writing to {}; wait for it or name another folder", path.display())]
    Busy {
        /// The partial folder.
        path: PathBuf,
    },
    /// The disk has not enough room.
    #[error(
        "the disk of {} has {} MB free, about {} MB are needed",
        path.display(), free_bytes / 1_000_000, needed_bytes.div_ceil(1_000_000)
    )]
    NoRoom {
        /// The folder.
        path: PathBuf,
        /// Free bytes.
        free_bytes: u64,
        /// Bytes the results are expected to take.
        needed_bytes: u64,
    },
    /// `SOURCE_DATE_EPOCH` is no date.
    #[error("SOURCE_DATE_EPOCH is {found:?}; a whole number of seconds since 1970 is needed")]
    SourceDate {
        /// The value.
        found: String,
    },
}

impl OutputError {
    /// Turns a system's error into one that names the file being written.
    pub fn write(path: &Path) -> impl FnOnce(io::Error) -> OutputError {
        let path = path.to_owned();
        move |error| OutputError::Write {
            path,
            reason: error.to_string(),
        }
    }

    /// Turns a system's error into one that names the file being read.
    pub fn read(path: &Path) -> impl FnOnce(io::Error) -> OutputError {
        let path = path.to_owned();
        move |error| OutputError::Read {
            path,
            reason: error.to_string(),
        }
    }
}
