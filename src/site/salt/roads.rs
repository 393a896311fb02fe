//! Pieces of salted road from the features of a layer: each attribute looked at, every
//! problem told. It knows no cells.

use std::collections::BTreeMap;

use geo::{Coord, Geometry};

use super::decay::Decay;
use super::source::Source;
use crate::gis::FieldValue;
use crate::grid::Grid;
use crate::nearest::{listed, nearest, quoted};
use crate::plural::{counted, one_or_many};
use crate::project::{RoadClass, RoadSalt, Salt, Spread};
use crate::site::finding::Findings;
use crate::site::vector_layer::VectorLayer;

/// What messages call the roads.
pub const NAME: &str = "road_salt.roads";

/// Salted roads, ready to be filed.
#[derive(Debug, Default)]
pub struct Roads {
    /// Their straight pieces.
    pub(super) sources: Vec<Source>,
    /// By class: roads, and how many of them take a number from it.
    pub classes: BTreeMap<String, ClassUse>,
}

/// How much of a class's numbers the roads use.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct ClassUse {
    /// Roads of the class.
    pub roads: u64,
    /// Roads whose rate is the class's.
    pub rates: u64,
    /// Roads whose lanes or speed are the class's.
    pub others: u64,
}

/// One road's numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Road {
    grams_per_lane_metre: f64,
    lanes: f64,
    speed_kmh: f64,
    width_m: f64,
}

/// Features with the same thing wrong, and the first of them.
#[derive(Debug, Default)]
struct Wrong {
    by_text: BTreeMap<(Verb, String), (u64, u64)>,
}

/// What is said of one road and of several.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Verb {
    one: &'static str,
    many: &'static str,
}

const HAVE: Verb = Verb {
    one: "has",
    many: "have",
};
const ARE: Verb = Verb {
    one: "is",
    many: "are",
};

impl Wrong {
    fn add(&mut self, fid: u64, verb: Verb, text: String) {
        self.by_text.entry((verb, text)).or_insert((0, fid)).0 += 1;
    }
}

impl Roads {
    /// The roads of a layer; all that is wrong with them is told.
    pub fn read(salt: &RoadSalt, grid: &Grid, layer: &VectorLayer, findings: &mut Findings) -> Option<Roads> {
        let mut roads = Roads::default();
        let mut wrong = Wrong::default();
        let mut pointlike = None;
        let extent = grid.extent();
        let outlines = findings.take(NAME, layer.outlines())?;
        let features = layer.features.items.iter().zip(outlines);
        for (index, (feature, outline)) in features.enumerate() {
            let field = |attribute: &String| layer.field(attribute)?.nth(index);
            let road = road(salt, &field, feature.fid, &mut roads.classes, &mut wrong);
            let mut lines = Vec::new();
            if !lines_of(outline, &mut lines) {
                wrong.add(
                    feature.fid,
                    ARE,
                    "not made of lines: salted roads are needed as lines, with `width_attribute` or lanes for their width".to_owned(),
                );
            }
            let length_m: f64 = lines.iter().flat_map(|line| line.windows(2)).map(length_m).sum();
            if !lines.is_empty() && length_m <= 0.0 {
                pointlike.get_or_insert((0u64, feature.fid)).0 += 1;
            }
            let Some(road) = road else { continue };
            for pair in lines.iter().flat_map(|line| line.windows(2)) {
                let local = |point: &Coord<f64>| [point.x - extent.west, extent.north - point.y];
                roads
                    .sources
                    .extend(source(salt, &road, local(&pair[0]), local(&pair[1])));
            }
        }
        if let Some((count, first)) = pointlike {
            findings.warn(
                NAME,
                format!(
                    "{} of {} (the first is feature {first}) {} no length: no salt comes from {}",
                    counted(count, "road"),
                    layer.file,
                    one_or_many(count, "has", "have"),
                    one_or_many(count, "it", "them")
                ),
            );
        }
        for ((verb, text), &(count, first)) in &wrong.by_text {
            findings.error(
                NAME,
                format!(
                    "{} of {} (the first is feature {first}) {} {text}",
                    counted(count, "road"),
                    layer.file,
                    one_or_many(count, verb.one, verb.many)
                ),
            );
        }
        wrong.by_text.is_empty().then_some(roads)
    }
}

