//! The order in which lists show species. Pure: compares, reads nothing.

use std::cmp::Ordering;

use crate::score::Class;
use crate::species::{Form, Species};
use crate::zones::{Listing, ZoneSpecies};

/// What decides the place of a species in a list.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ListKey<'a> {
    /// Its suitability class; none goes last.
    pub class: Option<Class>,
    /// Its form.
    pub form: Form,
    /// Cells of the whole site that it suits: what only this place offers comes
    /// first.
    pub suited_cells: u64,
    /// Its rating, the higher first; none goes last.
    pub rating: Option<f64>,
    /// Its scientific name.
    pub name: &'a str,
}

/// Which of two species a list shows first: by class, then form (tree, shrub, grass
/// and sedge, forb, fern), then the fewer cells of the site it suits, then the
/// higher rating, then name.
#[must_use]
pub fn list_order(a: &ListKey, b: &ListKey) -> Ordering {
    let class = |key: &ListKey| (key.class.is_none(), key.class);
    let rating = |key: &ListKey| key.rating.unwrap_or(-1.0);
    class(a)
        .cmp(&class(b))
        .then(a.form.cmp(&b.form))
        .then(a.suited_cells.cmp(&b.suited_cells))
        .then(rating(b).total_cmp(&rating(a)))
        .then(a.name.cmp(b.name))
}

/// Sorts a zone's species: listed ones first, then those left out because they are
/// not documented, those in parts, not listed and not known, each group in the order of lists.
///
/// `suited_cells` has one number for each species of the catalogue.
///
/// # Panics
/// When an entry names a species the catalogue does not have.
pub fn sort_zone_species(entries: &mut [ZoneSpecies], species: &[Species], suited_cells: &[u64]) {
    let key = |entry: &ZoneSpecies| {
        let plant = &species[entry.index()];
        ListKey {
            class: entry.class,
            form: plant.form,
            suited_cells: suited_cells[entry.index()],
            rating: entry.rating.get(),
            name: &plant.scientific_name,
        }
    };
    entries.sort_by(|a, b| {
        rank(a.listing)
            .cmp(&rank(b.listing))
            .then_with(|| list_order(&key(a), &key(b)))
            .then(a.species.cmp(&b.species))
    });
}

/// Throughout and mostly are one group: both are listed.
fn rank(listing: Listing) -> u8 {
    match listing {
        Listing::Throughout | Listing::Mostly => 0,
        Listing::NotDocumented => 1,
        Listing::InParts => 2,
        Listing::NotListed => 3,
        Listing::NotKnown => 4,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const KEY: ListKey = ListKey {
        class: Some(Class::S1),
        form: Form::Shrub,
        suited_cells: 100,
        rating: Some(0.9),
        name: "Cornus sericea",
    };

    #[test]
    fn each_rule_decides_only_when_those_before_it_tie() {
        let better_class = ListKey {
            class: Some(Class::S1),
            form: Form::Fern,
            suited_cells: 9_999,
            rating: Some(0.1),
            name: "z",
        };
        let worse_class = ListKey {
            class: Some(Class::S2),
            ..KEY
        };
        assert_eq!(list_order(&better_class, &worse_class), Ordering::Less);
        let tree = ListKey {
            form: Form::Tree,
            suited_cells: 9_999,
            ..KEY
        };
        assert_eq!(list_order(&tree, &KEY), Ordering::Less);
        let rare = ListKey {
            suited_cells: 3,
            rating: Some(0.86),
            ..KEY
        };
        assert_eq!(list_order(&rare, &KEY), Ordering::Less);
        let high = ListKey {
            rating: Some(0.95),
            name: "z",
            ..KEY
        };
        assert_eq!(list_order(&high, &KEY), Ordering::Less);
        let name = ListKey {
            name: "Cornus alternifolia",
            ..KEY
        };
        assert_eq!(list_order(&name, &KEY), Ordering::Less);
        assert_eq!(list_order(&KEY, &KEY), Ordering::Equal);
    }

    #[test]
    fn nothing_known_goes_last() {
        let unknown = ListKey {
            class: None,
            form: Form::Tree,
            ..KEY
        };
        let unsuited = ListKey {
            class: Some(Class::N2),
            form: Form::Fern,
            ..KEY
        };
        assert_eq!(list_order(&unsuited, &unknown), Ordering::Less);
        let unrated = ListKey {
            rating: None,
            name: "a",
            ..KEY
        };
        assert_eq!(list_order(&KEY, &unrated), Ordering::Less);
    }

    #[test]
    fn a_zone_shows_what_is_listed_before_all_else() {
        let mut example = crate::output::example_site::Example::two_zones();
        let entries = &mut example.zones[0].species;
        let plain = entries[0].clone();
        let with = |species, listing, class| ZoneSpecies {
            species,
            listing,
            class,
            ..plain.clone()
        };
        *entries = vec![
            with(0, Listing::NotKnown, None),
            with(1, Listing::NotListed, Some(Class::S1)),
            with(2, Listing::InParts, Some(Class::S1)),
            with(1, Listing::Mostly, Some(Class::S2)),
            with(2, Listing::Throughout, Some(Class::S2)),
            with(0, Listing::Mostly, Some(Class::S1)),
        ];
        sort_zone_species(entries, &example.species, &[10, 20, 30]);
        let order: Vec<_> = entries
            .iter()
            .map(|entry| (entry.species, entry.listing))
            .collect();
        assert_eq!(
            order,
            [
                (0, Listing::Mostly),
                (2, Listing::Throughout),
                (1, Listing::Mostly),
                (2, Listing::InParts),
                (1, Listing::NotListed),
                (0, Listing::NotKnown),
            ]
        );
    }
}
