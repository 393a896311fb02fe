//! `[catalogue]`: which species are rated, and where their tolerances and the
//! sources stand.

use std::path::{Path, PathBuf};

use super::RuleSettings;
use super::layer::{existing, must_exist, resolved};
use super::reader::Found;
use super::table::Table;
use crate::nearest::quoted;

/// Section `[catalogue]`. Without it the starter catalogue is used.
///
/// Keys: `folder` (holding `species.csv`, `tolerances.csv`, `sources.csv` and
/// perhaps `traits.csv`), or the keys `species`, `tolerances`, `sources`, `traits`,
/// each of which goes before the folder; `starter`; `leave_out`, `only`; `region`,
/// `leave_out_introduced`, `leave_out_unlisted`; `rules`.
#[derive(Debug, Clone, PartialEq)]
pub struct CatalogueSection {
    /// The project's own files, if it has any.
    pub own: Option<CatalogueFiles>,
    /// `starter`: whether the starter catalogue is used, beneath the own files where
    /// there are any; by default only without such.
    pub starter: bool,
    /// `leave_out`: ids of species that are not to be rated.
    pub leave_out: Vec<String>,
    /// `only`: ids of the species that are to be rated; all when empty.
    pub only: Vec<String>,
    /// `region`: the flora region whose list tells what is native there.
    pub region: Option<String>,
    /// `leave_out_introduced`: leave out what the region's list calls introduced.
    pub leave_out_introduced: bool,
    /// `leave_out_unlisted`: leave out what the region's list does not name.
    pub leave_out_unlisted: bool,
    /// `rules`: settings of the rules that turn levels into responses.
    pub rules: RuleSettings,
}

impl Default for CatalogueSection {
    fn default() -> CatalogueSection {
        CatalogueSection {
            own: None,
            starter: true,
            leave_out: Vec::new(),
            only: Vec::new(),
            region: None,
            leave_out_introduced: false,
            leave_out_unlisted: false,
            rules: RuleSettings::default(),
        }
    }
}

/// The spreadsheets of a catalogue.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CatalogueFiles {
    /// `species`: the table of species.
    pub species: PathBuf,
    /// `traits`: the table of further traits, where there is one.
    pub traits: Option<PathBuf>,
    /// `tolerances`: the table of what each species stands.
    pub tolerances: PathBuf,
    /// `sources`: the table of where the values come from.
    pub sources: PathBuf,
}

impl CatalogueFiles {
    /// All files there are.
    pub fn all(&self) -> impl Iterator<Item = &Path> {
        [
            Some(&self.species),
            self.traits.as_ref(),
            Some(&self.tolerances),
            Some(&self.sources),
        ]
        .into_iter()
        .flatten()
        .map(PathBuf::as_path)
    }

    /// The files that a section names; nothing where it names none, or on a problem.
    fn read(table: &Table<'_>) -> Option<CatalogueFiles> {
        const NEEDED: [&str; 3] = ["species", "tolerances", "sources"];
        let named = |key| table.spot_of(key).is_some();
        if !named("folder") && !NEEDED.into_iter().chain(["traits"]).any(named) {
            return None;
        }
        for group in [
            &["folder", "species"],
            &["folder", "tolerances"],
            &["folder", "sources"],
        ] {
            table.require(group);
        }
        let folder = table
            .text("folder")
            .and_then(|found| folder(&found).map(|path| (path, found)));
        let file = |key: &'static str| match (table.spot_of(key), &folder) {
            (Some(_), _) => existing(&table.text(key)?),
            (None, Some((path, found))) => {
                let name = format!("{key}.csv");
                let file = resolved(path, &name);
                must_exist(&file, &name, &found.spot).then_some(file)
            }
            (None, None) => None,
        };
        let [species, tolerances, sources] = NEEDED.map(file);
        let traits = match (table.text("traits"), &folder) {
            (Some(found), _) => existing(&found),
            (None, Some((path, _))) => Some(resolved(path, "traits.csv")).filter(|file| file.exists()),
            (None, None) => None,
        };
        Some(CatalogueFiles {
            species: species?,
            traits,
            tolerances: tolerances?,
            sources: sources?,
        })
    }
}

fn folder(found: &Found<'_, &str>) -> Option<PathBuf> {
    let path = existing(found)?;
    if !path.is_dir() {
        let needed = "needed a folder; for single files use `species`, `tolerances`, `sources`";
        let text = format!("found the file {}, {needed}", quoted(found.value));
        found.spot.problem(text);
        return None;
    }
    Some(path)
}

impl CatalogueSection {
    /// The files of the project's own, none where it has only the starter's.
    pub fn files(&self) -> impl Iterator<Item = &Path> {
        self.own.iter().flat_map(CatalogueFiles::all)
    }

    pub(super) fn read(table: &Table<'_>) -> Option<CatalogueSection> {
        let own = CatalogueFiles::read(table);
        let starter = table.flag("starter");
        let names_files = ["folder", "species", "tolerances", "sources", "traits"]
            .into_iter()
            .any(|key| table.spot_of(key).is_some());
        if let Some(found) = starter.as_ref().filter(|found| !found.value && !names_files) {
            let text =
                "found false and no files of the project's own, needed `folder`, or the starter catalogue";
            found.spot.problem(text);
        }
        let starter = starter.map_or(!names_files, |found| found.value);
        let section = CatalogueSection {
            starter,
            leave_out: ids(table, "leave_out"),
            only: ids(table, "only"),
            region: table.text("region").map(|found| found.value.to_owned()),
            leave_out_introduced: needs_region(table, "leave_out_introduced"),
            leave_out_unlisted: needs_region(table, "leave_out_unlisted"),
            rules: table
                .table("rules")
                .map_or_else(RuleSettings::default, |table| RuleSettings::read(&table)),
            own,
        };
        table.finish();
        // Files that are named and cannot be used have told their problem.
        (section.own.is_some() || !names_files).then_some(section)
    }
}

/// A list of ids, each of which may stand there once.
fn ids(table: &Table<'_>, key: &'static str) -> Vec<String> {
    let mut ids: Vec<String> = Vec::new();
    for id in table.texts(key).map_or_else(Vec::new, |found| found.value) {
        if ids.iter().any(|other| other == id.value) {
            id.spot
                .problem(format!("{} stands in the list twice", quoted(id.value)));
        } else {
            ids.push(id.value.to_owned());
        }
    }
    ids
}

/// A flag that says nothing without a flora region.
fn needs_region(table: &Table<'_>, key: &'static str) -> bool {
    let found = table.flag(key);
    let set = found.as_ref().is_some_and(|found| found.value);
    if let Some(found) = found.filter(|found| found.value && table.spot_of("region").is_none()) {
        found
            .spot
            .problem("found true, needed `region` as well: the list that tells what is native");
    }
    set
}
