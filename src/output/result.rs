//! The finished result as the writers read it: zones, outlines, factors, species.
//! Checks that they fit each other; does not know where they came from.

use std::collections::{BTreeSet, HashSet};

use rayon::prelude::*;

use super::OutputError;
use crate::factor::{Factor, Units};
use crate::grid::Grid;
use crate::plural::counted;
use crate::range::ZoneRanges;
use crate::soil::{LEACHING_WATER, SALT_WATER, SoilFactor};
use crate::species::Species;
use crate::zones::outlines::{GeographicOutline, ZoneOutlines};
use crate::zones::{Outline, Zone, ZoneSpecies};

/// What a zone has and what a species would need there, in words.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ZoneSpeciesText {
    /// The value found for the worst limiting factor: `soil salinity 6.2 dS/m`.
    pub found: String,
    /// The values of that factor that reach the wanted class: `at most 4.0 dS/m`.
    pub needed: String,
}

/// Tells the value found and the value needed for a species in a zone.
pub trait FoundAndNeeded {
    /// The texts for one species of the zone at `zone` in the list of zones; both
    /// empty where nothing limits.
    fn found_and_needed(&self, zone: usize, species: &ZoneSpecies) -> ZoneSpeciesText;
}

impl<F: Fn(usize, &ZoneSpecies) -> ZoneSpeciesText> FoundAndNeeded for F {
    fn found_and_needed(&self, zone: usize, species: &ZoneSpecies) -> ZoneSpeciesText {
        self(zone, species)
    }
}

/// Gives the outlines of zones by place, each time they are asked for: held all at once
/// they would take more room than the zones.
pub trait Outlines {
    /// How many zones have outlines.
    fn count(&self) -> usize;

    /// The outline of a zone in the CRS of the grid.
    fn on_map(&self, zone: usize, grid: &Grid) -> Outline;

    /// The outline of a zone in longitude and latitude.
    fn geographic(&self, zone: usize) -> GeographicOutline;

    /// West, south, east and north end of all outlines in 1e-7 degree; nothing where
    /// there are none.
    fn bounds(&self) -> Option<[i32; 4]>;
}

impl Outlines for ZoneOutlines {
    fn count(&self) -> usize {
        self.len()
    }

    fn on_map(&self, zone: usize, grid: &Grid) -> Outline {
        self.on_map(zone, grid)
    }

    fn geographic(&self, zone: usize) -> GeographicOutline {
        self.geographic(zone)
    }

    fn bounds(&self) -> Option<[i32; 4]> {
        self.bounds()
    }
}

/// All that the writers of zones read.
#[derive(Clone, Copy)]
pub struct SiteResult<'a> {
    /// The title of the project.
    pub title: &'a str,
    /// The units of what people read; columns of numbers are metric either way.
    pub units: Units,
    /// The grid the zones were drawn on.
    pub grid: &'a Grid,
    /// The project's factors, in its order.
    pub factors: &'a [Factor],
    /// The catalogue's species.
    pub species: &'a [Species],
    /// The zones.
    pub zones: &'a [Zone],
    /// Their outlines, in the same order.
    pub outlines: &'a (dyn Outlines + Sync),
    /// What is found and needed, for the table of zones and species.
    pub texts: &'a (dyn FoundAndNeeded + Sync),
    /// Where species are documented, where the project tells.
    pub ranges: Option<&'a ZoneRanges>,
}

/// How many factors count at most: one that stands in for another is not counted
/// beside it, and which map unit it is and how salty its water are no factors by
/// themselves.
#[must_use]
pub fn factors_counted(factors: &[Factor]) -> usize {
    let behind = [SoilFactor::MapUnit.id(), SALT_WATER, LEACHING_WATER];
    factors
        .iter()
        .filter(|factor| !behind.contains(&factor.id.as_str()))
        .map(|factor| factor.stands_in_for.as_ref().unwrap_or(&factor.id))
        .collect::<BTreeSet<_>>()
        .len()
}