fn length_m(ends: &[Coord<f64>]) -> f64 {
    (ends[1].x - ends[0].x).hypot(ends[1].y - ends[0].y)
}

/// One road's numbers, from its attributes or its class.
fn road<'l>(
    salt: &RoadSalt,
    field: &dyn Fn(&String) -> Option<&'l FieldValue>,
    fid: u64,
    classes: &mut BTreeMap<String, ClassUse>,
    wrong: &mut Wrong,
) -> Option<Road> {
    let class = class_of(salt, field(&salt.class_attribute), fid, wrong);
    let mut number = |attribute: Option<&String>, scale: f64, holds: &dyn Fn(f64) -> bool, needed: &str| {
        let attribute = attribute?;
        let found = match field(attribute)? {
            FieldValue::Missing => return None,
            FieldValue::Number(number) => Some(*number),
            FieldValue::Text(text) => text.trim().parse().ok(),
        };
        if let Some(number) = found.filter(|number| holds(number * scale)) {
            return Some(number * scale);
        }
        let shown = match (found, field(attribute)) {
            (None, Some(FieldValue::Text(text))) => quoted(text),
            (Some(number), _) => number.to_string(),
            _ => String::new(),
        };
        wrong.add(fid, HAVE, format!("`{attribute}` {shown}, needed {needed}"));
        None
    };
    let lanes = number(
        salt.lanes_attribute.as_ref(),
        1.0,
        &RoadSalt::plausible_lanes,
        "1 to 16 lanes",
    );
    let speed_kmh = number(
        salt.speed_attribute.as_ref(),
        salt.speed_unit.kmh(),
        &RoadSalt::plausible_speed,
        "5 to 200 km/h",
    );
    let width_m = number(
        salt.width_attribute.as_ref(),
        1.0,
        &RoadSalt::plausible_width,
        "2 to 120 m",
    );
    let rate = salt.rate_attribute.as_ref();
    let rate = number(
        rate.map(|(attribute, _)| attribute),
        1.0,
        &|rate| rate >= 0.0 && rate.is_finite(),
        "a rate of 0 or more",
    );
    let spread = Spread {
        salt: salt_of(salt, field, fid, wrong)?,
        ..salt.spread
    };
    let rate = rate.zip(salt.rate_attribute.as_ref());
    let grams = match rate {
        None => None,
        Some((rate, (attribute, unit))) => {
            let grams = spread.grams_per_lane_metre(rate, *unit)?;
            let most = RoadSalt::most_kg_per_lane_km();
            if grams > most {
                wrong.add(
                    fid,
                    HAVE,
                    format!("`{attribute}` {rate}, which is {grams:.0} kg NaCl on a kilometre of lane in a winter; needed at most {most:.0}, the most that anybody could spread: is `rate_unit` right?"),
                );
                return None;
            }
            Some(grams)
        }
    };
    let class = class?;
    let used = classes.entry(class.name.clone()).or_default();
    used.roads += 1;
    used.rates += u64::from(grams.is_none());
    used.others += u64::from(lanes.is_none() || speed_kmh.is_none());
    let lanes = lanes.unwrap_or(class.lanes);
    Some(Road {
        grams_per_lane_metre: grams.unwrap_or(class.grams_per_lane_metre),
        lanes,
        speed_kmh: speed_kmh.unwrap_or(class.speed_kmh),
        width_m: width_m.or(class.width_m).unwrap_or(lanes * salt.lane_width_m),
    })
}

