//! The keys of `[road_salt]` itself.

use super::class::{LANES, RoadClass, SPEED, WIDTH};
use super::rate::{MOST_KG_PER_LANE_KM, RateUnit, Salt, Spread};
use super::root_zone::{RootZoneSettings, WaterSurplus};
use crate::project::factors::{FactorSection, FactorSource};
use crate::project::layer::LayerRef;
use crate::project::table::Table;
use crate::project::value::{ABOVE_ZERO, Need, SHARE};

/// Grams of sodium chloride on a square metre in a winter from which ground belongs to
/// the bands slight, moderate, heavy and severe.
///
/// # Method
/// Spray tolerance is published in words, not in grams. The default limits are chosen
/// here: with the default decay a two-lane highway at 9,000 kg a lane-kilometre has
/// heavy or severe spray up to about 60 ft, where planting guides see most injury, and
/// slight spray up to about 300 ft, where sensitive evergreens are still hurt (both
/// distances: common practice, no single source).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bands {
    /// The four limits, rising.
    pub from_g_m2: [f64; 4],
}

impl Bands {
    /// The class index of a deposit: none, slight, moderate, heavy, severe; a deposit
    /// on a limit belongs beyond it.
    ///
    /// # Missing
    /// Not a number stays so.
    #[must_use]
    pub fn class_of(&self, grams_m2: f64) -> Option<u16> {
        if grams_m2.is_nan() {
            return None;
        }
        let class = self.from_g_m2.partition_point(|&from| from <= grams_m2);
        u16::try_from(class).ok()
    }
}

/// The unit of a speed attribute.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpeedUnit {
    /// Kilometres an hour.
    KilometresPerHour,
    /// Miles an hour.
    MilesPerHour,
}

impl SpeedUnit {
    /// Kilometres an hour in one of the unit.
    #[must_use]
    pub fn kmh(self) -> f64 {
        match self {
            SpeedUnit::KilometresPerHour => 1.0,
            SpeedUnit::MilesPerHour => 1.609_344,
        }
    }
}

/// Section `[road_salt]`: salted roads and how their salt travels. Its default numbers are from
/// memory, unverified, or chosen here to fit what was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct RoadSalt {
    /// `roads`: lines.
    pub roads: LayerRef,
    /// `class_attribute`: the attribute that names a road's class.
    pub class_attribute: String,
    /// `lanes_attribute`.
    pub lanes_attribute: Option<String>,
    /// `speed_attribute`.
    pub speed_attribute: Option<String>,
    /// `speed_unit` of that attribute.
    pub speed_unit: SpeedUnit,
    /// `rate_attribute`, with `rate_unit`.
    pub rate_attribute: Option<(String, RateUnit)>,
    /// `salt_attribute`.
    pub salt_attribute: Option<String>,
    /// `width_attribute`: width of the pavement in metres.
    pub width_attribute: Option<String>,
    /// `lane_width_m`: width of a lane where no width is given.
    pub lane_width_m: f64,
    /// The classes: the usual ones and the project's.
    pub classes: Vec<RoadClass>,
    /// `salt`, `brine_percent`, `brine_kg_per_litre`.
    pub spread: Spread,
    /// Where the winter wind comes from, degrees clockwise from north.
    ///
    /// # Missing
    /// Where both sides get the same.
    pub wind_from_deg: Option<f64>,
    /// `lee_share`: share of the airborne salt that a wind straight across throws to
    /// the lee side.
    pub lee_share: f64,
    /// `airborne_share`: share of the salt that traffic throws off the road.
    ///
    /// # Missing
    /// Such that 45 % of the salt comes down within 100 m.
    pub airborne_share: Option<f64>,
    /// `full_spray_kmh`: slower traffic throws less, by the square of its speed.
    pub full_spray_kmh: f64,
    /// `near_share`: share of the airborne salt in the near term.
    pub near_share: f64,
    /// `near_decay_per_m`.
    pub near_decay_per_m: f64,
    /// `far_decay_per_m`.
    pub far_decay_per_m: f64,
    /// `reach_m`: spray counts up to here.
    ///
    /// # Missing
    /// Such that at most 0.5 % falls beyond.
    pub reach_m: Option<f64>,
    /// `runoff_share`: share of the salt that seeps in beside the pavement.
    pub runoff_share: f64,
    /// `runoff_strip_m`: width of the strip in which 95 % of that seeps in.
    pub runoff_strip_m: f64,
    /// `bands`.
    pub bands: Bands,
    /// `[road_salt.root_zone]`.
    pub root_zone: RootZoneSettings,
}

