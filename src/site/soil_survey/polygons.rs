//! The polygons of map units near the area: their keys, areas, and what else the layer
//! says of them.

use std::collections::BTreeMap;

use geo::{Area, MultiPolygon};

use super::tables::{NAME, key_text};
use crate::gis;
use crate::project::{Columns, SoilSurvey, SurveyTable};
use crate::site::finding::Findings;
use crate::site::vector_layer::VectorLayer;

/// The columns of the polygon layer that are to be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PolygonColumns {
    /// Names of the columns.
    pub names: Vec<String>,
}

/// Columns beside the key.
const BESIDE: [&str; 4] = ["symbol", "survey_area", "edition", "made"];

impl PolygonColumns {
    /// The key, and those of the other columns that the layer has. One that the project
    /// names itself is asked for in any case.
    pub fn of(section: &SoilSurvey, findings: &mut Findings) -> Option<PolygonColumns> {
        let polygons = &section.polygons;
        let found = findings.take(NAME, gis::inspect_vector(&polygons.path))?;
        let layer = match &polygons.sublayer {
            Some(name) => found.layers.iter().find(|layer| layer.name == *name),
            None => found.layers.first(),
        };
        let fields = layer.map_or(&[][..], |layer| &layer.fields[..]);
        let name = |word: &str| section.columns.column(SurveyTable::Polygons, word);
        let is_there = |word: &&'static str| {
            name(word).is_some_and(|name| {
                let there = fields.iter().any(|field| field.name.eq_ignore_ascii_case(name));
                there || section.columns.is_given(SurveyTable::Polygons, word)
            })
        };
        let words = ["unit"]
            .into_iter()
            .chain(BESIDE.into_iter().filter(|word| is_there(word)));
        Some(PolygonColumns {
            names: words.filter_map(name).map(str::to_owned).collect(),
        })
    }
}

/// The polygons near the area.
#[derive(Debug)]
pub struct Polygons {
    /// The file, as the project has it.
    pub file: String,
    /// Key of the unit.
    pub unit: Vec<Option<String>>,
    /// Symbol of the unit on the map.
    pub symbol: Vec<Option<String>>,
    /// Survey area.
    pub survey_area: Vec<Option<String>>,
    /// Edition of the survey.
    pub edition: Vec<Option<String>>,
    /// Whether they are marked as made ground.
    pub made: Vec<bool>,
    /// Area in the grid's plane, m2.
    pub area_m2: Vec<f64>,
}

impl Polygons {
    /// What a layer says of its polygons.
    pub fn new(section: &SoilSurvey, layer: &VectorLayer, shapes: &[MultiPolygon<f64>]) -> Polygons {
        let texts = |word: &str| -> Vec<Option<String>> {
            let column = section.columns.column(SurveyTable::Polygons, word);
            match column.and_then(|column| layer.field(column)) {
                Some(values) => values.map(key_text).collect(),
                None => vec![None; shapes.len()],
            }
        };
        Polygons {
            file: layer.file.clone(),
            unit: texts("unit"),
            symbol: texts("symbol"),
            survey_area: texts("survey_area"),
            edition: texts("edition"),
            made: texts("made").iter().map(|text| is_yes(text.as_deref())).collect(),
            area_m2: shapes.iter().map(Area::unsigned_area).collect(),
        }
    }

    /// The keys of units, as often as they stand.
    pub fn keys(&self) -> impl Iterator<Item = &String> {
        self.unit.iter().flatten()
    }

    /// Number and area of the polygons of each unit.
    pub fn by_unit(&self) -> BTreeMap<&str, (usize, f64)> {
        let mut sums: BTreeMap<&str, (usize, f64)> = BTreeMap::new();
        for (unit, area_m2) in self.unit.iter().zip(&self.area_m2) {
            if let Some(unit) = unit {
                let sum = sums.entry(unit).or_default();
                sum.0 += 1;
                sum.1 += area_m2;
            }
        }
        sums
    }

    /// Area of all polygons.
    pub fn all_m2(&self) -> f64 {
        self.area_m2.iter().sum()
    }
}

/// Whether a mark says yes: anything but nothing, `no`, `n`, `false` and 0.
fn is_yes(text: Option<&str>) -> bool {
    const NO: [&str; 5] = ["no", "n", "false", "f", "0"];
    text.is_some_and(|text| !NO.iter().any(|no| text.eq_ignore_ascii_case(no)))
}

/// What the key of units is called in the layer.
pub fn key_name(section: &SoilSurvey) -> &str {
    let name = section.columns.column(SurveyTable::Polygons, "unit");
    name.unwrap_or(Columns::key(SurveyTable::Polygons))
}