fn class_of<'s>(
    salt: &'s RoadSalt,
    field: Option<&FieldValue>,
    fid: u64,
    wrong: &mut Wrong,
) -> Option<&'s RoadClass> {
    let word = match field? {
        FieldValue::Missing => {
            wrong.add(
                fid,
                HAVE,
                format!(
                    "no `{}`: each road needs its class, which tells what is spread on it",
                    salt.class_attribute
                ),
            );
            return None;
        }
        FieldValue::Text(text) => text.trim().to_owned(),
        FieldValue::Number(number) => number.to_string(),
    };
    let class = salt
        .classes
        .iter()
        .find(|class| class.name.eq_ignore_ascii_case(&word));
    if class.is_none() {
        let names: Vec<&str> = salt.classes.iter().map(|class| class.name.as_str()).collect();
        let near = nearest(&word, names.iter().copied());
        let hint = near.map_or_else(String::new, |name| format!("; nearest is `{name}`"));
        wrong.add(
            fid,
            ARE,
            format!(
                "of the class {}, needed one of {}{hint}, or a table `[road_salt.classes.NAME]` for it",
                quoted(&word),
                listed(&names)
            ),
        );
    }
    class
}

fn salt_of<'l>(
    salt: &RoadSalt,
    field: &dyn Fn(&String) -> Option<&'l FieldValue>,
    fid: u64,
    wrong: &mut Wrong,
) -> Option<Salt> {
    let Some(FieldValue::Text(word)) = salt.salt_attribute.as_ref().and_then(field) else {
        return Some(salt.spread.salt);
    };
    let known = Salt::WORDS
        .iter()
        .find(|(name, _)| name.eq_ignore_ascii_case(word));
    if known.is_none() {
        let names = Salt::WORDS.map(|(name, _)| name);
        wrong.add(
            fid,
            HAVE,
            format!("the salt {}, needed one of {}", quoted(word), listed(&names)),
        );
    }
    known.map(|(_, salt)| *salt)
}

/// Adds the lines of a geometry; false when it holds anything else.
pub(super) fn lines_of<'g>(geometry: &'g Geometry<f64>, lines: &mut Vec<&'g [Coord<f64>]>) -> bool {
    match geometry {
        Geometry::LineString(line) => lines.push(&line.0),
        Geometry::MultiLineString(many) => lines.extend(many.iter().map(|line| line.0.as_slice())),
        Geometry::GeometryCollection(members) => {
            // Every member is looked at, also after one that is no line.
            let others = members.iter().filter(|member| !lines_of(member, lines));
            return others.count() == 0;
        }
        _ => return false,
    }
    true
}

/// A piece of road, unless nothing is spread on it or it has no length.
fn source(salt: &RoadSalt, road: &Road, from: [f64; 2], to: [f64; 2]) -> Option<Source> {
    let piece = Source::between(from, to, road.width_m / 2.0)?;
    let applied_g_m = road.grams_per_lane_metre * road.lanes;
    if applied_g_m <= 0.0 {
        return None;
    }
    let speed = (road.speed_kmh / salt.full_spray_kmh).min(1.0);
    let airborne = decay(salt).airborne_share_of(salt) * speed * speed;
    let thrown_g_m = applied_g_m * airborne;
    // Where across is positive, the outward normal is (-along y, along x), south down.
    let lean = salt.wind_from_deg.map_or(0.0, |from_deg| {
        let blows_to = (from_deg + 180.0).to_radians();
        let (east, south) = (blows_to.sin(), -blows_to.cos());
        east * -piece.along[1] + south * piece.along[0]
    });
    let shift = (salt.lee_share - 0.5) * lean;
    Some(Source {
        spray_g_m: [thrown_g_m * (0.5 + shift), thrown_g_m * (0.5 - shift)],
        runoff_g_m: applied_g_m * salt.runoff_share / 2.0,
        runoff_l_m: salt.root_zone.pavement_runoff_mm * piece.half_width_m * salt.runoff_share,
        ..piece
    })
}

/// The decay that the settings give.
#[must_use]
pub fn decay(salt: &RoadSalt) -> Decay {
    Decay {
        near_share: salt.near_share,
        near_per_m: salt.near_decay_per_m,
        far_per_m: salt.far_decay_per_m,
    }
}

impl Decay {
    /// The share of the salt that is airborne: as the project says, else so that 45 %
    /// comes down within 100 m.
    #[must_use]
    pub fn airborne_share_of(&self, salt: &RoadSalt) -> f64 {
        salt.airborne_share.unwrap_or_else(|| self.airborne_share())
    }
}
