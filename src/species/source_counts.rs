//! How many values of a catalogue rest on what kind of source.

use serde::Serialize;

use super::{Catalogue, KNOWN_TRAITS, SourceKind, Species};
use crate::factor::Factor;

/// How the note of a response that a rule gave begins.
const DERIVED: &str = "derived from ";

/// Values of one trait or responses to one factor.
#[derive(Debug, Default, Serialize)]
pub struct Counts {
    /// Name of the trait or factor.
    pub name: String,
    /// Species that have one.
    pub species: usize,
    /// From published sources; a derived response counts with the level it follows from.
    pub published: usize,
    /// Common practice.
    pub common_practice: usize,
    /// From memory.
    pub from_memory: usize,
    /// Responses that follow from a recorded level by a rule.
    pub derived: usize,
    /// Values beside which another is set aside.
    pub disputed: usize,
}

/// Counts of all factors and traits.
#[derive(Debug, Serialize)]
pub struct SourceCounts {
    /// Species of the catalogue.
    pub species: usize,
    /// Responses, by factor.
    pub factors: Vec<Counts>,
    /// Values, by trait.
    pub traits: Vec<Counts>,
}

impl Counts {
    fn add(&mut self, source: &str, note: &str, disputed: bool, catalogue: &Catalogue) {
        match catalogue.source(source).map(|source| source.kind) {
            Some(SourceKind::Published) => self.published += 1,
            Some(SourceKind::CommonPractice) => self.common_practice += 1,
            Some(SourceKind::FromMemory) | None => self.from_memory += 1,
        }
        self.derived += usize::from(note.starts_with(DERIVED));
        self.disputed += usize::from(disputed);
    }

    /// Sums of several.
    #[must_use]
    pub fn total(counts: &[Counts]) -> Counts {
        let sum = |of: &dyn Fn(&Counts) -> usize| counts.iter().map(of).sum();
        Counts {
            name: "all".to_owned(),
            species: sum(&|one| one.species),
            published: sum(&|one| one.published),
            common_practice: sum(&|one| one.common_practice),
            from_memory: sum(&|one| one.from_memory),
            derived: sum(&|one| one.derived),
            disputed: sum(&|one| one.disputed),
        }
    }
}

impl SourceCounts {
    /// Counts of a catalogue, for these factors.
    #[must_use]
    pub fn of(catalogue: &Catalogue, factors: &[Factor]) -> SourceCounts {
        let factors = factors.iter().map(|factor| {
            let mut counts = Counts {
                name: factor.id.clone(),
                ..Counts::default()
            };
            for species in &catalogue.species {
                counts.species += usize::from(species.opinions_on(&factor.id).next().is_some());
                for opinion in species.opinions_on(&factor.id) {
                    let disputed = !opinion.set_aside.is_empty();
                    counts.add(&opinion.source, &opinion.note, disputed, catalogue);
                }
            }
            counts
        });
        let traits = trait_names(&catalogue.species).into_iter().map(|name| {
            let mut counts = Counts {
                name: name.to_owned(),
                ..Counts::default()
            };
            for value in catalogue
                .species
                .iter()
                .filter_map(|species| species.trait_of(name))
            {
                counts.species += 1;
                counts.add(&value.source, &value.note, !value.set_aside.is_empty(), catalogue);
            }
            counts
        });
        SourceCounts {
            species: catalogue.species.len(),
            factors: factors.filter(|counts| counts.species > 0).collect(),
            traits: traits.filter(|counts| counts.species > 0).collect(),
        }
    }
}

/// Known traits in their order, then the others by name.
fn trait_names(species: &[Species]) -> Vec<&str> {
    let mut names: Vec<&str> = KNOWN_TRAITS.iter().map(|known| known.name).collect();
    let mut others: Vec<&str> = species
        .iter()
        .flat_map(|species| species.traits.iter().map(|value| value.name.as_str()))
        .filter(|name| !names.contains(name))
        .collect();
    others.sort_unstable();
    others.dedup();
    names.extend(others);
    names
}
