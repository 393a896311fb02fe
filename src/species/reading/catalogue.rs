//! The files of a catalogue: read, held against one another, and every problem of
//! them told.

use std::path::{Path, PathBuf};

use super::{sources, species, tolerances, traits};
use crate::factor::Factor;
use crate::project::CatalogueFiles;
use crate::species::problem::{Problem, Report};
use crate::species::{Catalogue, SpeciesError, checks};

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

impl From<&CatalogueFiles> for CataloguePaths {
    fn from(files: &CatalogueFiles) -> CataloguePaths {
        CataloguePaths {
            species: files.species.clone(),
            traits: files.traits.clone(),
            tolerances: files.tolerances.clone(),
            sources: files.sources.clone(),
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
        Catalogue::read_as(paths, factors, Extent::Whole)
    }

    /// The same, of a catalogue that stands alone or lies over another.
    pub(in crate::species) fn read_as(
        paths: &CataloguePaths,
        factors: &[Factor],
        extent: Extent,
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
        Ok(read_bytes(paths, bytes, factors, extent))
    }

    /// The catalogue in the bytes of its files; `paths` only name them in
    /// problems. See [`Catalogue::read`].
    #[must_use]
    pub fn from_bytes(
        paths: &CataloguePaths,
        bytes: CatalogueBytes<'_>,
        factors: &[Factor],
    ) -> (Catalogue, Vec<Problem>) {
        read_bytes(paths, bytes, factors, Extent::Whole)
    }
}

/// Whether the files are all there is of the species in them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// What the files do not say is not known.
    Whole,
    /// Another catalogue or the rules say more.
    Part,
}

pub fn read_bytes(
    paths: &CataloguePaths,
    bytes: CatalogueBytes<'_>,
    factors: &[Factor],
    extent: Extent,
) -> (Catalogue, Vec<Problem>) {
    let mut in_sources = Vec::new();
    let mut in_species = Vec::new();
    let mut in_traits = Vec::new();
    let mut in_tolerances = Vec::new();

    let mut report = Report::new(&paths.sources, &mut in_sources);
    let sources = sources::read(bytes.sources, &mut report);

    let mut report = Report::new(&paths.species, &mut in_species);
    let mut file = species::read(bytes.species, &sources, &mut report);
    checks::rows::names(&file.rows, &mut report);

    if let (Some(path), Some(bytes)) = (&paths.traits, bytes.traits) {
        traits::read(bytes, &mut file, &sources, &mut Report::new(path, &mut in_traits));
    }

    // Without a traits file all traits stand in the species file.
    let traits_path = paths.traits.as_deref().unwrap_or(&paths.species);
    checks::traits::pairs(
        &file.rows,
        &mut Report::new(&paths.species, &mut in_species),
        &mut Report::new(traits_path, &mut in_traits),
    );

    let mut report = Report::new(&paths.tolerances, &mut in_tolerances);
    let found = tolerances::read(bytes.tolerances, &file, &sources, factors, &mut report);
    checks::rows::conditions(&found, &file.rows, factors, &mut report);
    let mut rows = file.rows;
    for at in found {
        rows[at.species].species.opinions.push(at.opinion);
    }

    if extent == Extent::Whole {
        checks::rows::tolerances(&rows, &mut Report::new(&paths.species, &mut in_species));
        let mut report = Report::new(&paths.tolerances, &mut in_tolerances);
        checks::rows::coverage(&rows, factors, &mut report);
    }
    checks::rows::unused_sources(&sources, &rows, &mut Report::new(&paths.sources, &mut in_sources));

    let problems = [in_species, in_traits, in_tolerances, in_sources]
        .into_iter()
        .flat_map(|mut problems| {
            problems.sort_by_key(|problem| problem.line.unwrap_or(0));
            problems
        });
    let mut problems: Vec<Problem> = problems.collect();
    let catalogue = Catalogue {
        species: rows.into_iter().map(|row| row.species).collect(),
        sources: sources.into_iter().map(|row| row.source).collect(),
    };
    if extent == Extent::Whole {
        checks::joined::contradictory(&catalogue, &mut Report::new(&paths.species, &mut problems));
    }
    (catalogue, problems)
}
