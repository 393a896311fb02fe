//! Holds the code to its import table, and the documents to the code: the tour of
//! the README is run, its tables and the paths and tests it names are looked up.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "all of it is a test, the functions outside its tests too"
)]

mod documents;
mod imports;
mod markdown;
mod module_tree;
mod readme_tables;
mod rust_tokens;
mod tour;

use std::path::{Path, PathBuf};

/// The folder of the repository.
fn repository() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A file of the repository as text, its path relative to it.
fn text_of(path: &str) -> String {
    let path = repository().join(path);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// All files below a folder with one of the endings, sorted.
fn files_below(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path
                .extension()
                .is_some_and(|ending| endings.iter().any(|&one| ending == one))
            {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}
