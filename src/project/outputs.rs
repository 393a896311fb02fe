//! `[outputs]`: where the files go and which of the optional ones are wanted.

use std::path::{Path, PathBuf};

use super::layer::{is_virtual, resolved, settled};
use super::reader::Spot;
use super::table::Table;
use crate::nearest::quoted;

/// Section `[outputs]`: the folder, and what is written only if asked.
///
/// Keys: `folder`, `report`, `ratings`, `all_rows`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutputSection {
    /// `folder`: a folder for this run alone; `out` beside the project file
    /// unless given.
    pub folder: PathBuf,
    /// `report`: write `report.html`, a page for people; true unless given.
    pub report: bool,
    /// `ratings`: write `ratings.tif`, a band a species; false unless given.
    pub ratings: bool,
    /// `all_rows`: keep a row for every zone and species, however many; false
    /// unless given.
    pub all_rows: bool,
}

impl OutputSection {
    pub(super) fn read(table: Option<&Table>, project: &Path) -> OutputSection {
        let folder = table.and_then(|table| table.text("folder"));
        let written = folder.as_ref().map_or("out", |found| found.value);
        let path = resolved(project, written);
        if let Some(found) = &folder {
            if is_virtual(&path) || written.contains('\0') {
                let needed = "needed a folder on this machine";
                found.spot.problem(format!("found {}, {needed}", quoted(written)));
            } else if path.is_file() {
                found
                    .spot
                    .problem(format!("found the file {}, needed a folder", quoted(written)));
            }
        }
        let flag = |key, usual| {
            let found = table.and_then(|table| table.flag(key));
            found.map_or(usual, |found| found.value)
        };
        let section = OutputSection {
            folder: path,
            report: flag("report", true),
            ratings: flag("ratings", false),
            all_rows: flag("all_rows", false),
        };
        if let Some(table) = table {
            table.finish();
        }
        section
    }

    /// Reports an output folder that holds something the project reads: the
    /// finished folder is put in place whole, so nothing else may live there.
    pub(super) fn keep_apart<'p>(&self, spot: &Spot, inputs: impl IntoIterator<Item = &'p Path>) {
        let folder = settled(&self.folder);
        for input in inputs {
            if !is_virtual(input) && settled(input).starts_with(&folder) {
                spot.problem(format!(
                    "found an output folder ({}) that holds the input {}, needed a folder for the outputs alone",
                    self.folder.display(),
                    input.display()
                ));
                return;
            }
        }
    }
}