/// The sixteen points of the compass.
const COMPASS: [(&str, f64); 16] = [
    ("N", 0.0),
    ("NNE", 22.5),
    ("NE", 45.0),
    ("ENE", 67.5),
    ("E", 90.0),
    ("ESE", 112.5),
    ("SE", 135.0),
    ("SSE", 157.5),
    ("S", 180.0),
    ("SSW", 202.5),
    ("SW", 225.0),
    ("WSW", 247.5),
    ("W", 270.0),
    ("WNW", 292.5),
    ("NW", 315.0),
    ("NNW", 337.5),
];
const SPEED_UNITS: [(&str, SpeedUnit); 2] = [
    ("km/h", SpeedUnit::KilometresPerHour),
    ("mph", SpeedUnit::MilesPerHour),
];
const BEARING: Need = Need {
    words: "a bearing from 0 to 360 degrees",
    holds: |degrees| (0.0..=360.0).contains(&degrees),
};
const LEE: Need = Need {
    words: "a number from 0.5 to 1",
    holds: |share| (0.5..=1.0).contains(&share),
};
const DECAY: Need = Need {
    words: "a number from 0.001 to 10 for each metre",
    holds: |decay| (0.001..=10.0).contains(&decay),
};
const REACH: Need = Need {
    words: "a number above 0, at most 2000 m",
    holds: |reach| reach > 0.0 && reach <= 2_000.0,
};
const LANE_WIDTH: Need = Need {
    words: "a width from 2 to 6 m",
    holds: |width| (2.0..=6.0).contains(&width),
};
const STRIP: Need = Need {
    words: "a number from 0.5 to 100 m",
    holds: |strip| (0.5..=100.0).contains(&strip),
};

