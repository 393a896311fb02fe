//! What earlier runs left at the place of the output, and what of it may be removed.

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs::{self, File};
use std::path::{Path, PathBuf};

use rustix::fs::{FlockOperation, flock};

use super::OutputError;
use crate::plural::counted;

/// Marks a partial folder as ours, and is locked as long as a run writes to it.
pub(super) const MARK: &str = ".groundfit-partial";
/// Names the other files of a finished folder.
pub(super) const RECORD: &str = "run.json";
/// What programs put beside a file when they open it.
const SIDECARS: [&str; 4] = ["-wal", "-shm", "-journal", ".aux.xml"];

/// The path beside the target with an ending to its name.
pub(super) fn beside(target: &Path, ending: &str) -> PathBuf {
    let mut name: OsString = target.file_name().unwrap_or_default().to_owned();
    name.push(ending);
    target.with_file_name(name)
}

/// Whether the target is free, or may be replaced.
pub(super) fn check_target(target: &Path, overwrite: bool) -> Result<(), OutputError> {
    if !target.exists() {
        return Ok(());
    }
    if !target.is_dir() {
        return Err(OutputError::NotAFolder {
            path: target.to_owned(),
        });
    }
    if names_in(target)?.is_empty() {
        return Ok(());
    }
    if overwrite {
        must_be_ours(target)
    } else {
        Err(OutputError::Exists {
            path: target.to_owned(),
        })
    }
}

/// A folder is removed only when it bears the mark of a partial one, or when its
/// record names every file in it.
fn must_be_ours(folder: &Path) -> Result<(), OutputError> {
    let names = names_in(folder)?;
    if names.contains(MARK) {
        return Ok(());
    }
    let recorded = recorded_names(folder);
    let ours = |name: &String| {
        let main = SIDECARS
            .iter()
            .find_map(|ending| name.strip_suffix(ending))
            .unwrap_or(name);
        recorded.contains(main)
    };
    let mut foreign: Vec<String> = names.iter().filter(|name| !ours(name)).cloned().collect();
    if foreign.is_empty() {
        return Ok(());
    }
    if foreign.len() > 5 {
        let more = foreign.len() - 5;
        foreign.truncate(5);
        foreign.push(format!("and {more} more"));
    }
    Err(OutputError::NotOurs {
        path: folder.to_owned(),
        files: foreign,
    })
}

/// The names a folder's `run.json` gives as written by its run; none when it has no
/// such record.
fn recorded_names(folder: &Path) -> BTreeSet<String> {
    let record: Option<serde_json::Value> = fs::read(folder.join(RECORD))
        .ok()
        .and_then(|text| serde_json::from_slice(&text).ok());
    let Some(record) = record.filter(|record| record["schema_version"].is_u64()) else {
        return BTreeSet::new();
    };
    let files = record["outputs"].as_array().into_iter().flatten();
    files
        .filter_map(|output| output["file"].as_str())
        .chain([RECORD])
        .map(str::to_owned)
        .collect()
}

/// Removes the partial folder of a run that was cut off and tells of it.
pub(super) fn remove_leftover(partial: &Path, told: &mut Vec<String>) -> Result<(), OutputError> {
    if !partial.exists() {
        return Ok(());
    }
    let names = names_in(partial)?;
    if let Ok(mark) = File::open(partial.join(MARK)) {
        flock(&mark, FlockOperation::NonBlockingLockExclusive).map_err(|_| OutputError::Busy {
            path: partial.to_owned(),
        })?;
    }
    must_be_ours(partial)?;
    fs::remove_dir_all(partial).map_err(OutputError::write(partial))?;
    told.push(format!(
        "removed {}, which a run that was cut off had left ({})",
        partial.display(),
        counted(names.iter().filter(|name| *name != MARK).count(), "file")
    ));
    Ok(())
}

/// A run cut off between its two renamings leaves the earlier output aside.
pub(super) fn restore_moved_aside(target: &Path, told: &mut Vec<String>) -> Result<(), OutputError> {
    let aside = beside(target, ".replaced");
    if !aside.is_dir() {
        return Ok(());
    }
    must_be_ours(&aside)?;
    if target.exists() {
        fs::remove_dir_all(&aside).map_err(OutputError::write(&aside))?;
        told.push(format!(
            "removed {}, an earlier output that was replaced",
            aside.display()
        ));
    } else {
        fs::rename(&aside, target).map_err(OutputError::write(&aside))?;
        told.push(format!(
            "put back {}, which a run that was cut off had moved aside",
            target.display()
        ));
    }
    Ok(())
}

/// The names of all entries of a folder.
pub(super) fn names_in(folder: &Path) -> Result<BTreeSet<String>, OutputError> {
    fs::read_dir(folder)
        .and_then(|entries| {
            entries
                .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
                .collect()
        })
        .map_err(OutputError::read(folder))
}
