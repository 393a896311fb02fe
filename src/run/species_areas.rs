//! For each species the ground that suits it, by class, and the rest by what limits. Zones
//! are added from any thread and in any order; sums of whole numbers come out the same.

use std::sync::atomic::{AtomicU64, Ordering};

use crate::score::Class;
use crate::zones::{Listing, SpeciesShares, Zone, ZoneSpecies};

/// Suiting classes.
const SUITS: usize = 3;

/// Areas of all species, in whole square decimetres.
pub struct SpeciesAreas {
    /// How many parts a species has: suiting classes, spots, unknown, then what limits.
    parts: usize,
    sums: Vec<AtomicU64>,
}

/// Areas of one species, in square metres.
#[derive(Debug, Clone, PartialEq)]
pub struct SpeciesArea {
    /// Ground that suits, by the class the species has in its zone.
    pub suits: [f64; SUITS],
    /// Ground that suits in zones where it is a fifth or less, and which has no class.
    pub suits_in_spots: f64,
    /// Ground on which the species is not known.
    pub unknown: f64,
    /// Ground that does not suit, by the factor that limits most in its zone; last, where
    /// none is told.
    pub limited: Vec<f64>,
}

const SPOTS: usize = SUITS;
const UNKNOWN: usize = SUITS + 1;
const LIMITED: usize = SUITS + 2;

impl SpeciesAreas {
    /// Nothing yet.
    pub fn new(species: usize, factors: usize) -> SpeciesAreas {
        let parts = LIMITED + factors + 1;
        SpeciesAreas {
            parts,
            sums: std::iter::repeat_with(AtomicU64::default)
                .take(species * parts)
                .collect(),
        }
    }

    /// Adds how the species stand that are told of in a zone.
    pub fn add(&self, zone: &Zone) {
        for entry in &zone.species {
            self.add_parts(zone.area_m2, entry.into(), part_of_suiting(entry));
        }
    }

    /// Adds how a species stands that is not told of in a zone of this area: a fifth of the
    /// zone or less suits it.
    pub fn add_passed_over(&self, area_m2: f64, species: SpeciesShares) {
        self.add_parts(area_m2, species, SPOTS);
    }

    fn add_parts(&self, area_m2: f64, shares: SpeciesShares, part_of_suiting: usize) {
        let known = area_m2 * shares.known_share;
        let suits = known * shares.share;
        let factors = self.parts - LIMITED - 1;
        let limit = shares.limit.unwrap_or(factors);
        self.add_to(shares.species, UNKNOWN, area_m2 - known);
        self.add_to(shares.species, part_of_suiting, suits);
        self.add_to(shares.species, LIMITED + limit, known - suits);
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "areas are no less than nothing, and the earth has 5e16 square decimetres"
    )]
    fn add_to(&self, species: usize, part: usize, area_m2: f64) {
        let square_decimetres = (area_m2 * 100.0).round() as u64;
        self.sums[species * self.parts + part].fetch_add(square_decimetres, Ordering::Relaxed);
    }

    /// The areas of each species.
    #[expect(clippy::cast_precision_loss, reason = "areas for people")]
    pub fn finish(&self) -> Vec<SpeciesArea> {
        let read = |sum: &AtomicU64| sum.load(Ordering::Relaxed) as f64 / 100.0;
        let of_species = |sums: &[AtomicU64]| {
            let sums: Vec<f64> = sums.iter().map(read).collect();
            SpeciesArea {
                suits: [sums[0], sums[1], sums[2]],
                suits_in_spots: sums[SPOTS],
                unknown: sums[UNKNOWN],
                limited: sums[LIMITED..].to_vec(),
            }
        };
        self.sums.chunks_exact(self.parts).map(of_species).collect()
    }
}

/// Where ground that suits is counted. Only species that are listed or suit in parts have a
/// class of the ground that suits; of the others it is that of what keeps them out.
fn part_of_suiting(entry: &ZoneSpecies) -> usize {
    let has_class =
        entry.listing.is_listed() || matches!(entry.listing, Listing::InParts | Listing::NotDocumented);
    match entry.class.filter(|_| has_class) {
        Some(Class::S1) => 0,
        Some(Class::S2) => 1,
        Some(Class::S3) => 2,
        _ => SPOTS,
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::zones::{MaybeShare, Reasons};

    fn entry(
        listing: Listing,
        share: f64,
        known_share: f64,
        class: Class,
        limited_by: Vec<usize>,
    ) -> ZoneSpecies {
        ZoneSpecies {
            species: 1,
            listing,
            share,
            known_share,
            rating: MaybeShare::NONE,
            class: Some(class),
            soil_share: MaybeShare::NONE,
            reasons: Arc::new(Reasons {
                limited_by,
                ..Reasons::default()
            }),
        }
    }

    fn zone(area_m2: f64, entry: ZoneSpecies) -> Zone {
        Zone {
            number: 1,
            stable_id: "a".to_owned(),
            cells: 1,
            area_m2,
            best_class: None,
            unknown_share: 0.0,
            limited_by: vec![],
            ground: vec![],
            species: vec![entry],
            below_support_of: None,
        }
    }

    #[test]
    fn all_ground_is_counted_once() {
        let areas = SpeciesAreas::new(2, 3);
        areas.add(&zone(
            1000.0,
            entry(Listing::Mostly, 0.75, 0.8, Class::S2, vec![2]),
        ));
        areas.add(&zone(
            500.0,
            entry(Listing::NotListed, 0.1, 1.0, Class::N1, vec![0, 2]),
        ));
        areas.add(&zone(
            200.0,
            entry(Listing::NotKnown, 0.0, 0.0, Class::N1, vec![]),
        ));
        let found = &areas.finish()[1];
        assert_eq!(found.suits, [0.0, 600.0, 0.0]);
        assert_eq!(found.suits_in_spots, 50.0);
        assert_eq!(found.unknown, 400.0);
        assert_eq!(found.limited, [450.0, 0.0, 200.0, 0.0]);
    }
}
