//! Words for people: areas, lengths, classes and shares in the units they chose.
//! In come plain numbers, out goes text; the order and choice of what is told lies
//! with the callers.

use super::number::decimal;
use crate::project::Units;
use crate::score::Class;
use crate::species::Species;

/// Square metres in an international acre.
pub const ACRE_M2: f64 = 4_046.856_422_4;
/// Metres in an international foot.
const FOOT_M: f64 = 0.3048;

/// An area in hectares and acres, the chosen unit first: `1.2 ha (3.0 acres)`.
#[must_use]
pub fn area_words(area_m2: f64, units: Units) -> String {
    let hectares = format!("{} ha", area_number(area_m2 / 10_000.0));
    let acres = format!("{} acres", area_number(area_m2 / ACRE_M2));
    match units {
        Units::Metric => format!("{hectares} ({acres})"),
        Units::Us => format!("{acres} ({hectares})"),
    }
}

/// One decimal is enough on paper, but a small area must not read as 0.
fn area_number(value: f64) -> String {
    // A sum of nothing is written -0 otherwise.
    match value + 0.0 {
        v if v >= 0.95 || v == 0.0 => format!("{v:.1}"),
        v if v >= 0.095 => format!("{v:.2}"),
        v => format!("{v:.3}"),
    }
}

/// A length in the chosen unit: `12 m` or `39 ft`.
#[must_use]
pub fn length_words(length_m: f64, units: Units) -> String {
    let (value, unit) = match units {
        Units::Metric => (length_m, "m"),
        Units::Us => (length_m / FOOT_M, "ft"),
    };
    let decimals = usize::from(value.abs() < 10.0);
    match decimal(value, decimals) {
        Some(number) => format!("{number} {unit}"),
        None => "beyond reach".to_owned(),
    }
}

/// A suitability class, words before the code: `well suited (S1)`.
#[must_use]
pub fn class_words(class: Class) -> String {
    format!("{} ({class})", class.words())
}

/// A share as whole per cent; neither 0 nor 100 when it is not quite.
#[must_use]
pub fn share_words(share: f64) -> String {
    match share {
        s if s > 0.0 && s < 0.005 => "under 1 %".to_owned(),
        s if (0.995..1.0).contains(&s) => "over 99 %".to_owned(),
        s => format!("{:.0} %", s * 100.0),
    }
}

/// The id of a factor as words: `soil_salinity` is `soil salinity`.
#[must_use]
pub fn factor_words(id: &str) -> String {
    match id {
        "ph" => "pH".to_owned(),
        id => id.replace('_', " "),
    }
}

/// The names of a species in a list: `tussock sedge (Carex stricta)`.
#[must_use]
pub fn species_words(species: &Species) -> String {
    match (species.common_name.trim(), species.scientific_name.trim()) {
        ("", scientific) => scientific.to_owned(),
        (common, "") => common.to_owned(),
        (common, scientific) => format!("{common} ({scientific})"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The international acre is 4,046.8564224 m2 and the foot 0.3048 m (NIST
    /// Special Publication 811, appendix B).
    #[test]
    fn both_area_units_are_given_and_the_chosen_one_leads() {
        assert_eq!(area_words(12_345.0, Units::Metric), "1.2 ha (3.1 acres)");
        assert_eq!(area_words(12_345.0, Units::Us), "3.1 acres (1.2 ha)");
        assert_eq!(area_words(100.0, Units::Metric), "0.010 ha (0.025 acres)");
        assert_eq!(area_words(-0.0, Units::Metric), "0.0 ha (0.0 acres)");
        assert_eq!(length_words(30.48, Units::Us), "100 ft");
        assert_eq!(length_words(2.5, Units::Metric), "2.5 m");
        assert_eq!(length_words(f64::INFINITY, Units::Metric), "beyond reach");
    }

    #[test]
    fn words_come_before_codes() {
        assert_eq!(class_words(Class::S1), "well suited (S1)");
        assert_eq!(share_words(0.999), "over 99 %");
        assert_eq!(share_words(0.001), "under 1 %");
        assert_eq!(share_words(1.0), "100 %");
        assert_eq!(factor_words("soil_salinity"), "soil salinity");
    }
}
