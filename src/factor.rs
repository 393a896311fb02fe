//! Factors: the properties of the ground that layers give and species have
//! opinions on, each with one unit or one list of classes. Knows no layer and
//! no species.

mod plausible;
mod unit;
mod written;

pub use unit::{Unit, Units};
pub use written::{as_written, first_at_or_above};

/// A property of the ground, with what it is measured in and how it counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Factor {
    /// The word used in project files and catalogues: `drainage`.
    pub id: String,
    /// Measured in a unit, or classes.
    pub kind: Kind,
    /// On a decisive factor a species without an opinion is unknown; on a
    /// helpful one no opinion does not limit.
    pub decisive: bool,
    /// Values that harm no plant, where no opinion is needed.
    pub harmless: Harmless,
    /// The factor that this one may stand in for: canopy for `sun_hours`.
    pub stands_in_for: Option<String>,
    /// Whether people can put it right, which parts class N1 from N2.
    pub remediable: bool,
    /// What people call its values from these on, lowest first: `full sun` from 6 hours.
    pub words: Vec<(f64, String)>,
}

/// What the values of a factor are.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    /// Numbers in one unit.
    Measured(Unit),
    /// Named classes; a cell holds the index of its class.
    Classes {
        /// The classes; from one end to the other when they are in order.
        names: Vec<String>,
        /// Whether the order of the names means anything.
        ordered: bool,
    },
}

/// The values of a factor that harm no plant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Harmless {
    /// No value is harmless to every plant.
    Nothing,
    /// Measured values below this one.
    Below(f64),
    /// The classes up to and with this index; in those from `told_from` on an
    /// absent opinion is told all the same.
    UpToClass {
        /// The last harmless class.
        last: u16,
        /// The first class in which an absent opinion is told.
        told_from: u16,
    },
}

impl Harmless {
    /// Whether a known value harms no plant.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "class factors hold small whole indices"
    )]
    pub fn holds_for(self, value: f32) -> bool {
        match self {
            Harmless::Nothing => false,
            Harmless::Below(limit) => as_written(value) < limit,
            Harmless::UpToClass { last, .. } => (value as u16) <= last,
        }
    }

    /// Whether an absent opinion is told although the value harms no plant.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "class factors hold small whole indices"
    )]
    pub fn is_told_at(self, value: f32) -> bool {
        match self {
            Harmless::Nothing | Harmless::Below(_) => false,
            Harmless::UpToClass { told_from, .. } => self.holds_for(value) && (value as u16) >= told_from,
        }
    }
}

impl Kind {
    /// The class names, or nothing when the factor is measured.
    #[must_use]
    pub fn classes(&self) -> Option<&[String]> {
        match self {
            Kind::Measured(_) => None,
            Kind::Classes { names, .. } => Some(names),
        }
    }

    /// The index of the class so named, letter case and outer blanks aside.
    #[must_use]
    pub fn class_index(&self, name: &str) -> Option<u16> {
        let position = self
            .classes()?
            .iter()
            .position(|class| class.eq_ignore_ascii_case(name.trim()))?;
        u16::try_from(position).ok()
    }
}

impl Factor {
    /// A factor that a project adds, helpful unless the project says otherwise.
    #[must_use]
    pub fn added(id: &str, kind: Kind) -> Factor {
        Factor {
            id: id.to_owned(),
            kind,
            decisive: false,
            harmless: Harmless::Nothing,
            stands_in_for: None,
            remediable: false,
            words: Vec::new(),
        }
    }

