//! The table of species by region, brought to the species of the catalogue and the regions
//! near the area, with counts of what fits neither.

use std::collections::{BTreeMap, BTreeSet};

use super::error::Found;
use super::names::{Names, some_of};
use super::regions::Regions;
use crate::nearest::nearest;
use crate::plural::{counted, one_or_many};
use crate::project::RangeSection;
use crate::species::{Catalogue, read_range_table};

const KEY: &str = "range.table";

/// What the table says of the catalogue's species.
pub(super) struct Documents {
    /// For each species the regions near the area in which it is documented.
    pub regions: Vec<BTreeSet<usize>>,
    /// Rows that were read.
    pub rows: usize,
    /// Rows of species of the catalogue, doubles counted once.
    pub rows_used: usize,
    /// Different names that the catalogue lacks.
    pub unknown_names: usize,
    /// Different keys that no region has.
    pub unmatched_keys: usize,
    /// Rows that say the same as another.
    pub doubles: usize,
}

pub(super) fn read(
    section: &RangeSection,
    catalogue: &Catalogue,
    regions: &Regions,
    found: &mut Found,
) -> Option<Documents> {
    let bytes = std::fs::read(&section.table)
        .map_err(|error| format!("{} could not be read: {error}", section.table_as_written));
    let bytes = found.take(KEY, bytes)?;
    let path = std::path::Path::new(&section.table_as_written);
    let (rows, problems) = read_range_table(path, &bytes, &section.table_species, &section.table_region);
    for problem in &problems {
        let text = problem.to_string();
        if problem.is_error() {
            found.problem(KEY, &text);
        } else {
            found.warn(KEY, &text);
        }
    }
    if problems.iter().any(crate::species::Problem::is_error) {
        return None;
    }
    let near = regions.index_of();
    let mut names = Names::new(catalogue);
    let mut pairs: BTreeSet<(String, &str)> = BTreeSet::new();
    let mut unmatched: BTreeMap<&str, u64> = BTreeMap::new();
    let mut documents = Documents {
        regions: vec![BTreeSet::new(); catalogue.species.len()],
        rows: rows.len(),
        rows_used: 0,
        unknown_names: 0,
        unmatched_keys: 0,
        doubles: 0,
    };
    let mut in_table = vec![false; catalogue.species.len()];
    for row in &rows {
        let region = row.region.as_str();
        if !regions.keys.contains(region) {
            *unmatched.entry(region).or_default() += 1;
        }
        let species = names.find(&row.species);
        // Two names of one species in one region say the same.
        let name = species.map_or_else(
            || row.species.to_lowercase(),
            |index| catalogue.species[index].id.clone(),
        );
        if !pairs.insert((name, region)) {
            documents.doubles += 1;
            continue;
        }
        let Some(species) = species else {
            continue;
        };
        documents.rows_used += 1;
        in_table[species] = true;
        if let Some(&region) = near.get(region) {
            documents.regions[species].insert(region);
        }
    }
    documents.unknown_names = names.unknown();
    documents.unmatched_keys = unmatched.len();
    names.tell(KEY, found);
    tell_keys(&unmatched, regions, found);
    if documents.doubles > 0 {
        let text = format!(
            "{} {} the same as another; each counts once",
            counted(documents.doubles, "row"),
            one_or_many(documents.doubles, "says", "say")
        );
        found.warn(KEY, &text);
    }
    if rows.is_empty() {
        found.problem(KEY, "has no rows, needed a row for each species and region");
    } else if documents.rows_used == 0 {
        found.problem(KEY, "none of its names is of a species of the catalogue");
    }
    let absent: Vec<String> = catalogue
        .species
        .iter()
        .zip(&in_table)
        .filter(|(_, there)| !**there)
        .map(|(species, _)| species.id.clone())
        .collect();
    if !absent.is_empty() && documents.rows_used > 0 {
        let text = format!(
            "{} species of the catalogue {} nowhere in it, which may be a matter of names: {}",
            absent.len(),
            one_or_many(absent.len(), "stands", "stand"),
            some_of(&absent)
        );
        found.warn(KEY, &text);
    }
    Some(documents)
}

/// Tells the keys that no region has; where none fits, the join is wrong.
fn tell_keys(unmatched: &BTreeMap<&str, u64>, regions: &Regions, found: &mut Found) {
    if unmatched.is_empty() {
        return;
    }
    let bare = |key: &str| key.trim_start_matches('0').to_owned();
    let zeros = unmatched.keys().find_map(|key| {
        regions
            .keys
            .iter()
            .find(|other| bare(key) == bare(other))
            .map(|other| (key, other))
    });
    let hint = if let Some((key, other)) = zeros {
        format!("; \"{key}\" is like \"{other}\" of the layer but for zeros in front, which numbers lose")
    } else {
        let first = unmatched.keys().next().copied().unwrap_or_default();
        let near = nearest(first, regions.keys.iter().map(String::as_str));
        near.map_or_else(String::new, |near| {
            format!("; nearest to \"{first}\" is \"{near}\"")
        })
    };
    let keys: Vec<String> = unmatched
        .iter()
        .map(|(key, rows)| format!("\"{key}\" ({})", counted(*rows, "row")))
        .collect();
    let text = format!(
        "{} {} of no region of the layer: {}{hint}",
        counted(keys.len(), "key"),
        one_or_many(keys.len(), "is", "are"),
        some_of(&keys)
    );
    found.warn(KEY, &text);
}
