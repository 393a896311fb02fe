//! The soils of map units from the tables of a survey. In come the keys of the units
//! that lie near the area; out go their soils, and counts of all that is odd.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;

use super::tables::{NAME, Tables, key_text, number};
use crate::factor::Factor;
use crate::gis::FieldValue;
use crate::plural::{counted, one_or_many};
use crate::project::{Meaning, SoilSurvey, SurveyTable, Words};
use crate::site::finding::Findings;
use crate::soil::{Component, Horizon, HorizonFault, SoilFactor, horizon_faults};

/// A map unit with its soils.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MapUnit {
    /// Its symbol on the map.
    pub symbol: Option<String>,
    /// Its name.
    pub name: Option<String>,
    /// The edition its table names.
    pub edition: Option<String>,
    /// Its soils, by key.
    pub components: Vec<Component>,
}

/// Which factors are drawn from the survey, with the words of the project for them.
pub struct Drawn<'a> {
    /// The factors.
    pub factors: BTreeSet<SoilFactor>,
    /// What words mean, by factor.
    pub words: BTreeMap<SoilFactor, &'a Words>,
}

impl Drawn<'_> {
    /// Whether any of these factors is drawn.
    pub(super) fn any(&self, of: &[SoilFactor]) -> bool {
        of.iter().any(|factor| self.factors.contains(factor))
    }
}

/// What is odd in the tables, by what it is, each with the units it concerns.
#[derive(Debug, Default)]
pub struct Odd {
    /// Rows for which a soil stands twice, all alike.
    pub twice: Vec<String>,
    /// Soils without a share.
    pub without_share: Vec<String>,
    /// Soils without horizons.
    pub without_horizons: Vec<String>,
    /// Soils with horizons upside down, overlapping, with a gap.
    pub horizons: BTreeMap<HorizonFault, Vec<String>>,
    /// Soils whose sand, silt and clay do not make up all.
    pub texture: Vec<String>,
    /// Values that no soil has, by column.
    pub impossible: BTreeMap<&'static str, u64>,
    /// Words that no table knows, by factor.
    pub words: BTreeMap<(SoilFactor, String), u64>,
}

/// Factors that come from horizons.
const OF_HORIZONS: [SoilFactor; 6] = [
    SoilFactor::Ph,
    SoilFactor::SoilSalinity,
    SoilFactor::Texture,
    SoilFactor::Carbonates,
    SoilFactor::OrganicMatter,
    SoilFactor::AvailableWater,
];

/// Reads the soils of the units of those keys.
pub fn read_soils(
    survey: &SoilSurvey,
    tables: &Tables,
    units: &BTreeSet<String>,
    drawn: &Drawn,
    findings: &mut Findings,
) -> Option<(BTreeMap<String, MapUnit>, Odd)> {
    let mut odd = Odd::default();
    let mut reading = SoilReading {
        survey,
        tables,
        drawn,
        findings,
        odd: &mut odd,
        components: BTreeMap::new(),
        unit_of: BTreeMap::new(),
    };
    reading.components(units)?;
    // All tables are read before any is given up, so that all problems show.
    let read = [reading.horizons(), reading.months(), reading.restrictions()];
    let mut found = reading.units(units);
    if read.iter().any(Option::is_none) {
        return None;
    }
    let SoilReading {
        components, unit_of, ..
    } = reading;
    for (key, component) in components {
        if let Some(unit) = unit_of.get(&key).and_then(|unit| found.get_mut(unit)) {
            unit.components.push(component);
        }
    }
    Some((found, odd))
}

/// Soils while they are read.
pub(super) struct SoilReading<'a> {
    pub(super) survey: &'a SoilSurvey,
    pub(super) tables: &'a Tables<'a>,
    pub(super) drawn: &'a Drawn<'a>,
    pub(super) findings: &'a mut Findings,
    odd: &'a mut Odd,
    pub(super) components: BTreeMap<String, Component>,
    unit_of: BTreeMap<String, String>,
}

