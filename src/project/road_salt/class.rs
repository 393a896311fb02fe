//! `[road_salt.classes.NAME]`: what is known of all roads of a class, where a road does
//! not say it itself.

use super::rate::{MOST_KG_PER_LANE_KM, RateUnit, Salt, Spread};
use crate::nearest::quoted;
use crate::project::table::Table;
use crate::project::value::{Need, ZERO_OR_MORE};

/// Lanes that a line can have.
pub(super) const LANES: Need = Need {
    words: "a number of lanes from 1 to 16",
    holds: |lanes| (1.0..=16.0).contains(&lanes),
};
/// Speeds of traffic.
pub(super) const SPEED: Need = Need {
    words: "a speed from 5 to 200 km/h",
    holds: |speed| (5.0..=200.0).contains(&speed),
};
/// Widths of a pavement.
pub(super) const WIDTH: Need = Need {
    words: "a width from 2 to 120 m",
    holds: |width| (2.0..=120.0).contains(&width),
};

/// A class of roads.
#[derive(Debug, Clone, PartialEq)]
pub struct RoadClass {
    /// Its name in the layer's class attribute.
    pub name: String,
    /// `lanes` of all directions that one line stands for.
    pub lanes: f64,
    /// `speed_kmh`: speed of the traffic.
    pub speed_kmh: f64,
    /// `rate` and `rate_unit`: spread in a winter, as grams of sodium chloride with the
    /// same chloride on a metre of lane.
    pub grams_per_lane_metre: f64,
    /// `width_m` of the pavement.
    ///
    /// # Missing
    /// The lanes times `lane_width_m`.
    pub width_m: Option<f64>,
    /// `source` of these numbers.
    pub source: String,
}

/// The source of every default of a class.
pub(super) const MEMORY: &str = "from memory, unverified";

/// Defaults by class: lanes, km/h, kilograms of sodium chloride on a kilometre of lane
/// and winter. From memory, unverified: orders of magnitude of snowy regions.
const USUAL: [(&str, f64, f64, f64); 5] = [
    ("motorway", 4.0, 110.0, 12_000.0),
    ("highway", 2.0, 90.0, 9_000.0),
    ("arterial", 4.0, 70.0, 8_000.0),
    ("collector", 2.0, 60.0, 5_000.0),
    ("local", 2.0, 40.0, 2_000.0),
];

impl RoadClass {
    /// The classes that need no table.
    pub(super) fn usual() -> Vec<RoadClass> {
        let class = |&(name, lanes, speed_kmh, rate): &(&str, f64, f64, f64)| RoadClass {
            name: name.to_owned(),
            lanes,
            speed_kmh,
            grams_per_lane_metre: rate,
            width_m: None,
            source: MEMORY.to_owned(),
        };
        USUAL.iter().map(class).collect()
    }

    /// The usual classes with what the project changes about them and adds.
    pub(super) fn read_all(tables: &[(&str, Table)], spread: Spread) -> Vec<RoadClass> {
        let mut classes = RoadClass::usual();
        for (name, table) in tables {
            let known = classes
                .iter()
                .position(|class| class.name.eq_ignore_ascii_case(name.trim()));
            let before = known.map(|index| classes[index].clone());
            let Some(class) = RoadClass::read(name, table, before.as_ref(), spread) else {
                continue;
            };
            match known {
                Some(index) => classes[index] = class,
                None => classes.push(class),
            }
        }
        classes
    }

    fn read(name: &str, table: &Table, before: Option<&RoadClass>, spread: Spread) -> Option<RoadClass> {
        if before.is_none() {
            table.require(&["lanes"]);
            table.require(&["speed_kmh"]);
            table.require(&["rate"]);
        }
        let lanes = table.number("lanes", LANES).map(|found| found.value);
        let speed_kmh = table.number("speed_kmh", SPEED).map(|found| found.value);
        let width_m = table.number("width_m", WIDTH).map(|found| found.value);
        let salt = table.word("salt", &Salt::WORDS);
        let own = Spread::read_brine(table, salt.map_or(spread.salt, |found| found.value));
        let spread = Spread {
            salt: own.salt,
            brine_percent: own.brine_percent.or(spread.brine_percent),
            brine_kg_per_litre: own.brine_kg_per_litre.or(spread.brine_kg_per_litre),
        };
        let unit = table.word("rate_unit", &RateUnit::WORDS);
        let rate = table.number("rate", ZERO_OR_MORE);
        if rate.is_some() && table.spot_of("rate_unit").is_none() {
            table.require(&["rate_unit"]);
        }
        if let (None, Some(spot)) = (table.spot_of("rate"), table.spot_of("rate_unit")) {
            spot.problem("found `rate_unit` without `rate`, needed both or none");
        }
        let mut grams = None;
        if let (Some(rate), Some(unit)) = (rate, unit) {
            grams = spread.grams_per_lane_metre(rate.value, unit.value);
            match grams {
                None => unit.spot.problem(
                    "found a rate of brine, needed `brine_percent`: how much salt the brine holds",
                ),
                Some(grams) if grams > MOST_KG_PER_LANE_KM => rate.spot.problem(format!(
                    "found {}, which is {grams:.0} kg NaCl on a kilometre of lane in a winter; needed at most {MOST_KG_PER_LANE_KM}, the most that anybody could spread: is it in another unit?",
                    rate.value
                )),
                Some(_) => {}
            }
        }
        let source = table.text("source").map(|found| found.value.to_owned());
        table.finish();
        if name.trim().is_empty() {
            table
                .spot
                .problem(format!("found the class {}, needed a name", quoted(name)));
            return None;
        }
        Some(RoadClass {
            name: name.trim().to_owned(),
            lanes: lanes.or(before.map(|class| class.lanes))?,
            speed_kmh: speed_kmh.or(before.map(|class| class.speed_kmh))?,
            grams_per_lane_metre: grams.or(before.map(|class| class.grams_per_lane_metre))?,
            width_m: width_m.or(before.and_then(|class| class.width_m)),
            source: source.unwrap_or_else(|| "the project, which names no source".to_owned()),
        })
    }
}
