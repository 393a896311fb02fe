//! The output folder, whole or not at all: files go to a partial folder beside it,
//! are opened and counted, and one renaming makes it the output. Knows the names of
//! the files, not what they mean.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsString;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use rustix::fs::{FlockOperation, flock, statvfs};

use super::source_files::sha256;
use super::{Expected, OutputError, OutputRecord};

/// Marks a partial folder as ours, and is locked as long as a run writes to it.
const MARK: &str = ".groundfit-partial";
/// Names the other files of a finished folder.
const RECORD: &str = "run.json";
/// What programs put beside a file when they open it.
const SIDECARS: [&str; 4] = ["-wal", "-shm", "-journal", ".aux.xml"];

/// The folder a run writes to, removed when it is dropped before
/// [`PartialFolder::finish`].
#[derive(Debug)]
pub struct PartialFolder {
    target: PathBuf,
    partial: PathBuf,
    overwrite: bool,
    expected: BTreeMap<String, Expected>,
    told: Vec<String>,
    made_parents: Vec<PathBuf>,
    finished: bool,
    _lock: File,
}

/// A finished output.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finished {
    /// The folder.
    pub folder: PathBuf,
    /// An earlier output that could be moved aside but not removed.
    pub left_over: Option<PathBuf>,
}

impl PartialFolder {
    /// Makes `<target>.partial` beside the target and keeps other runs out of it.
    /// Removes what a run that was cut off left there, and puts back an output that
    /// was moved aside when a run was cut off; both are told by
    /// [`PartialFolder::told`].
    ///
    /// # Errors
    /// The target exists and is not to be overwritten, or holds files of somebody
    /// else; another run writes there; the place cannot be written, or the disk has
    /// not `needed_bytes` free.
    pub fn create(
        target: &Path,
        overwrite: bool,
        needed_bytes: Option<u64>,
    ) -> Result<PartialFolder, OutputError> {
        let target = resolved(target)?;
        let parent = parent_of(&target);
        let mut told = Vec::new();
        restore_moved_aside(&target, &mut told)?;
        check_target(&target, overwrite)?;
        let partial = beside(&target, ".partial");
        remove_leftover(&partial, &mut told)?;
        let made_parents: Vec<PathBuf> = parent
            .ancestors()
            .take_while(|folder| !folder.as_os_str().is_empty() && !folder.exists())
            .map(Path::to_owned)
            .collect();
        let made = (|| {
            fs::create_dir_all(parent)?;
            check_room(parent, needed_bytes).map_err(io::Error::other)?;
            fs::create_dir(&partial)?;
            let lock = File::create(partial.join(MARK))?;
            flock(&lock, FlockOperation::NonBlockingLockExclusive)?;
            Ok(lock)
        })();
        match made {
            Ok(lock) => Ok(PartialFolder {
                target,
                partial,
                overwrite,
                expected: BTreeMap::new(),
                told,
                made_parents,
                finished: false,
                _lock: lock,
            }),
            Err(error) => {
                for folder in &made_parents {
                    let _ = fs::remove_dir(folder);
                }
                Err(own_error(error, &partial))
            }
        }
    }

    /// What was found from earlier runs and put right, each a sentence.
    #[must_use]
    pub fn told(&self) -> &[String] {
        &self.told
    }

