//! `[catalogue]`: where the species, their tolerances and the sources stand.

use std::path::{Path, PathBuf};

use super::layer::{existing, must_exist, resolved};
use super::table::Table;
use crate::nearest::quoted;

/// Section `[catalogue]`: the three spreadsheets of the catalogue.
///
/// Keys: `folder` (holding `species.csv`, `tolerances.csv` and `sources.csv`),
/// or the keys `species`, `tolerances`, `sources`, each of which goes before the
/// folder; `leave_out`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CatalogueSection {
    /// `species`: the table of species and their traits.
    pub species: PathBuf,
    /// `traits`: the table of further traits, where there is one.
    pub traits: Option<PathBuf>,
    /// `tolerances`: the table of what each species stands.
    pub tolerances: PathBuf,
    /// `sources`: the table of where the values come from.
    pub sources: PathBuf,
    /// `leave_out`: ids of species that are not to be rated.
    pub leave_out: Vec<String>,
}

impl CatalogueSection {
    /// Its files.
    pub fn files(&self) -> impl Iterator<Item = &Path> {
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

    pub(super) fn read(table: &Table) -> Option<CatalogueSection> {
        let own = ["species", "tolerances", "sources"];
        if own.iter().all(|&key| table.spot_of(key).is_none()) {
            table.require(&["folder"]);
        } else {
            table.require(&["folder", "species"]);
            table.require(&["folder", "tolerances"]);
            table.require(&["folder", "sources"]);
        }
        let folder = table.text("folder").and_then(|found| {
            let path = existing(&found)?;
            if path.is_dir() {
                Some((path, found))
            } else {
                let needed = "needed a folder; for single files use `species`, `tolerances`, `sources`";
                found
                    .spot
                    .problem(format!("found the file {}, {needed}", quoted(found.value)));
                None
            }
        });
        let file = |key: &'static str| match (table.spot_of(key), &folder) {
            (Some(_), _) => existing(&table.text(key)?),
            (None, Some((path, found))) => {
                let name = format!("{key}.csv");
                let file = resolved(path, &name);
                must_exist(&file, &name, &found.spot).then_some(file)
            }
            (None, None) => None,
        };
        let [species, tolerances, sources] = own.map(file);
        let traits = match (table.text("traits"), &folder) {
            (Some(found), _) => existing(&found),
            (None, Some((path, _))) => Some(resolved(path, "traits.csv")).filter(|file| file.exists()),
            (None, None) => None,
        };
        let mut leave_out: Vec<String> = Vec::new();
        for id in table
            .texts("leave_out")
            .map_or_else(Vec::new, |found| found.value)
        {
            if leave_out.iter().any(|other| other == id.value) {
                id.spot
                    .problem(format!("{} stands in the list twice", quoted(id.value)));
            } else {
                leave_out.push(id.value.to_owned());
            }
        }
        table.finish();
        Some(CatalogueSection {
            species: species?,
            traits,
            tolerances: tolerances?,
            sources: sources?,
            leave_out,
        })
    }
}
