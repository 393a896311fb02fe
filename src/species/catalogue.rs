//! The catalogue as a whole: its files, its species and sources, and the
//! ways to look them up.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::problem::{Problem, Report};
use super::{
    Opinion, Source, Species, SpeciesError, checks, read_sources, read_species, read_tolerances, read_traits,
};
use crate::factor::Factor;
use crate::nearest::nearest;
use crate::project::CatalogueSection;

/// Species with what they stand, and the sources of it all.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Catalogue {
    /// The species, in the order of their file.
    pub species: Vec<Species>,
    /// The sources, in the order of their file.
    pub sources: Vec<Source>,
}

/// The files of a catalogue.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CataloguePaths {
    /// One row a species: names, form, traits.
    pub species: PathBuf,
    /// One row a trait, where there is such a file.
    pub traits: Option<PathBuf>,
    /// One row a response of one species to one factor.
    pub tolerances: PathBuf,
    /// One row a source.
    pub sources: PathBuf,
}

impl CataloguePaths {
    /// The files under their usual names in one folder; that of traits only
    /// where it is there.
    #[must_use]
    pub fn in_folder(folder: &Path) -> CataloguePaths {
        CataloguePaths {
            species: folder.join("species.csv"),
            traits: Some(folder.join("traits.csv")).filter(|path| path.exists()),
            tolerances: folder.join("tolerances.csv"),
            sources: folder.join("sources.csv"),
        }
    }
}

impl From<&CatalogueSection> for CataloguePaths {
    fn from(section: &CatalogueSection) -> CataloguePaths {
        CataloguePaths {
            species: section.species.clone(),
            traits: section.traits.clone(),
            tolerances: section.tolerances.clone(),
            sources: section.sources.clone(),
        }
    }
}

/// The bytes of the files, for reading without a disk.
#[derive(Debug, Clone, Copy)]
pub struct CatalogueBytes<'a> {
    /// The species file.
    pub species: &'a [u8],
    /// The traits file, if there is one.
    pub traits: Option<&'a [u8]>,
    /// The tolerances file.
    pub tolerances: &'a [u8],
    /// The sources file.
    pub sources: &'a [u8],
}

impl Catalogue {
    /// The catalogue in its files, with every problem of them. `factors` are
    /// all factors it may speak of: the standard ones and those a project adds.
    ///
    /// What a problem touches is left out of the catalogue, so it must not be
    /// used for ratings while one of them [is an error](Problem::is_error).
    ///
    /// # Errors
    /// A file that cannot be read at all.
    pub fn read(
        paths: &CataloguePaths,
        factors: &[Factor],
    ) -> Result<(Catalogue, Vec<Problem>), SpeciesError> {
        let mut files = Vec::new();
        let mut bytes = |path: &Path| {
            std::fs::read(path).unwrap_or_else(|error| {
                files.push(format!("{}: {error}", path.display()));
                Vec::new()
            })
        };
        let species = bytes(&paths.species);
        let traits = paths.traits.as_deref().map(&mut bytes);
        let tolerances = bytes(&paths.tolerances);
        let sources = bytes(&paths.sources);
        if !files.is_empty() {
            return Err(SpeciesError::Unreadable { files });
        }
        let bytes = CatalogueBytes {
            species: &species,
            traits: traits.as_deref(),
            tolerances: &tolerances,
            sources: &sources,
        };
        Ok(Catalogue::from_bytes(paths, bytes, factors))
    }

