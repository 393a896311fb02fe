//! The catalogue that a command looks at: where it is, and what is read there with the
//! factors it may speak of.

use std::path::{Path, PathBuf};

use clap::Args;

use super::SpeciesCommandError;
use crate::factor::{Factor, Units};
use crate::project::{CatalogueFiles, CatalogueSection, Project};
use crate::species::{Catalogue, CataloguePaths, Problem, Species};

/// Where the catalogue is.
#[derive(Debug, Args)]
pub(super) struct Place {
    /// Folder with species.csv, tolerances.csv, sources.csv and perhaps traits.csv; the starter catalogue if not given
    #[arg(long, value_name = "FOLDER", conflicts_with = "project")]
    pub(super) catalogue: Option<PathBuf>,
    /// Project file that names the catalogue and any factors of its own
    #[arg(long, value_name = "FILE")]
    pub(super) project: Option<PathBuf>,
    /// Write JSON for programs
    #[arg(long)]
    pub(super) json: bool,
}

/// In which units numbers are told.
#[derive(Debug, Args)]
pub(super) struct Reading {
    /// Units to read: metric or us; the project's if not given, else metric
    #[arg(long, value_parser = read_units)]
    pub(super) units: Option<Units>,
}

fn read_units(word: &str) -> Result<Units, String> {
    match word {
        "metric" => Ok(Units::Metric),
        "us" => Ok(Units::Us),
        _ => Err("needed metric or us".to_owned()),
    }
}

/// What all these commands look at.
pub(super) struct Opened {
    pub(super) catalogue: Catalogue,
    pub(super) problems: Vec<Problem>,
    pub(super) factors: Vec<Factor>,
    pub(super) section: CatalogueSection,
    pub(super) units: Units,
}

impl Opened {
    /// The catalogue at a place, read.
    ///
    /// # Errors
    /// A catalogue or project that cannot be read at all.
    pub(super) fn at(place: &Place) -> Result<Opened, SpeciesCommandError> {
        let project = place.project.as_deref().map(Project::read).transpose()?;
        let input = match (&project, &place.catalogue) {
            (Some(project), _) => CatalogueInput::of_project(project),
            (None, Some(folder)) => CatalogueInput::in_folder(folder),
            (None, None) => CatalogueInput::starter(),
        };
        let (catalogue, problems) = Catalogue::open(&input.section, &input.factors)?;
        Ok(Opened {
            catalogue,
            problems,
            factors: input.factors,
            section: input.section,
            units: project.as_ref().map_or(Units::Metric, |project| project.units),
        })
    }

    /// The factor with this id.
    pub(super) fn factor(&self, id: &str) -> Option<&Factor> {
        self.factors.iter().find(|factor| factor.id == id)
    }

    /// How many problems are errors.
    pub(super) fn errors(&self) -> usize {
        self.problems.iter().filter(|problem| problem.is_error()).count()
    }

    /// The species so named.
    pub(super) fn species(&self, name: &str) -> Result<&Species, SpeciesCommandError> {
        self.catalogue
            .find(name)
            .ok_or_else(|| SpeciesCommandError::NoSpecies {
                name: name.to_owned(),
                near: self
                    .catalogue
                    .nearest_ids(name)
                    .into_iter()
                    .map(str::to_owned)
                    .collect(),
            })
    }
}

/// The files of a catalogue and the factors that it may speak of.
#[derive(Debug, Clone)]
pub struct CatalogueInput {
    /// Where the species stand.
    pub section: CatalogueSection,
    /// The standard factors and those a project adds.
    pub factors: Vec<Factor>,
}

impl CatalogueInput {
    /// The catalogue in a folder, read against the standard factors.
    #[must_use]
    pub fn in_folder(folder: &Path) -> CatalogueInput {
        let paths = CataloguePaths::in_folder(folder);
        CatalogueInput {
            section: CatalogueSection {
                own: Some(CatalogueFiles {
                    species: paths.species,
                    traits: paths.traits,
                    tolerances: paths.tolerances,
                    sources: paths.sources,
                }),
                starter: false,
                ..CatalogueSection::default()
            },
            factors: Factor::standard_ids().filter_map(Factor::standard).collect(),
        }
    }

    /// The starter catalogue, with what the rules derive.
    #[must_use]
    pub fn starter() -> CatalogueInput {
        CatalogueInput {
            section: CatalogueSection::default(),
            factors: Factor::standard_ids().filter_map(Factor::standard).collect(),
        }
    }

    /// The catalogue that a project names, with its factors as the project has
    /// them and the standard ones that it does not name.
    #[must_use]
    pub fn of_project(project: &Project) -> CatalogueInput {
        CatalogueInput {
            section: project.catalogue.clone(),
            factors: project.known_factors(),
        }
    }
}