impl SoilReading<'_> {
    fn components(&mut self, units: &BTreeSet<String>) -> Option<()> {
        const WORDS: [&str; 10] = [
            "unit",
            "component",
            "share_pct",
            "name",
            "kind",
            "drainage",
            "flooding",
            "ponding",
            "water_table_cm",
            "root_depth_cm",
        ];
        let rows = self.tables.rows(
            SurveyTable::Components,
            &WORDS,
            &["unit", "share_pct"],
            true,
            self.findings,
            |row| key_text(&row[0]).is_some_and(|unit| units.contains(&unit)),
        )?;
        let mut seen: BTreeMap<String, Vec<FieldValue>> = BTreeMap::new();
        let mut different = Vec::new();
        for (row_number, row) in rows.rows.into_iter().enumerate() {
            let Some(unit) = key_text(&row[0]) else { continue };
            let name = key_text(&row[3]).unwrap_or_default();
            // Without keys of soils each row is a soil of its own.
            let key = key_text(&row[1]).unwrap_or_else(|| format!("{unit}/{row_number:06}"));
            match seen.get(&key) {
                Some(first) if *first == row => {
                    self.odd.twice.push(unit);
                    continue;
                }
                Some(_) => {
                    different.push(key);
                    continue;
                }
                None => {}
            }
            seen.insert(key.clone(), row.clone());
            let Some(share_pct) = number(&row[2]).filter(|share| *share > 0.0 && *share <= 100.0) else {
                self.odd.without_share.push(unit);
                continue;
            };
            let kind = key_text(&row[4]).unwrap_or_default();
            let component = Component {
                share_pct,
                drainage: self.class(SoilFactor::Drainage, &row[5]),
                flooding: self.class(SoilFactor::Flooding, &row[6]),
                ponding: self.class(SoilFactor::Ponding, &row[7]),
                water_table_cm: number(&row[8]),
                root_depth_cm: number(&row[9]),
                made: self.is_made(&name, &kind),
                name,
                key: key.clone(),
                horizons: Vec::new(),
            };
            self.unit_of.insert(key.clone(), unit);
            self.components.insert(key, component);
        }
        if !different.is_empty() {
            different.sort();
            different.dedup();
            self.findings.error(
                NAME,
                format!(
                    "{} {} more than once in the table of soils with different values (the first is {}): one row for each is needed; are two editions in one table?",
                    counted(different.len(), "soil"),
                    one_or_many(different.len(), "stands", "stand"),
                    different[0]
                ),
            );
            return None;
        }
        Some(())
    }

    fn is_made(&self, name: &str, kind: &str) -> bool {
        let (name, kind) = (name.to_lowercase(), kind.to_lowercase());
        let mut words = self.survey.made_names.iter();
        words.any(|word| name.contains(word.as_str()) || kind.contains(word.as_str()))
    }

    /// The class that a word means; a word that no table knows is counted.
    pub(super) fn class(&mut self, factor: SoilFactor, value: &FieldValue) -> Option<u16> {
        let words = self.drawn.words.get(&factor)?;
        let meaning = match value {
            FieldValue::Missing => return None,
            FieldValue::Text(text) => words.meaning_of(text),
            FieldValue::Number(number) => words.meaning_of_number(*number),
        };
        match meaning {
            Some(Meaning::Class(class)) => Some(class),
            Some(Meaning::Missing) => None,
            None => {
                let word = key_text(value).unwrap_or_default();
                *self.odd.words.entry((factor, word)).or_default() += 1;
                None
            }
        }
    }

    fn horizons(&mut self) -> Option<()> {
        const WORDS: [&str; 11] = [
            "component",
            "top_cm",
            "bottom_cm",
            "sand_pct",
            "silt_pct",
            "clay_pct",
            "organic_matter_pct",
            "ph",
            "salinity_ds_m",
            "carbonates_pct",
            "available_water",
        ];
        let wanted = self.drawn.any(&OF_HORIZONS);
        if !wanted && !self.drawn.any(&[SoilFactor::Moisture]) {
            return Some(());
        }
        let soils = &self.components;
        let rows = self.tables.rows(
            SurveyTable::Horizons,
            &WORDS,
            &WORDS[..3],
            wanted,
            self.findings,
            |row| key_text(&row[0]).is_some_and(|key| soils.contains_key(&key)),
        );
        let Some(rows) = rows else {
            return (!wanted).then_some(());
        };
        let possible = possible_values();
        let impossible = &mut self.odd.impossible;
        for row in rows.rows {
            let (Some(key), Some(top_cm), Some(bottom_cm)) =
                (key_text(&row[0]), number(&row[1]), number(&row[2]))
            else {
                *impossible.entry("top_cm").or_default() += 1;
                continue;
            };
            let mut at = |column: usize| {
                let found = number(&row[column])?;
                if possible[column].contains(&found) {
                    return Some(found);
                }
                *impossible.entry(WORDS[column]).or_default() += 1;
                None
            };
            let horizon = Horizon {
                top_cm,
                bottom_cm,
                sand_pct: at(3),
                silt_pct: at(4),
                clay_pct: at(5),
                organic_matter_pct: at(6),
                ph: at(7),
                salinity_ds_m: at(8),
                carbonates_pct: at(9),
                available_water: at(10),
            };
            if let Some(component) = self.components.get_mut(&key)
                && !component.horizons.contains(&horizon)
            {
                component.horizons.push(horizon);
            }
        }
        for (key, component) in &mut self.components {
            component
                .horizons
                .sort_by(|one, other| one.top_cm.total_cmp(&other.top_cm));
            let unit = &self.unit_of[key];
            for fault in horizon_faults(&component.horizons) {
                self.odd.horizons.entry(fault).or_default().push(unit.clone());
            }
            if component.horizons.is_empty() {
                self.odd.without_horizons.push(unit.clone());
            }
            if !component.horizons.iter().all(Horizon::adds_up) {
                self.odd.texture.push(unit.clone());
            }
        }
        Some(())
    }

    /// The units that have soils, with what their own table says of them.
    fn units(&mut self, keys: &BTreeSet<String>) -> BTreeMap<String, MapUnit> {
        let mut units: BTreeMap<String, MapUnit> = BTreeMap::new();
        for unit in self.unit_of.values() {
            units.entry(unit.clone()).or_default();
        }
        let given = self.survey.columns.is_given(SurveyTable::Units, "unit");
        let rows = self.tables.rows(
            SurveyTable::Units,
            &["unit", "symbol", "name", "edition"],
            &["unit"],
            given,
            self.findings,
            |row| key_text(&row[0]).is_some_and(|unit| keys.contains(&unit)),
        );
        for row in rows.unwrap_or_default().rows {
            let unit = key_text(&row[0]).and_then(|key| units.get_mut(&key));
            if let Some(unit) = unit {
                unit.symbol = key_text(&row[1]);
                unit.name = key_text(&row[2]);
                unit.edition = key_text(&row[3]);
            }
        }
        units
    }
}

/// The values that each column of a horizon can have, by its position: those of the
/// factor that comes of it.
fn possible_values() -> [RangeInclusive<f64>; 11] {
    let of = |id: &str| {
        let known = Factor::standard(id).and_then(|factor| factor.plausible());
        known.map_or(f64::NEG_INFINITY..=f64::INFINITY, |(lowest, highest)| {
            lowest..=highest
        })
    };
    let share = || 0.0..=100.0;
    let depth = || f64::NEG_INFINITY..=f64::INFINITY;
    [
        depth(),
        depth(),
        depth(),
        share(),
        share(),
        share(),
        of("organic_matter"),
        of("ph"),
        of("soil_salinity"),
        of("carbonates"),
        0.0..=1.0,
    ]
}
