//! The output folder, whole or not at all: files go to a partial folder beside it,
//! are opened and counted, and one renaming makes it the output. Knows the names of
//! the files, not what they mean.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use rustix::fs::{FlockOperation, flock, statvfs};

use super::earlier_run::{
    MARK, RECORD, beside, check_target, names_in, remove_leftover, restore_moved_aside,
};
use super::source_files::sha256;
use super::{Expected, OutputError, OutputRecord};

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
        let names: Vec<&String> = self.expected.keys().filter(|name| *name != RECORD).collect();
        names
            .into_par_iter()
            .with_max_len(1)
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
        // The largest first; the first failure by name is told.
        let mut files: Vec<(&String, &Expected)> = self.expected.iter().collect();
        files.sort_by_key(|(name, _)| Reverse(fs::metadata(self.file(name)).map_or(0, |file| file.len())));
        let mut verified: Vec<(&String, Result<(), OutputError>)> = files
            .into_par_iter()
            .with_max_len(1)
            .map(|(name, expected)| (name, self.verify(name, expected)))
            .collect();
        verified.sort_by_key(|(name, _)| *name);
        verified.into_iter().try_for_each(|(_, verified)| verified)?;
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

    fn verify(&self, name: &str, expected: &Expected) -> Result<(), OutputError> {
        let path = self.file(name);
        expected.verify(&path)?;
        let file = File::open(&path).map_err(OutputError::read(&path))?;
        file.sync_all().map_err(OutputError::write(&path))
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
