//! How a species stands to the records of a place, in words and numbers.

use crate::project::Units;

/// Whether a species is documented where a zone lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Documented {
    /// In a region that the zone touches.
    Here,
    /// In a region that shares a border with one of those.
    Adjoining,
    /// In neither. It says nothing of whether the species suits: maps of records follow
    /// the collectors.
    Not,
    /// No region lies here, so nothing can be told.
    NoRegion,
}

impl Documented {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Documented::Here => "documented here",
            Documented::Adjoining => "documented in an adjoining region",
            Documented::Not => "not documented",
            Documented::NoRegion => "no region here",
        }
    }
}

/// The record that lies nearest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearestRecord {
    /// From the nearest cell of the zone, rounded; of a blurred record a distance within
    /// which it lies.
    pub metres: f64,
    /// Whether it is blurred.
    pub blurred: bool,
}

impl NearestRecord {
    /// A distance to a place that may be told: to 10 m below 1 km, to 100 m below 10 km,
    /// then to 1 km.
    #[must_use]
    pub fn told(distance_m: f64) -> NearestRecord {
        let step = match distance_m {
            near if near < 1_000.0 => 10.0,
            near if near < 10_000.0 => 100.0,
            _ => 1_000.0,
        };
        NearestRecord {
            metres: (distance_m / step).round() * step,
            blurred: false,
        }
    }

    /// A distance to a square of a side of `blur_m`, somewhere in which the record lies,
    /// told as whole multiples of the side that surely reach it.
    #[must_use]
    pub fn blurred(distance_to_middle_m: f64, blur_m: f64) -> NearestRecord {
        let farthest = distance_to_middle_m + blur_m * std::f64::consts::FRAC_1_SQRT_2;
        NearestRecord {
            metres: (farthest / blur_m).ceil() * blur_m,
            blurred: true,
        }
    }
}

/// One species in one zone, or at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Whether it is documented.
    pub documented: Documented,
    /// The nearest record within reach.
    pub nearest: Option<NearestRecord>,
}

/// Words for the nearest record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecordWords {
    /// How far records were looked for; nothing where the project has none.
    pub reach_m: Option<f64>,
    /// The units of what people read.
    pub units: Units,
}

impl RecordWords {
    /// `3.2 km`, `within 10 km`, `here`, `none within 100 km`; empty where the project has
    /// no records.
    #[must_use]
    pub fn text_at_place(&self, nearest: Option<NearestRecord>) -> String {
        self.worded(nearest, "here")
    }

    /// The same of a zone.
    #[must_use]
    pub fn text(&self, nearest: Option<NearestRecord>) -> String {
        self.worded(nearest, "in the zone")
    }

    fn worded(&self, nearest: Option<NearestRecord>, here: &str) -> String {
        match (nearest, self.reach_m) {
            (None, None) => String::new(),
            (None, Some(reach_m)) => format!("none within {}", distance_words(reach_m, self.units)),
            (Some(record), _) if record.blurred => {
                format!("within {}", distance_words(record.metres, self.units))
            }
            (Some(record), _) if record.metres == 0.0 => here.to_owned(),
            (Some(record), _) => distance_words(record.metres, self.units),
        }
    }
}

fn distance_words(metres: f64, units: Units) -> String {
    let trimmed = |number: f64| {
        let text = if number < 10.0 {
            format!("{number:.1}")
        } else {
            format!("{number:.0}")
        };
        text.trim_end_matches(".0").to_owned()
    };
    match units {
        Units::Metric if metres < 1_000.0 => format!("{metres:.0} m"),
        Units::Metric => format!("{} km", trimmed(metres / 1_000.0)),
        Units::Us if metres < 400.0 => format!("{:.0} ft", metres / 0.3048),
        Units::Us => format!("{} miles", trimmed(metres / 1_609.344)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_are_rounded_and_blurred_ones_reach_the_record() {
        let metres = |distance| NearestRecord::told(distance).metres;
        assert_eq!(
            [4.0, 237.0, 3_250.1, 41_600.0].map(metres),
            [0.0, 240.0, 3_300.0, 42_000.0]
        );
        // Wherever in its square the record lies, the distance told is no shorter.
        for step in 0..50_u32 {
            let middle = f64::from(step) * 333.0;
            let told = NearestRecord::blurred(middle, 5_000.0).metres;
            assert!(told >= middle + 2_500.0 * std::f64::consts::SQRT_2);
            assert!(told % 5_000.0 == 0.0 && told < middle + 9_000.0);
        }
    }

    #[test]
    fn words_fit_the_units() {
        let words = |units| RecordWords {
            reach_m: Some(100_000.0),
            units,
        };
        let metric = words(Units::Metric);
        assert_eq!(metric.text(Some(NearestRecord::told(3_240.0))), "3.2 km");
        assert_eq!(metric.text(Some(NearestRecord::told(0.0))), "in the zone");
        assert_eq!(
            metric.text(Some(NearestRecord::blurred(100.0, 10_000.0))),
            "within 10 km"
        );
        assert_eq!(metric.text(None), "none within 100 km");
        assert_eq!(words(Units::Us).text(None), "none within 62 miles");
    }
}