    /// The names of the standard factors.
    pub fn standard_ids() -> impl Iterator<Item = &'static str> {
        STANDARD.iter().map(|row| row.id)
    }

    /// The standard factor so named.
    ///
    /// # Method
    /// Natural drainage classes and flooding frequency classes: USDA Soil Survey
    /// Manual (Agriculture Handbook 18). Texture classes: the twelve of the USDA
    /// triangle. The moisture words are the trade's.
    #[must_use]
    pub fn standard(id: &str) -> Option<Factor> {
        let row = STANDARD.iter().find(|row| row.id == id)?;
        Some(Factor {
            id: row.id.to_owned(),
            kind: match row.values {
                Values::In(unit) => Kind::Measured(unit),
                Values::Ordered(names) => classes(names, true),
                Values::Named(names) => classes(names, false),
            },
            decisive: row.decisive,
            harmless: row.harmless,
            stands_in_for: row.stands_in_for.map(str::to_owned),
            remediable: row.remediable,
            words: Vec::new(),
        })
    }

    /// The class name, or the number in the units people read, with its unit.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "class factors hold small whole indices"
    )]
    pub fn show(&self, value: f32, units: Units) -> String {
        match &self.kind {
            Kind::Classes { .. } => self.show_class(value as u16),
            Kind::Measured(Unit::Centimetre) if value == f32::INFINITY => "deeper than surveyed".to_owned(),
            Kind::Measured(_) if value == f32::INFINITY => "beyond reach".to_owned(),
            Kind::Measured(unit) => {
                let (number, symbol) = unit.for_people(f64::from(value), units);
                let number = unit.beside(&format!("{number:.0$}", unit.decimals()), symbol);
                match self.word_for(value) {
                    Some(word) => format!("{number} ({word})"),
                    None => number,
                }
            }
        }
    }

    /// What people call a value, where there are words for it.
    #[must_use]
    pub fn word_for(&self, value: f32) -> Option<&str> {
        let value = as_written(value);
        let reached = self.words.iter().rev().find(|(from, _)| value >= *from);
        reached.map(|(_, word)| word.as_str())
    }

    /// The name of a class, or its index where the factor has no such class.
    #[must_use]
    pub fn show_class(&self, class: u16) -> String {
        let names = self.kind.classes().unwrap_or_default();
        names
            .get(usize::from(class))
            .map_or_else(|| format!("class {class}"), Clone::clone)
    }
}

fn classes(names: &[&str], ordered: bool) -> Kind {
    Kind::Classes {
        names: names.iter().map(|&name| name.to_owned()).collect(),
        ordered,
    }
}

enum Values {
    In(Unit),
    Ordered(&'static [&'static str]),
    Named(&'static [&'static str]),
}

struct Row {
    id: &'static str,
    values: Values,
    decisive: bool,
    harmless: Harmless,
    stands_in_for: Option<&'static str>,
    remediable: bool,
}

impl Row {
    const fn helpful(id: &'static str, values: Values) -> Row {
        Row {
            id,
            values,
            decisive: false,
            harmless: Harmless::Nothing,
            stands_in_for: None,
            remediable: false,
        }
    }

    const fn decisive(id: &'static str, values: Values) -> Row {
        Row {
            decisive: true,
            remediable: true,
            ..Row::helpful(id, values)
        }
    }
}

const FREQUENCY: Values = Values::Ordered(&[
    "none",
    "very rare",
    "rare",
    "occasional",
    "frequent",
    "very frequent",
]);

