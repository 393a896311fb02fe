//! Traits as people read them: the label, and the value with its unit in metric or US
//! terms. Values that are no numbers stay as the catalogue words them.

use super::places::abbreviated;
use crate::factor::Units;
use crate::species::{KnownTrait, SetAside, Values};

/// A conversion of numbers of the catalogue to those that people read.
struct Reader {
    scale: f64,
    offset: f64,
    symbol: &'static str,
    /// Whole numbers, or three digits that count.
    whole: bool,
}

/// What people call a trait: its label in these units, or its name where the program
/// does not know it.
#[must_use]
pub fn trait_label(name: &str, units: Units) -> &str {
    match (name, units) {
        ("plants_per_ha", Units::Us) => "plants an acre",
        ("seeds_per_kg", Units::Us) => "seeds a pound",
        _ => KnownTrait::of(name).map_or(name, |known| known.label),
    }
}

/// The value of a trait in these units, long lists of places as codes.
#[must_use]
pub fn trait_shown(name: &str, value: &str, units: Units) -> String {
    if name == "present_in" {
        return abbreviated(value);
    }
    let Some(Values::Number { unit, .. }) = KnownTrait::of(name).map(|known| known.values) else {
        return value.to_owned();
    };
    let reader = match units {
        Units::Us => us_reader(name, unit),
        Units::Metric => None,
    };
    let numbers: Option<Vec<f64>> = value.split(" to ").map(|text| text.trim().parse().ok()).collect();
    let (text, symbol) = match (reader, numbers) {
        (Some(reader), Some(numbers)) => {
            let numbers: Vec<String> = numbers.iter().map(|number| reader.write(*number)).collect();
            (numbers.join(" to "), reader.symbol)
        }
        (_, None) => return value.to_owned(),
        (None, Some(_)) => (value.to_owned(), unit),
    };
    match symbol {
        // Labels say pH.
        "" | "pH" => text,
        symbol => format!("{text} {}", spelt(symbol)),
    }
}

fn spelt(symbol: &str) -> &str {
    match symbol {
        "degC" => "\u{b0}C",
        "degF" => "\u{b0}F",
        other => other,
    }
}

fn us_reader(name: &str, unit: &str) -> Option<Reader> {
    let reader = |scale, symbol, whole| Reader {
        scale,
        offset: 0.0,
        symbol,
        whole,
    };
    Some(match (name, unit) {
        ("plants_per_ha", _) => reader(0.404_685_642_24, "", true),
        ("seeds_per_kg", _) => reader(0.453_592_37, "", true),
        (_, "m") => reader(1.0 / 0.3048, "ft", false),
        (_, "cm") => reader(1.0 / 2.54, "in", false),
        (_, "mm") => reader(1.0 / 25.4, "in", false),
        (_, "degC") => Reader {
            scale: 1.8,
            offset: 32.0,
            symbol: "degF",
            whole: false,
        },
        _ => return None,
    })
}

impl Reader {
    fn write(&self, number: f64) -> String {
        let number = number * self.scale + self.offset;
        if self.whole {
            return format!("{number:.0}");
        }
        short_number(number)
    }
}

/// Three digits that count, without trailing zeros.
#[must_use]
pub fn short_number(number: f64) -> String {
    let decimals = match number.abs() {
        size if size >= 99.95 => 0,
        size if size >= 9.995 => 1,
        size if size >= 0.9995 => 2,
        _ => 3,
    };
    let text = format!("{number:.decimals$}");
    let text = if decimals > 0 {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" { "0" } else { text }.to_owned()
}

/// A note as it stands behind a value: where other values are set aside, the value is
/// disputed and says so.
#[must_use]
pub fn told_note(note: &str, aside: &[SetAside]) -> String {
    match (note, aside.is_empty()) {
        ("", true) => String::new(),
        ("", false) => "; disputed".to_owned(),
        (note, false) if !note.starts_with("disputed") => format!("; disputed: {note}"),
        (note, _) => format!("; {note}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_told_in_the_units_people_read() {
        let both = |name, value| [Units::Metric, Units::Us].map(|units| trait_shown(name, value, units));
        assert_eq!(both("height_m", "20.73"), ["20.73 m", "68 ft"]);
        assert_eq!(both("spread_m", "0.5 to 1.22"), ["0.5 to 1.22 m", "1.64 to 4 ft"]);
        assert_eq!(both("root_depth_cm", "76"), ["76 cm", "29.9 in"]);
        assert_eq!(both("seeds_per_kg", "50089"), ["50089", "22720"]);
        assert_eq!(both("recorded_ph_lowest", "4.7"), ["4.7", "4.7"]);
        assert_eq!(
            both("recorded_lowest_temperature_c", "-40"),
            ["-40 \u{b0}C", "-40 \u{b0}F"]
        );
        assert_eq!(both("height_m", "tall"), ["tall", "tall"]);
        assert_eq!(both("flower_colour", "red"), ["red", "red"]);
        assert_eq!(trait_label("seeds_per_kg", Units::Us), "seeds a pound");
        assert_eq!(trait_label("bark", Units::Us), "bark");
    }

    #[test]
    fn three_digits_count() {
        let numbers = [0.0, 0.1234, 1.0, 1.234, 12.34, 123.4, -0.000_1, 9.999];
        let texts = numbers.map(short_number);
        assert_eq!(texts, ["0", "0.123", "1", "1.23", "12.3", "123", "0", "10"]);
    }
}
