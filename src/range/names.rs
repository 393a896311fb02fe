//! Names as others write them, found in the catalogue, with counts of those that are not
//! there. Tables and records cover whole floras: a name that the catalogue lacks is no
//! fault, one that is nearly in it may be.

use std::collections::BTreeMap;

use super::error::Found;
use crate::plural::{counted, one_or_many};
use crate::species::Catalogue;

/// How many names a message gives.
const NAMED: usize = 5;

/// The names met so far.
pub(super) struct Names<'c> {
    catalogue: &'c Catalogue,
    met: BTreeMap<String, Met>,
}

struct Met {
    species: Option<usize>,
    times: u64,
}

impl<'c> Names<'c> {
    pub fn new(catalogue: &'c Catalogue) -> Names<'c> {
        Names {
            catalogue,
            met: BTreeMap::new(),
        }
    }

    /// The species of the catalogue that is so called; counts the name.
    pub fn find(&mut self, name: &str) -> Option<usize> {
        if let Some(met) = self.met.get_mut(name) {
            met.times += 1;
            return met.species;
        }
        let species = self.catalogue.index_of(name);
        self.met.insert(name.to_owned(), Met { species, times: 1 });
        species
    }

    /// Number of different names that are none of the catalogue's.
    pub fn unknown(&self) -> usize {
        self.met.values().filter(|met| met.species.is_none()).count()
    }

    /// Tells the names that the catalogue lacks, those near one that was not met by name.
    pub fn tell(&self, key: &str, found: &mut Found) {
        let unknown = self.unknown();
        if unknown == 0 {
            return;
        }
        let times: u64 = self
            .met
            .values()
            .filter(|met| met.species.is_none())
            .map(|met| met.times)
            .sum();
        let is_met = |index: usize| self.met.values().any(|met| met.species == Some(index));
        let names = self.in_catalogue();
        let near: Vec<String> = self
            .met
            .iter()
            .filter(|(_, met)| met.species.is_none())
            .filter_map(|(name, met)| {
                let lower = name.to_lowercase();
                let near = crate::nearest::nearest(&lower, names.keys().map(String::as_str))?;
                let near = *names.get(near)?;
                let text = format!(
                    "\"{name}\" ({}, nearest is `{}`)",
                    counted(met.times, "time"),
                    self.catalogue.species[near].id
                );
                (!is_met(near)).then_some(text)
            })
            .collect();
        let doubtful = match near.len() {
            0 => String::new(),
            count => format!(
                "; {count} of them {} near a species that is not met otherwise: {}",
                one_or_many(count, "is", "are"),
                some_of(&near)
            ),
        };
        found.warn(
            key,
            &format!(
                "{} ({}) {verb} of no species of the catalogue and {verb} not used{doubtful}",
                counted(unknown, "name"),
                counted(times, "time"),
                verb = one_or_many(unknown, "is", "are")
            ),
        );
    }

    /// All names of the catalogue's species, in lower case.
    fn in_catalogue(&self) -> BTreeMap<String, usize> {
        let species = self.catalogue.species.iter().enumerate();
        let names = species.flat_map(|(index, species)| {
            let names = [&species.id, &species.scientific_name, &species.common_name];
            names.map(|name| (name.to_lowercase(), index))
        });
        names.collect()
    }
}

/// The first few, and how many more there are.
pub(super) fn some_of(texts: &[String]) -> String {
    let shown = texts.iter().take(NAMED).cloned().collect::<Vec<_>>().join(", ");
    match texts.len().saturating_sub(NAMED) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}