impl SiteResult<'_> {
    /// Whether zones, outlines, factors and species fit each other.
    ///
    /// # Errors
    /// Every problem found, in one error.
    pub fn check(&self) -> Result<(), OutputError> {
        let mut problems = Vec::new();
        let zones = self.zones.len();
        let outlines = self.outlines.count();
        if outlines != zones {
            problems.push(format!(
                "{} but {}",
                counted(zones, "zone"),
                counted(outlines, "outline")
            ));
        }
        let of_zones: Vec<Vec<String>> = self
            .zones
            .par_iter()
            .enumerate()
            .map(|(index, zone)| self.problems_of(index, zone))
            .collect();
        let mut ids = HashSet::with_capacity(zones);
        for (zone, of_zone) in self.zones.iter().zip(of_zones) {
            if !ids.insert(&zone.stable_id) {
                problems.push(format!("two zones with the id {}", zone.stable_id));
            }
            problems.extend(of_zone);
        }
        if problems.is_empty() {
            Ok(())
        } else {
            Err(OutputError::Zones { problems })
        }
    }

    fn problems_of(&self, index: usize, zone: &Zone) -> Vec<String> {
        let of_zone = self.references(zone).into_iter();
        let outlines = (index < self.outlines.count()).then_some(self.outlines);
        let of_outlines = outlines.into_iter().flat_map(|outlines| {
            let mut problems = map_problems(&outlines.on_map(index, self.grid));
            problems.extend(geographic_problems(&outlines.geographic(index)));
            problems
        });
        of_zone
            .chain(of_outlines)
            .map(|problem| format!("zone {}: {problem}", zone.number))
            .collect()
    }

    /// Factors and species a zone speaks of that are not there.
    fn references(&self, zone: &Zone) -> Vec<String> {
        let mut problems = Vec::new();
        let (factors, species) = (self.factors.len(), self.species.len());
        if zone.ground.len() != factors {
            problems.push(format!(
                "{} for {}",
                counted(zone.ground.len(), "ground value"),
                counted(factors, "factor")
            ));
        }
        if let Some(unknown) = zone.species.iter().find(|entry| entry.index() >= species) {
            problems.push(format!("species {} of {species}", unknown.species));
        }
        let of_species = zone.species.iter().flat_map(|entry| {
            let reasons = &entry.reasons;
            let limits = reasons.limited_by.iter();
            limits.chain(&reasons.lacking).chain(&reasons.no_opinion_on)
        });
        let mut indices = zone
            .limited_by
            .iter()
            .chain(&zone.below_support_of)
            .chain(of_species);
        if let Some(unknown) = indices.find(|&&factor| factor >= factors) {
            problems.push(format!("factor {unknown} of {factors}"));
        }
        problems
    }
}

fn map_problems(outline: &Outline) -> Vec<String> {
    let rings = || std::iter::once(&outline.exterior).chain(&outline.holes);
    let mut problems: Vec<String> = rings()
        .filter(|ring| ring.len() < 4 || ring.first() != ring.last())
        .map(|ring| ring_problem(ring.len()))
        .collect();
    if rings().flatten().any(|(x, y)| !x.is_finite() || !y.is_finite()) {
        problems.push("a point without finite coordinates".to_owned());
    }
    problems
}

fn geographic_problems(outline: &GeographicOutline) -> Vec<String> {
    let rings = || std::iter::once(&outline.exterior).chain(&outline.holes);
    let mut problems: Vec<String> = rings()
        .filter(|ring| ring.len() < 4 || ring.first() != ring.last())
        .map(|ring| format!("in longitude and latitude {}", ring_problem(ring.len())))
        .collect();
    let outside = |point: &&[i32; 2]| {
        let [lon, lat] = **point;
        !(-1_800_000_000..=1_800_000_000).contains(&lon) || !(-900_000_000..=900_000_000).contains(&lat)
    };
    if let Some([lon, lat]) = rings().flatten().find(outside) {
        problems.push(format!("no longitude and latitude: {lon}e-7, {lat}e-7"));
    }
    problems
}

fn ring_problem(points: usize) -> String {
    format!(
        "a ring of {}, a closed one of 4 or more is needed",
        counted(points, "point")
    )
}
