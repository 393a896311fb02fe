//! Units of measured factors, and those in which people read them. Pure numbers and
//! symbols: knows no factor.

use std::fmt;

/// The units of what people read. Files keep metric values either way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Units {
    /// `metric`: metres and hectares.
    Metric,
    /// `us`: feet and acres.
    Us,
}

/// Units of measured factors. Values are converted when they are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Per cent, 0 to 100 and beyond (a slope of 45 degrees is 100 %).
    Percent,
    /// Metres.
    Metre,
    /// Centimetres.
    Centimetre,
    /// Millimetres a year.
    MillimetrePerYear,
    /// pH, measured in water.
    Ph,
    /// Electrical conductivity of the saturation extract, decisiemens a metre.
    DecisiemensPerMetre,
    /// Grams on a square metre.
    GramPerSquareMetre,
    /// Hours a day.
    HoursPerDay,
    /// Degrees of angle.
    Degree,
    /// Degrees Celsius.
    Celsius,
    /// A number without a unit.
    Index,
}

impl Unit {
    /// All units, in the order in which they are listed for people.
    pub const ALL: [Unit; 11] = [
        Unit::Percent,
        Unit::Metre,
        Unit::Centimetre,
        Unit::MillimetrePerYear,
        Unit::Ph,
        Unit::DecisiemensPerMetre,
        Unit::GramPerSquareMetre,
        Unit::HoursPerDay,
        Unit::Degree,
        Unit::Celsius,
        Unit::Index,
    ];

    /// The unit as written in project files and shown to people: `dS/m`.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Unit::Percent => "%",
            Unit::Metre => "m",
            Unit::Centimetre => "cm",
            Unit::MillimetrePerYear => "mm/year",
            Unit::Ph => "pH",
            Unit::DecisiemensPerMetre => "dS/m",
            Unit::GramPerSquareMetre => "g/m2",
            Unit::HoursPerDay => "h/day",
            Unit::Degree => "deg",
            Unit::Celsius => "degC",
            Unit::Index => "index",
        }
    }

    /// The multiplier and the addend that turn a number in the unit written
    /// `symbol` into this unit, or nothing when the two do not measure the same.
    ///
    /// ```
    /// use groundfit::factor::Unit;
    /// assert_eq!(Unit::Metre.from_symbol("ft"), Some((0.3048, 0.0)));
    /// assert_eq!(Unit::Metre.from_symbol("%"), None);
    /// ```
    #[must_use]
    #[expect(clippy::match_same_arms, reason = "one line a unit reads as a table")]
    pub fn from_symbol(self, symbol: &str) -> Option<(f64, f64)> {
        let scale = match (self, symbol) {
            (unit, symbol) if symbol.eq_ignore_ascii_case(unit.symbol()) => 1.0,
            (Unit::Percent, "fraction") => 100.0,
            (Unit::Metre, "ft") => 0.3048,
            (Unit::Metre, "US survey ft") => 1200.0 / 3937.0,
            (Unit::Metre, "km") => 1000.0,
            (Unit::Metre, "cm") => 0.01,
            (Unit::Centimetre, "m") => 100.0,
            (Unit::Centimetre, "mm") => 0.1,
            (Unit::Centimetre, "in") => 2.54,
            (Unit::Centimetre, "ft") => 30.48,
            (Unit::MillimetrePerYear, "in/year") => 25.4,
            (Unit::DecisiemensPerMetre, "mmho/cm" | "mS/cm") => 1.0,
            (Unit::DecisiemensPerMetre, "uS/cm") => 0.001,
            (Unit::DecisiemensPerMetre, "mS/m") => 0.01,
            (Unit::Degree, "rad") => 180.0 / std::f64::consts::PI,
            (Unit::Celsius, "degF") => return Some((5.0 / 9.0, -160.0 / 9.0)),
            (Unit::Celsius, "K") => return Some((1.0, -273.15)),
            _ => return None,
        };
        Some((scale, 0.0))
    }

    /// A number in this unit as people read it in `units`: the converted number and
    /// the symbol of what it is then in.
    #[must_use]
    pub fn for_people(self, value: f64, units: Units) -> (f64, &'static str) {
        let symbol = match (units, self) {
            (Units::Us, Unit::Metre) => "ft",
            (Units::Us, Unit::Centimetre) => "in",
            (Units::Us, Unit::MillimetrePerYear) => "in/year",
            (Units::Us, Unit::Celsius) => "degF",
            _ => return (value, self.symbol()),
        };
        match self.from_symbol(symbol) {
            Some((scale, offset)) => ((value - offset) / scale, symbol),
            None => (value, self.symbol()),
        }
    }

    /// Decimals with which people read a number in this unit.
    #[must_use]
    pub fn decimals(self) -> usize {
        match self {
            Unit::Percent => 0,
            Unit::Index => 2,
            _ => 1,
        }
    }

    /// A number, written already, with the symbol that [`Unit::for_people`] gives:
    /// `12.5 ft`, `pH 6.1`.
    #[must_use]
    pub fn beside(self, number: &str, symbol: &str) -> String {
        match self {
            Unit::Ph => format!("pH {number}"),
            Unit::Index => number.to_owned(),
            _ => format!("{number} {symbol}"),
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_fahrenheit_have_an_offset() {
        let (scale, offset) = Unit::Celsius.from_symbol("degF").unwrap();
        assert!((-40.0 * scale + offset + 40.0).abs() < 1e-12);
        assert!((212.0 * scale + offset - 100.0).abs() < 1e-12);
    }
}