impl RoadSalt {
    /// The factors that are computed from the section.
    pub const FACTORS: [&'static str; 3] = ["spray_salt", "spray_dose", "soil_salinity"];

    pub(in crate::project) fn read(table: &Table) -> Option<RoadSalt> {
        table.require(&["roads"]);
        table.require(&["class_attribute"]);
        let roads = LayerRef::read(table, "roads");
        let text = |key| table.text(key).map(|found| found.value.to_owned());
        let class_attribute = text("class_attribute");
        let rate_attribute = text("rate_attribute");
        let rate_unit = table.word("rate_unit", &RateUnit::WORDS);
        match (&rate_attribute, table.spot_of("rate_unit")) {
            (Some(_), None) => table.require(&["rate_unit"]),
            (None, Some(spot)) => {
                spot.problem("found `rate_unit` without `rate_attribute`, needed both or none");
            }
            _ => {}
        }
        let speed_attribute = text("speed_attribute");
        let speed_unit = table.word("speed_unit", &SPEED_UNITS);
        if let (Some(_), None) = (&speed_attribute, table.spot_of("speed_unit")) {
            table.require(&["speed_unit"]);
        }
        let spread = spread(table);
        if let (Some(unit), None) = (&rate_unit, spread.brine_percent)
            && unit.value.is_brine()
        {
            table.require(&["brine_percent"]);
        }
        let class_table = table.table("classes");
        let class_tables = class_table.as_ref().map_or_else(Vec::new, Table::named_tables);
        let classes = RoadClass::read_all(&class_tables, spread);
        let lee_share = table.number("lee_share", LEE).map_or(0.65, |found| found.value);
        let wind_from_deg = wind(table, lee_share);
        let number = |key, need, usual| table.number(key, need).map_or(usual, |found| found.value);
        let near_decay_per_m = number("near_decay_per_m", DECAY, 0.3);
        let far_decay_per_m = number("far_decay_per_m", DECAY, 0.04);
        let airborne_share = table.number("airborne_share", SHARE);
        let runoff_share = table.number("runoff_share", SHARE);
        let shares = [&airborne_share, &runoff_share];
        let sum: f64 = shares
            .iter()
            .filter_map(|share| share.as_ref())
            .map(|share| share.value)
            .sum();
        if let (Some(runoff), true) = (&runoff_share, sum > 1.0) {
            runoff.spot.problem(format!(
                "found {}, which with `airborne_share` makes {sum}; needed at most 1 together: no more can leave the road than is spread",
                runoff.value
            ));
        }
        let root_zone = match table.table("root_zone") {
            Some(table) => RootZoneSettings::read(&table),
            None => RootZoneSettings::default(),
        };
        let bands = bands(table);
        let lanes_attribute = text("lanes_attribute");
        let salt_attribute = text("salt_attribute");
        let width_attribute = text("width_attribute");
        let lane_width_m = number("lane_width_m", LANE_WIDTH, 3.6);
        let full_spray_kmh = number("full_spray_kmh", SPEED, 80.0);
        let near_share = number("near_share", SHARE, 0.75);
        let reach_m = table.number("reach_m", REACH).map(|found| found.value);
        let runoff_strip_m = number("runoff_strip_m", STRIP, 10.0);
        table.finish();
        Some(RoadSalt {
            roads: roads?,
            class_attribute: class_attribute?,
            lanes_attribute,
            speed_attribute,
            speed_unit: speed_unit.map_or(SpeedUnit::KilometresPerHour, |found| found.value),
            rate_attribute: rate_attribute.zip(rate_unit.map(|found| found.value)),
            salt_attribute,
            width_attribute,
            lane_width_m,
            classes,
            spread,
            wind_from_deg,
            lee_share,
            airborne_share: airborne_share.map(|found| found.value),
            full_spray_kmh,
            near_share,
            near_decay_per_m,
            far_decay_per_m,
            reach_m,
            runoff_share: runoff_share.map_or(0.2, |found| found.value),
            runoff_strip_m,
            bands,
            root_zone,
        })
    }

    /// The attributes that are read of each road.
    pub fn attributes(&self) -> impl Iterator<Item = &String> {
        let rate = self.rate_attribute.as_ref().map(|(attribute, _)| attribute);
        [
            Some(&self.class_attribute),
            self.lanes_attribute.as_ref(),
            self.speed_attribute.as_ref(),
            rate,
            self.salt_attribute.as_ref(),
            self.width_attribute.as_ref(),
        ]
        .into_iter()
        .flatten()
    }

    /// What a rate in the layer may be at most, kilograms of sodium chloride on a
    /// kilometre of lane in a winter.
    #[must_use]
    pub fn most_kg_per_lane_km() -> f64 {
        MOST_KG_PER_LANE_KM
    }

    /// Whether a number of a road's attribute can be its lanes, speed (km/h) or width.
    #[must_use]
    pub fn plausible_lanes(lanes: f64) -> bool {
        (LANES.holds)(lanes)
    }

    /// Whether a speed in km/h can be that of traffic.
    #[must_use]
    pub fn plausible_speed(kmh: f64) -> bool {
        (SPEED.holds)(kmh)
    }

    /// Whether a width in metres can be that of a pavement.
    #[must_use]
    pub fn plausible_width(metres: f64) -> bool {
        (WIDTH.holds)(metres)
    }

    /// What can be wrong with the section and the factors together.
    pub(in crate::project) fn check(&mut self, table: &Table, factors: &[FactorSection]) {
        let computed = |id: &str| {
            factors
                .iter()
                .any(|section| section.factor.id == id && section.source == FactorSource::RoadSalt)
        };
        if !RoadSalt::FACTORS.iter().any(|id| computed(id)) {
            table.spot.problem("found roads that no factor is computed from, needed `from = \"road_salt\"` in `[factors.spray_salt]`, `[factors.spray_dose]` or `[factors.soil_salinity]`");
        }
        let named = |id: &str| factors.iter().any(|section| section.factor.id == id);
        if computed("spray_dose") && !named("spray_salt") {
            table.spot.problem("found the factor `spray_dose` without `spray_salt`, needed both: species tell of bands, and the grams only stand behind them");
        }
        if !computed("soil_salinity") {
            return;
        }
        if self.root_zone.water.is_none() && named("water_surplus") {
            self.root_zone.water = Some(WaterSurplus::Factor);
        }
        if self.root_zone.water.is_none() {
            table.spot.problem("found no water surplus, and without the water that leaches salt there is no soil salinity: needed `water_surplus_mm` and `water_surplus_source` in `[road_salt.root_zone]`, or the factor `water_surplus`");
        }
        if !named("drainage") {
            table.spot.problem("found no factor `drainage`, needed it for the soil salinity: it tells how much of the water leaches");
        }
    }
}

/// What is spread on all roads that say nothing else.
fn spread(table: &Table) -> Spread {
    let salt = table
        .word("salt", &Salt::WORDS)
        .map_or(Salt::SodiumChloride, |found| found.value);
    Spread::read_brine(table, salt)
}

/// The bearing the winter wind comes from; needed unless both sides get the same.
fn wind(table: &Table, lee_share: f64) -> Option<f64> {
    let word = table.word("winter_wind_from", &COMPASS);
    let degrees = table.number("winter_wind_from_deg", BEARING);
    if let (Some(_), Some(degrees)) = (&word, &degrees) {
        degrees
            .spot
            .problem("found `winter_wind_from_deg` beside `winter_wind_from`, needed only one of them");
    }
    if lee_share > 0.5 {
        table.require(&["winter_wind_from", "winter_wind_from_deg"]);
    }
    word.or(degrees).map(|found| found.value)
}

/// `bands`: where each begins.
fn bands(table: &Table) -> Bands {
    let mut from_g_m2 = [1.0, 5.0, 25.0, 100.0];
    if let Some(limits) = table.table("bands") {
        for (limit, key) in from_g_m2
            .iter_mut()
            .zip(["slight", "moderate", "heavy", "severe"])
        {
            if let Some(found) = limits.number(key, ABOVE_ZERO) {
                *limit = found.value;
            }
        }
        limits.finish();
        if from_g_m2.windows(2).any(|pair| pair[0] >= pair[1]) {
            limits.spot.problem(format!(
                "found the limits {from_g_m2:?}, needed each to be more than the one before"
            ));
        }
    }
    Bands { from_g_m2 }
}