const STANDARD: &[Row] = &[
    Row::decisive(
        "moisture",
        Values::Ordered(&["dry", "dry-mesic", "mesic", "wet-mesic", "wet"]),
    ),
    Row {
        stands_in_for: Some("moisture"),
        ..Row::decisive(
            "drainage",
            Values::Ordered(&[
                "excessively drained",
                "somewhat excessively drained",
                "well drained",
                "moderately well drained",
                "somewhat poorly drained",
                "poorly drained",
                "very poorly drained",
            ]),
        )
    },
    Row::helpful("water_table", Values::In(Unit::Centimetre)),
    Row::helpful("available_water", Values::In(Unit::Centimetre)),
    Row::helpful("root_depth", Values::In(Unit::Centimetre)),
    Row::helpful("flooding", FREQUENCY),
    Row::helpful("ponding", FREQUENCY),
    Row::helpful(
        "texture",
        Values::Named(&[
            "sand",
            "loamy sand",
            "sandy loam",
            "loam",
            "silt loam",
            "silt",
            "sandy clay loam",
            "clay loam",
            "silty clay loam",
            "sandy clay",
            "silty clay",
            "clay",
        ]),
    ),
    Row::helpful("made_ground", Values::Named(&["natural", "made"])),
    Row::helpful("organic_matter", Values::In(Unit::Percent)),
    Row::helpful("water_surplus", Values::In(Unit::MillimetrePerYear)),
    Row::decisive("ph", Values::In(Unit::Ph)),
    Row::helpful("carbonates", Values::In(Unit::Percent)),
    Row {
        harmless: Harmless::Below(2.0),
        ..Row::decisive("soil_salinity", Values::In(Unit::DecisiemensPerMetre))
    },
    Row {
        harmless: Harmless::UpToClass {
            last: 1,
            told_from: 1,
        },
        ..Row::decisive(
            "spray_salt",
            Values::Ordered(&["none", "slight", "moderate", "heavy", "severe"]),
        )
    },
    // The grams behind the bands: one question with them, not a second.
    Row {
        stands_in_for: Some("spray_salt"),
        ..Row::helpful("spray_dose", Values::In(Unit::GramPerSquareMetre))
    },
    Row {
        stands_in_for: Some("sun_hours"),
        ..Row::decisive("canopy", Values::In(Unit::Percent))
    },
    Row::decisive("sun_hours", Values::In(Unit::HoursPerDay)),
    Row::helpful("spring_sun_hours", Values::In(Unit::HoursPerDay)),
    Row::helpful("slope", Values::In(Unit::Percent)),
    Row::helpful("aspect", Values::In(Unit::Degree)),
    Row::helpful("heat_load", Values::In(Unit::Index)),
    Row::helpful("radiation", Values::In(Unit::Index)),
    Row::helpful("wetness_index", Values::In(Unit::Index)),
    Row::helpful("distance", Values::In(Unit::Metre)),
    Row::helpful("hardiness", Values::In(Unit::Celsius)),
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Order after the USDA Soil Survey Manual (Agriculture Handbook 18),
    /// natural drainage classes, from the driest to the wettest.
    #[test]
    fn drainage_runs_from_dry_to_wet() {
        let drainage = Factor::standard("drainage").unwrap();
        assert_eq!(drainage.kind.classes().unwrap().len(), 7);
        let index = |name| drainage.kind.class_index(name).unwrap();
        assert!(index("excessively drained") < index("Well drained"));
        assert!(index("well drained") < index("very poorly drained"));
        assert!(drainage.decisive);
        assert_eq!(drainage.stands_in_for.as_deref(), Some("moisture"));
    }

    #[test]
    fn every_standard_factor_is_found_by_its_name() {
        for id in Factor::standard_ids() {
            assert_eq!(Factor::standard(id).unwrap().id, id);
        }
        assert!(Factor::standard("rainfall").is_none());
    }

    #[test]
    fn values_are_shown_in_the_units_people_read() {
        let shown = |id: &str, value: f32| {
            let factor = Factor::standard(id).unwrap();
            [Units::Metric, Units::Us].map(|units| factor.show(value, units))
        };
        assert_eq!(shown("distance", 30.48), ["30.5 m", "100.0 ft"]);
        assert_eq!(shown("water_table", 25.4), ["25.4 cm", "10.0 in"]);
        assert_eq!(shown("hardiness", -40.0), ["-40.0 degC", "-40.0 degF"]);
        assert_eq!(shown("ph", 6.12), ["pH 6.1", "pH 6.1"]);
        assert_eq!(shown("canopy", 41.6), ["42 %", "42 %"]);
        assert_eq!(shown("heat_load", 0.456), ["0.46", "0.46"]);
        assert_eq!(shown("drainage", 2.0), ["well drained", "well drained"]);
        assert_eq!(shown("distance", f32::INFINITY), ["beyond reach", "beyond reach"]);
    }

    #[test]
    fn words_begin_where_they_are_said_to() {
        let mut sun = Factor::standard("sun_hours").unwrap();
        assert_eq!(sun.show(6.0, Units::Metric), "6.0 h/day");
        sun.words = [(f64::NEG_INFINITY, "shade"), (3.0, "part sun"), (6.0, "full sun")]
            .map(|(from, word)| (from, word.to_owned()))
            .to_vec();
        let shown = [0.0, 2.9, 3.0, 6.0, 14.0].map(|hours| sun.show(hours, Units::Metric));
        let wanted = [
            "0.0 h/day (shade)",
            "2.9 h/day (shade)",
            "3.0 h/day (part sun)",
            "6.0 h/day (full sun)",
            "14.0 h/day (full sun)",
        ];
        assert_eq!(shown, wanted);
    }
}
