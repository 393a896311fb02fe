//! The catalogue as a whole: its species and sources, and the ways to look them up.

use std::collections::BTreeMap;

use super::{Opinion, Source, Species};
use crate::nearest::nearest;

/// Species with what they stand, and the sources of it all.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Catalogue {
    /// The species, in the order of their file.
    pub species: Vec<Species>,
    /// The sources, in the order of their file.
    pub sources: Vec<Source>,
}

impl Catalogue {
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
