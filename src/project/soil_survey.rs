//! `[soil_survey]`: a soil survey as it is published: polygons of map units, the soils
//! that make up each unit, and their horizons. Comes in: a table of the project file;
//! goes out: which tables and columns to read, and how. Opens nothing.

use std::path::PathBuf;

use super::factors::{FactorSection, FactorSource, Missing, Words};
use super::layer::{LayerRef, existing};
use super::reader::Spot;
use super::table::Table;
use super::value::{FINITE, Need, SHARE};
use crate::factor::{Factor, Kind};
use crate::nearest::{listed, nearest, quoted};
use crate::soil::{Depths, Reading, SoilFactor, WetnessNudge};

mod structure;

pub use structure::{Columns, SurveyTable};

/// Section `[soil_survey]`.
///
/// Keys: `polygons` (needed; with `sublayer`, `filter`, `crs`), `tables`, `structure`,
/// `reading`, `suits_share`, `depth_cm` (needed), `water_depth_cm`, `least_known`, `drier_below`,
/// `wetter_from`, `made_names`, and a table for each table of the survey.
#[derive(Debug, Clone, PartialEq)]
pub struct SoilSurvey {
    /// `polygons`: the map units.
    pub polygons: LayerRef,
    /// `tables`: the database with the tables, or a folder of delimited text.
    ///
    /// # Missing
    /// The file of the polygons.
    pub tables: PathBuf,
    /// The path of the tables as the project file has it.
    pub tables_as_written: String,
    /// `reading`: how units of several soils are read.
    pub reading: Reading,
    /// `suits_share`: with `each component` the share of a unit that must suit.
    pub suits_share: f64,
    /// `depth_cm`, `water_depth_cm`, `least_known`.
    pub depths: Depths,
    /// `drier_below` and `wetter_from`: what the wetness of terrain does to moisture.
    pub nudge: Option<WetnessNudge>,
    /// `made_names`: soils whose name or kind holds one of these words are ground
    /// made or moved by people.
    pub made_names: Vec<String>,
    /// `[soil_survey.made_ground]`: polygons of ground made or moved by people.
    pub made_ground: Option<LayerRef>,
    /// Tables and columns.
    pub columns: Columns,
}

/// How deep available water counts unless the project says otherwise.
const WATER_DEPTH_CM: f64 = 100.0;

/// The share of a unit that must suit unless the project says otherwise.
const SUITS_SHARE: f64 = 0.5;

const PART: Need = Need {
    words: "a number above 0 and up to 1",
    holds: |number| number > 0.0 && number <= 1.0,
};

/// Surveys tell of two metres or so; a greater depth is a slip of the pen or of the
/// unit (common practice, no source).
const DEPTH: Need = Need {
    words: "a number of centimetres above 0 and up to 500: surveys tell of two metres or so",
    holds: |number| number > 0.0 && number <= 500.0,
};

/// The share of a depth that must be known unless the project says otherwise.
const LEAST_KNOWN: f64 = 0.5;

/// Names of ground made or moved by people in the soil survey of the United States:
/// from memory, unverified.
const MADE_NAMES: [&str; 8] = [
    "urban land",
    "cut and fill",
    "made land",
    "fill land",
    "udorthents",
    "pits",
    "dumps",
    "orthents",
];

const READINGS: [(&str, Reading); 3] = [
    ("each component", Reading::EachComponent),
    ("main component", Reading::MainComponent),
    ("largest class", Reading::LargestClass),
];

#[derive(Clone, Copy, PartialEq)]
enum Structure {
    UnitedStates,
    Own,
}

const STRUCTURES: [(&str, Structure); 2] = [
    ("united states", Structure::UnitedStates),
    ("own", Structure::Own),
];

impl SoilSurvey {
    pub(super) fn read(table: &Table) -> Option<SoilSurvey> {
        table.require(&["polygons"]);
        table.require(&["depth_cm"]);
        let polygons = LayerRef::read(table, "polygons");
        let written = table.text("tables");
        let tables = match &written {
            Some(written) => existing(written),
            None => polygons.as_ref().map(|polygons| polygons.path.clone()),
        };
        let reading = table.word("reading", &READINGS);
        let suits_share = table.number("suits_share", PART);
        let structure = table
            .word("structure", &STRUCTURES)
            .map_or(Structure::UnitedStates, |found| found.value);
        let depth_cm = table.number("depth_cm", DEPTH);
        let water_cm = table.number("water_depth_cm", DEPTH);
        let least_known = table.number("least_known", SHARE);
        let nudge = nudge(table);
        let made_names = match table.texts("made_names") {
            Some(names) => names.value.iter().map(|name| name.value.to_lowercase()).collect(),
            None => MADE_NAMES.map(str::to_owned).to_vec(),
        };
        let made_ground = table.table("made_ground").map(|made| {
            made.require(&["layer"]);
            let layer = LayerRef::read(&made, "layer");
            made.finish();
            layer
        });
        let columns = Columns::read(table, structure == Structure::UnitedStates);
        table.finish();
        let polygons = polygons?;
        Some(SoilSurvey {
            tables_as_written: written
                .map_or(&polygons.as_written[..], |found| found.value)
                .to_owned(),
            tables: tables?,
            reading: reading.map_or(Reading::EachComponent, |found| found.value),
            suits_share: suits_share.map_or(SUITS_SHARE, |found| found.value),
            depths: Depths {
                chemistry_cm: depth_cm?.value,
                water_cm: water_cm.map_or(WATER_DEPTH_CM, |found| found.value),
                least_known: least_known.map_or(LEAST_KNOWN, |found| found.value),
            },
            nudge,
            made_names,
            made_ground: match made_ground {
                None => None,
                Some(layer) => Some(layer?),
            },
            columns: columns?,
            polygons,
        })
    }
}

fn nudge(table: &Table) -> Option<WetnessNudge> {
    let drier = table.number("drier_below", FINITE);
    let wetter = table.number("wetter_from", FINITE);
    let (drier, wetter) = match (drier, wetter) {
        (Some(drier), Some(wetter)) => (drier, wetter),
        (Some(one), None) | (None, Some(one)) => {
            one.spot
                .problem("found one of `drier_below` and `wetter_from`, needed both or none");
            return None;
        }
        (None, None) => return None,
    };
    if drier.value > wetter.value {
        drier.spot.problem(format!(
            "found {}, needed at most `wetter_from` ({})",
            drier.value, wetter.value
        ));
        return None;
    }
    Some(WetnessNudge {
        drier_below: drier.value,
        wetter_from: wetter.value,
    })
}

/// The factor whose classes are the map units of the survey: needed to rate soils one
/// by one. The classes are those found in the survey.
pub(super) fn map_unit_section(survey: &SoilSurvey) -> FactorSection {
    let kind = Kind::Classes {
        names: Vec::new(),
        ordered: false,
    };
    let factor = Factor::added(SoilFactor::MapUnit.id(), kind);
    FactorSection {
        source: FactorSource::SoilSurvey {
            layer: survey.polygons.clone(),
            of: SoilFactor::MapUnit,
        },
        cuts: None,
        words: Words::usual(&factor),
        missing: Missing::Unknown,
        date: None,
        support_m: None,
        factor,
    }
}

/// A problem with a column of a table that the program does not know.
fn unknown_column(spot: &Spot, key: &str, known: &[&str]) {
    let near = nearest(key, known.iter().copied());
    let hint = near.map_or_else(
        || format!("; known are {}", listed(known)),
        |name| format!("; nearest is `{name}`"),
    );
    spot.problem(format!("no such key: {}{hint}", quoted(key)));
}
