//! The starter catalogue: the species that come with the program, as recorded
//! levels and traits in the project's own form. The rules turn the levels into
//! responses when a project uses it.

use std::path::{Path, PathBuf};

use super::reading::{CatalogueBytes, CataloguePaths, Extent, read_bytes};
use super::{Catalogue, Problem};
use crate::factor::Factor;

/// The files of the starter catalogue, by name.
pub const STARTER_FILES: [(&str, &str); 4] = [
    ("species.csv", include_str!("starter/species.csv")),
    ("traits.csv", include_str!("starter/traits.csv")),
    ("tolerances.csv", include_str!("starter/tolerances.csv")),
    ("sources.csv", include_str!("starter/sources.csv")),
];

/// The starter catalogue as recorded, before the rules; and what is wrong with it,
/// which the tests hold to nothing.
pub(super) fn read() -> (Catalogue, Vec<Problem>) {
    let [species, traits, tolerances, sources] = STARTER_FILES.map(|(_, text)| text.as_bytes());
    let paths = CataloguePaths {
        traits: Some(PathBuf::from("starter/traits.csv")),
        ..CataloguePaths::in_folder(Path::new("starter"))
    };
    let bytes = CatalogueBytes {
        species,
        traits: Some(traits),
        tolerances,
        sources,
    };
    let factors: Vec<Factor> = Factor::standard_ids().filter_map(Factor::standard).collect();
    read_bytes(&paths, bytes, &factors, Extent::Part)
}

#[cfg(test)]
mod tests;
