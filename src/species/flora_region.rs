//! What the list of a flora region says of each species: native with a coefficient of
//! conservatism, introduced, or not named. A list is no map: presence in a state is
//! told by other traits and is no nativity.

use serde::Serialize;

use super::{Catalogue, Species, SpeciesError};

/// Beginning of the traits that hold a region's coefficients: `c_michigan`.
const COEFFICIENT: &str = "c_";

/// What a region's list says of a species.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Native, with its coefficient of conservatism from 0 to 10.
    Native(u8),
    /// The list calls it introduced.
    Introduced,
    /// The list does not name it, or gives it no coefficient.
    NotListed,
}

/// Floristic quality of a list of species.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FloristicQuality {
    /// Native species that the list gives a coefficient.
    pub native: usize,
    /// Mean coefficient of conservatism of these, 0 to 10.
    pub mean_c: f64,
    /// Floristic quality index.
    pub index: f64,
}

impl Species {
    /// What the list of a flora region says of the species.
    #[must_use]
    pub fn standing_in(&self, region: &str) -> Standing {
        let value = self.trait_of(&format!("{COEFFICIENT}{region}"));
        match value.map(|value| value.value.as_str()) {
            None => Standing::NotListed,
            Some("introduced") => Standing::Introduced,
            Some(text) => text.parse().map_or(Standing::NotListed, Standing::Native),
        }
    }
}

impl Catalogue {
    /// The flora regions of which the catalogue has coefficients, by name.
    #[must_use]
    pub fn flora_regions(&self) -> Vec<&str> {
        let names = self.species.iter().flat_map(|species| &species.traits);
        let mut regions: Vec<&str> = names
            .filter_map(|value| value.name.strip_prefix(COEFFICIENT))
            .collect();
        regions.sort_unstable();
        regions.dedup();
        regions
    }

    /// The species that a region's list calls introduced, and those it does not
    /// name, by id.
    ///
    /// # Errors
    /// A region of which the catalogue has no list.
    pub fn not_native_in(&self, region: &str) -> Result<(Vec<String>, Vec<String>), SpeciesError> {
        if !self.flora_regions().contains(&region) {
            return Err(SpeciesError::NoRegion {
                region: region.to_owned(),
                known: self.flora_regions().into_iter().map(str::to_owned).collect(),
            });
        }
        let ids = |wanted: Standing| {
            let of = self
                .species
                .iter()
                .filter(|species| species.standing_in(region) == wanted);
            of.map(|species| species.id.clone()).collect()
        };
        Ok((ids(Standing::Introduced), ids(Standing::NotListed)))
    }
}

/// The floristic quality of species by a region's list; nothing where none of them
/// has a coefficient there.
///
/// # Method
/// Swink and Wilhelm, Plants of the Chicago Region, 1994 (from memory, unverified):
/// mean coefficient of the native species, and that times the square root of their
/// number.
pub fn floristic_quality<'a>(
    species: impl Iterator<Item = &'a Species>,
    region: &str,
) -> Option<FloristicQuality> {
    let coefficients: Vec<f64> = species
        .filter_map(|species| match species.standing_in(region) {
            Standing::Native(coefficient) => Some(f64::from(coefficient)),
            Standing::Introduced | Standing::NotListed => None,
        })
        .collect();
    if coefficients.is_empty() {
        return None;
    }
    #[expect(clippy::cast_precision_loss, reason = "a list of species is short")]
    let count = coefficients.len() as f64;
    let mean_c = coefficients.iter().sum::<f64>() / count;
    Some(FloristicQuality {
        native: coefficients.len(),
        mean_c,
        index: mean_c * count.sqrt(),
    })
}