    /// The partial folder.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.partial
    }

    /// The path at which a file of the output is to be written.
    #[must_use]
    pub fn file(&self, name: &str) -> PathBuf {
        self.partial.join(name)
    }

    /// Says what a file that is written must hold in the end. Every file of the
    /// output must be said, `run.json` too.
    pub fn expect(&mut self, name: &str, expected: Expected) {
        self.expected.insert(name.to_owned(), expected);
    }

    /// Size and checksum of every file said so far, but `run.json`, by name.
    ///
    /// # Errors
    /// A file cannot be read.
    pub fn outputs(&self) -> Result<Vec<OutputRecord>, OutputError> {
        self.expected
            .keys()
            .filter(|name| *name != RECORD)
            .map(|name| {
                let path = self.file(name);
                Ok(OutputRecord {
                    file: name.clone(),
                    bytes: fs::metadata(&path).map_err(OutputError::read(&path))?.len(),
                    sha256: sha256(&path)?,
                })
            })
            .collect()
    }

    /// Opens and counts every file, then makes the folder the output. On an error
    /// nothing is left, and an earlier output stands as it stood.
    ///
    /// # Errors
    /// A file is missing, is not as written or was not said; the folder cannot be
    /// renamed.
    pub fn finish(mut self) -> Result<Finished, OutputError> {
        self.check_names()?;
        for (name, expected) in &self.expected {
            let path = self.file(name);
            expected.verify(&path)?;
            let file = File::open(&path).map_err(OutputError::read(&path))?;
            file.sync_all().map_err(OutputError::write(&path))?;
        }
        check_target(&self.target, self.overwrite)?;
        let mark = self.file(MARK);
        fs::remove_file(&mark).map_err(OutputError::write(&mark))?;
        sync_folder(&self.partial)?;
        let left_over = self.swap()?;
        self.finished = true;
        sync_folder(parent_of(&self.target))?;
        Ok(Finished {
            folder: self.target.clone(),
            left_over,
        })
    }

    /// Every file that was said is there, and no other.
    fn check_names(&self) -> Result<(), OutputError> {
        let mut found = names_in(&self.partial)?;
        found.remove(MARK);
        let needed: BTreeSet<String> = self.expected.keys().cloned().collect();
        if found == needed {
            return Ok(());
        }
        let list = |names: &BTreeSet<String>| names.iter().cloned().collect::<Vec<_>>().join(", ");
        Err(OutputError::NotAsWritten {
            path: self.partial.clone(),
            found: format!("the files {}", list(&found)),
            needed: list(&needed),
        })
    }

    /// Renames the partial folder; an earlier output goes aside first and comes back
    /// when that fails.
    fn swap(&self) -> Result<Option<PathBuf>, OutputError> {
        let failed = OutputError::write(&self.target);
        if !self.target.exists() {
            fs::rename(&self.partial, &self.target).map_err(failed)?;
            return Ok(None);
        }
        let aside = beside(&self.target, ".replaced");
        fs::rename(&self.target, &aside).map_err(OutputError::write(&self.target))?;
        if let Err(error) = fs::rename(&self.partial, &self.target) {
            fs::rename(&aside, &self.target).map_err(OutputError::write(&aside))?;
            return Err(failed(error));
        }
        Ok(fs::remove_dir_all(&aside).is_err().then_some(aside))
    }
}

impl Drop for PartialFolder {
    fn drop(&mut self) {
        if self.finished {
            return;
        }
        // Nothing can be told here; the next run names and removes what is left.
        let _ = fs::remove_dir_all(&self.partial);
        for folder in &self.made_parents {
            let _ = fs::remove_dir(folder);
        }
    }
}

/// The target as an absolute path, links to it followed.
fn resolved(target: &Path) -> Result<PathBuf, OutputError> {
    let path = if target.exists() {
        target.canonicalize()
    } else {
        std::path::absolute(target)
    };
    let path = path.map_err(OutputError::read(target))?;
    match path.file_name() {
        Some(_) => Ok(path),
        None => Err(OutputError::Write {
            path: target.to_owned(),
            reason: "the path names no folder that could be made".to_owned(),
        }),
    }
}

fn parent_of(target: &Path) -> &Path {
    target.parent().unwrap_or(Path::new("/"))
}

fn beside(target: &Path, ending: &str) -> PathBuf {
    let mut name: OsString = target.file_name().unwrap_or_default().to_owned();
    name.push(ending);
    target.with_file_name(name)
}

fn check_target(target: &Path, overwrite: bool) -> Result<(), OutputError> {
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

fn remove_leftover(partial: &Path, told: &mut Vec<String>) -> Result<(), OutputError> {
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
        "removed {}, which a run that was cut off had left ({} files)",
        partial.display(),
        names.iter().filter(|name| *name != MARK).count()
    ));
    Ok(())
}

/// A run cut off between its two renamings leaves the earlier output aside.
fn restore_moved_aside(target: &Path, told: &mut Vec<String>) -> Result<(), OutputError> {
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

fn names_in(folder: &Path) -> Result<BTreeSet<String>, OutputError> {
    fs::read_dir(folder)
        .and_then(|entries| {
            entries
                .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
                .collect()
        })
        .map_err(OutputError::read(folder))
}

fn check_room(folder: &Path, needed_bytes: Option<u64>) -> Result<(), OutputError> {
    // Where the system does not tell, the run itself will.
    let (Some(needed_bytes), Ok(disk)) = (needed_bytes, statvfs(folder)) else {
        return Ok(());
    };
    let free_bytes = disk.f_bavail.saturating_mul(disk.f_frsize);
    if free_bytes < needed_bytes {
        return Err(OutputError::NoRoom {
            path: folder.to_owned(),
            free_bytes,
            needed_bytes,
        });
    }
    Ok(())
}

/// The error as it was, or what the system said of the partial folder.
fn own_error(error: io::Error, partial: &Path) -> OutputError {
    match error.downcast::<OutputError>() {
        Ok(error) => error,
        Err(error) => OutputError::write(partial)(error),
    }
}

fn sync_folder(folder: &Path) -> Result<(), OutputError> {
    File::open(folder)
        .and_then(|folder| folder.sync_all())
        .map_err(OutputError::write(folder))
}

#[cfg(test)]
#[path = "folder_tests.rs"]
mod tests;
