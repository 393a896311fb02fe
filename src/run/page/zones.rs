//! Zones and how species stand in them, for the page.

use std::collections::HashMap;

use rayon::prelude::*;

use super::texts::Texts;
use super::{LISTINGS, PageParts, class_place, shortened, thousandths};
use crate::factor::{Factor, Kind, Units};
use crate::output::cautions;
use crate::report::{GroundData, StandingData, ZoneColumns};
use crate::zones::{GroundValue, Zone, ZoneSpecies};

/// Columns of zones, and the standings they point to.
pub struct ZonesData {
    /// The columns.
    pub columns: ZoneColumns,
    /// Each distinct standing once.
    pub standings: Vec<StandingData>,
}

/// Zones whose texts are made at a time: those of all would fill the memory.
const AT_ONCE: usize = 1_024;

/// How a species stands in a zone, its texts not yet in their places.
struct Worded {
    species: usize,
    needed: Vec<(usize, Option<String>)>,
    documented: Option<String>,
}

/// The zones of a run.
pub fn zones(parts: &PageParts, texts: &mut Texts) -> ZonesData {
    let zones = &parts.drawn.zones;
    let mut columns = ZoneColumns::default();
    let mut standings = Standings::default();
    for first in (0..zones.len()).step_by(AT_ONCE) {
        let some = first..zones.len().min(first + AT_ONCE);
        let worded: Vec<Vec<Worded>> = some
            .clone()
            .into_par_iter()
            .map(|index| {
                let species = zones[index].species.iter();
                species.map(|entry| word(parts, index, entry)).collect()
            })
            .collect();
        for (zone, worded) in zones[some].iter().zip(worded) {
            let mut species = Vec::with_capacity(worded.len() * 2);
            for (entry, worded) in zone.species.iter().zip(worded) {
                species.push(worded.species);
                species.push(standings.place(standing(entry, worded, texts)));
            }
            columns.species.push(species);
            push_zone(parts, zone, texts, &mut columns);
        }
    }
    ZonesData {
        columns,
        standings: standings.finish(),
    }
}

fn push_zone(parts: &PageParts, zone: &Zone, texts: &mut Texts, columns: &mut ZoneColumns) {
    let factors = parts.prepared.site.factors();
    let units = parts.prepared.project.units;
    let ground = zone.ground.iter().zip(factors);
    let cautions = cautions::of_zone(zone, factors, &parts.prepared.catalogue.species);
    columns.id.push(zone.stable_id.clone());
    columns.area_m2.push(shortened(zone.area_m2, 1));
    columns.best.push(zone.best_class.map(class_place));
    columns.unknown.push(thousandths(zone.unknown_share));
    columns.limited_by.push(zone.limited_by.clone());
    columns.ground.push(
        ground
            .map(|(value, factor)| ground_data(value, factor, units))
            .collect(),
    );
    columns
        .cautions
        .push(cautions.iter().map(|text| texts.place(text)).collect());
    columns.below_support.push(zone.below_support_of);
}

fn word(parts: &PageParts, zone: usize, entry: &ZoneSpecies) -> Worded {
    let documented = parts.drawn.ranges.as_ref().map(|ranges| {
        let standing = ranges.standing(zone, entry.index());
        match ranges.words.text(standing.nearest) {
            nearest if nearest.is_empty() => standing.documented.words().to_owned(),
            nearest => format!("{}; nearest record {nearest}", standing.documented.words()),
        }
    });
    Worded {
        species: entry.index(),
        needed: parts.needs.of_each_limit(zone, entry),
        documented,
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a rating lies within 0 to 1"
)]
fn standing(entry: &ZoneSpecies, worded: Worded, texts: &mut Texts) -> StandingData {
    let limits = worded.needed.into_iter();
    StandingData {
        listing: LISTINGS
            .iter()
            .position(|other| *other == entry.listing)
            .unwrap_or(0),
        class: entry.class.map(class_place),
        share: thousandths(entry.share),
        known: thousandths(entry.known_share),
        soils: entry.soil_share.get().map(thousandths),
        // Cut and not rounded, as in the files: a rating must not come up to a limit.
        rating: entry
            .rating
            .get()
            .map(|rating| (rating * 100.0 + 1e-7).floor() as u32),
        rests_on: entry.reasons.rests_on,
        limits: limits
            .map(|(factor, needed)| (factor, needed.map(|text| texts.place(&text))))
            .collect(),
        lacking: entry.reasons.lacking.clone(),
        no_opinion: entry.reasons.no_opinion_on.clone(),
        documented: worded.documented.map(|text| texts.place(&text)),
    }
}

/// Standings, each once.
#[derive(Default)]
struct Standings {
    places: HashMap<StandingData, usize>,
}

impl Standings {
    fn place(&mut self, standing: StandingData) -> usize {
        let next = self.places.len();
        *self.places.entry(standing).or_insert(next)
    }

    /// The standings in the order of their places.
    fn finish(self) -> Vec<StandingData> {
        let mut standings: Vec<(StandingData, usize)> = self.places.into_iter().collect();
        standings.sort_unstable_by_key(|(_, place)| *place);
        standings.into_iter().map(|(standing, _)| standing).collect()
    }
}

fn ground_data(value: &GroundValue, factor: &Factor, units: Units) -> GroundData {
    match (value, &factor.kind) {
        (
            GroundValue::Measured {
                mean,
                least,
                greatest,
            },
            Kind::Measured(unit),
        ) => {
            let decimals = i32::try_from(unit.decimals()).unwrap_or(2) + 1;
            let read = |value: f64| {
                let value = unit.for_people(value, units).0;
                value.is_finite().then(|| shortened(value, decimals))
            };
            GroundData::Measured([read(*mean), read(f64::from(*least)), read(f64::from(*greatest))])
        }
        (GroundValue::Class { class, share }, Kind::Classes { .. }) => {
            GroundData::Class(*class, thousandths(*share))
        }
        _ => GroundData::Missing,
    }
}