    /// The catalogue in the bytes of its files; `paths` only name them in
    /// problems. See [`Catalogue::read`].
    #[must_use]
    pub fn from_bytes(
        paths: &CataloguePaths,
        bytes: CatalogueBytes<'_>,
        factors: &[Factor],
    ) -> (Catalogue, Vec<Problem>) {
        let mut in_sources = Vec::new();
        let mut in_species = Vec::new();
        let mut in_traits = Vec::new();
        let mut in_tolerances = Vec::new();

        let mut report = Report::new(&paths.sources, &mut in_sources);
        let sources = read_sources::read(bytes.sources, &mut report);

        let mut report = Report::new(&paths.species, &mut in_species);
        let mut file = read_species::read(bytes.species, &sources, &mut report);
        checks::names(&file.rows, &mut report);

        if let (Some(path), Some(bytes)) = (&paths.traits, bytes.traits) {
            read_traits::read(bytes, &mut file, &sources, &mut Report::new(path, &mut in_traits));
        }

        let mut report = Report::new(&paths.tolerances, &mut in_tolerances);
        let found = read_tolerances::read(bytes.tolerances, &file, &sources, factors, &mut report);
        checks::conditions(&found, &file.rows, factors, &mut report);
        let mut rows = file.rows;
        for at in found {
            rows[at.species].species.opinions.push(at.opinion);
        }

        checks::tolerances(&rows, &mut Report::new(&paths.species, &mut in_species));
        checks::coverage(
            &rows,
            factors,
            &mut Report::new(&paths.tolerances, &mut in_tolerances),
        );
        checks::unused_sources(&sources, &rows, &mut Report::new(&paths.sources, &mut in_sources));

        let problems = [in_species, in_traits, in_tolerances, in_sources]
            .into_iter()
            .flat_map(|mut problems| {
                problems.sort_by_key(|problem| problem.line.unwrap_or(0));
                problems
            });
        let catalogue = Catalogue {
            species: rows.into_iter().map(|row| row.species).collect(),
            sources: sources.into_iter().map(|row| row.source).collect(),
        };
        (catalogue, problems.collect())
    }

    /// Takes out the species with these ids, and gives back the ids that are
    /// none of the catalogue's.
    pub fn leave_out(&mut self, ids: &[String]) -> Vec<String> {
        let unknown = |id: &&String| self.species.iter().all(|species| species.id != **id);
        let unknown: Vec<String> = ids.iter().filter(unknown).cloned().collect();
        self.species.retain(|species| !ids.contains(&species.id));
        unknown
    }

    /// The place of the species with this id, scientific or common name, or
    /// synonym, letter case aside. An id goes before a name.
    #[must_use]
    pub fn index_of(&self, name: &str) -> Option<usize> {
        let name = name.trim();
        let by = |test: &dyn Fn(&Species) -> bool| self.species.iter().position(test);
        by(&|species| species.id.eq_ignore_ascii_case(name))
            .or_else(|| by(&|species| species.scientific_name.to_lowercase() == name.to_lowercase()))
            .or_else(|| by(&|species| species.common_name.to_lowercase() == name.to_lowercase()))
            .or_else(|| {
                by(&|species| {
                    species
                        .synonyms()
                        .any(|other| other.to_lowercase() == name.to_lowercase())
                })
            })
    }

    /// The species of this id or name; see [`Catalogue::index_of`].
    #[must_use]
    pub fn find(&self, name: &str) -> Option<&Species> {
        self.index_of(name).map(|index| &self.species[index])
    }

    /// Ids of the species whose id, names or genus are most like `name`, at most three.
    #[must_use]
    pub fn nearest_ids(&self, name: &str) -> Vec<&str> {
        let mut ids: Vec<&str> = Vec::new();
        loop {
            let left = self
                .species
                .iter()
                .filter(|species| !ids.contains(&species.id.as_str()));
            let names: BTreeMap<&str, &str> = left
                .flat_map(|species| {
                    let genus = species
                        .scientific_name
                        .split_whitespace()
                        .next()
                        .unwrap_or_default();
                    let names = [&species.id, &species.scientific_name, &species.common_name];
                    let names = names.map(String::as_str).into_iter().chain([genus]);
                    names.map(|name| (name, species.id.as_str()))
                })
                .collect();
            match nearest(name, names.keys().copied()).and_then(|near| names.get(near)) {
                Some(&id) if ids.len() < 3 => ids.push(id),
                _ => return ids,
            }
        }
    }

    /// The source with this id.
    #[must_use]
    pub fn source(&self, id: &str) -> Option<&Source> {
        self.sources.iter().find(|source| source.id == id)
    }

    /// The opinions of one species, by its place, on one factor: one that holds
    /// everywhere, or several under conditions that do not overlap. None for a
    /// place beyond the last species.
    pub fn opinions_on<'a>(&'a self, species: usize, factor: &'a str) -> impl Iterator<Item = &'a Opinion> {
        self.species
            .get(species)
            .into_iter()
            .flat_map(move |species| species.opinions_on(factor))
    }
}
