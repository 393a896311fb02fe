//! What is recorded of the files a run read: size, time and checksum.

use std::fmt::Write;
use std::fs::{self, File};
use std::io::Read;
use std::path::Path;

use serde::Serialize;
use sha2::{Digest, Sha256};

use super::OutputError;
use super::date::{seconds_since_1970, utc_text};

/// An input of the run and the files it consists of.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct InputRecord {
    /// What it is to the project: `layer soil`, `catalogue`, `boundary`.
    pub role: String,
    /// The path as the project writes it.
    pub path: String,
    /// Its files; several for a shapefile or a folder of tiles.
    pub files: Vec<FileFacts>,
}

/// One file as it was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FileFacts {
    /// The path, beginning as the project writes it.
    pub path: String,
    /// Its size; nothing for what is no file of this disk, such as a /vsi path.
    pub bytes: Option<u64>,
    /// When it was last changed, as UTC.
    pub modified: Option<String>,
    /// The same, in seconds since 1970.
    #[serde(skip)]
    pub modified_s: Option<i64>,
    /// Its SHA-256 checksum in hexadecimal digits.
    pub sha256: Option<String>,
}

impl FileFacts {
    /// Size, time and checksum of a file, read piece by piece. A time after `latest`
    /// (from `SOURCE_DATE_EPOCH`) is told as `latest`.
    ///
    /// # Missing
    /// A path that begins with `/vsi` gives a record without size, time and checksum.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn read(path: &Path, as_written: &str, latest: Option<i64>) -> Result<FileFacts, OutputError> {
        if path.to_string_lossy().starts_with("/vsi") {
            return Ok(FileFacts {
                path: as_written.to_owned(),
                bytes: None,
                modified: None,
                modified_s: None,
                sha256: None,
            });
        }
        let facts = fs::metadata(path).map_err(OutputError::read(path))?;
        let modified = facts.modified().map_err(OutputError::read(path))?;
        let seconds = seconds_since_1970(modified);
        let seconds = latest.map_or(seconds, |latest| seconds.min(latest));
        Ok(FileFacts {
            path: as_written.to_owned(),
            bytes: Some(facts.len()),
            modified: Some(utc_text(seconds)),
            modified_s: Some(seconds),
            sha256: Some(sha256(path)?),
        })
    }
}

/// The SHA-256 checksum of a file in hexadecimal digits.
pub(super) fn sha256(path: &Path) -> Result<String, OutputError> {
    let mut file = File::open(path).map_err(OutputError::read(path))?;
    let mut hasher = Sha256::new();
    let mut piece = vec![0; 1 << 20];
    loop {
        match file.read(&mut piece) {
            Ok(0) => break,
            Ok(read) => hasher.update(&piece[..read]),
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
            Err(error) => return Err(OutputError::read(path)(error)),
        }
    }
    let mut digits = String::new();
    for byte in hasher.finalize() {
        // Writing to a text cannot fail.
        let _ = write!(digits, "{byte:02x}");
    }
    Ok(digits)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The checksum of "abc": FIPS 180-2, appendix B.1.
    #[test]
    fn size_and_checksum_are_those_of_the_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("soil.csv");
        fs::write(&path, "abc").unwrap();
        let facts = FileFacts::read(&path, "layers/soil.csv", Some(86_400)).unwrap();
        assert_eq!(facts.path, "layers/soil.csv");
        assert_eq!(facts.bytes, Some(3));
        assert_eq!(facts.modified.as_deref(), Some("1970-01-02T00:00:00Z"));
        assert_eq!(
            facts.sha256.as_deref(),
            Some("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")
        );
        let error = FileFacts::read(&folder.path().join("none"), "none", None).unwrap_err();
        assert!(error.to_string().starts_with("could not read "), "{error}");
        let elsewhere = FileFacts::read(Path::new("/vsizip/soil.zip"), "/vsizip/soil.zip", None).unwrap();
        assert_eq!(elsewhere.sha256, None);
    }
}
