//! Units of layers that are not the factor's own.

use crate::factor::Unit;
use crate::nearest::{listed, quoted};
use crate::project::table::Table;

/// A unit as written, and the way from its numbers to the wanted unit's.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitConversion {
    /// The unit as the project file has it.
    pub as_written: String,
    /// Multiply by this first.
    pub multiply: f64,
    /// Then add this.
    pub add: f64,
}

impl UnitConversion {
    /// A number in the unit as written, in the wanted unit.
    #[must_use]
    pub fn apply(&self, value: f64) -> f64 {
        value * self.multiply + self.add
    }

    pub(in crate::project) fn read(table: &Table, key: &'static str, unit: Unit) -> Option<UnitConversion> {
        let written = table.text(key)?;
        let conversion = unit.from_symbol(written.value.trim());
        let Some((multiply, add)) = conversion else {
            let symbols = convertible(unit);
            written.spot.problem(format!(
                "found the unit {}, needed one that converts to {unit}: {}",
                quoted(written.value),
                listed(&symbols)
            ));
            return None;
        };
        Some(UnitConversion {
            as_written: written.value.to_owned(),
            multiply,
            add,
        })
    }
}

/// Symbols a user may write beside those of the units themselves.
const OTHER_SYMBOLS: [&str; 14] = [
    "fraction",
    "ft",
    "US survey ft",
    "km",
    "mm",
    "in",
    "in/year",
    "mmho/cm",
    "mS/cm",
    "uS/cm",
    "mS/m",
    "rad",
    "degF",
    "K",
];

fn convertible(unit: Unit) -> Vec<&'static str> {
    let own = Unit::ALL.map(Unit::symbol);
    let all = own.into_iter().chain(OTHER_SYMBOLS);
    all.filter(|symbol| unit.from_symbol(symbol).is_some()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_symbol_offered_converts_to_some_unit() {
        for symbol in OTHER_SYMBOLS {
            let converts = |unit: &Unit| convertible(*unit).contains(&symbol);
            assert!(Unit::ALL.iter().any(converts), "{symbol}");
        }
        assert_eq!(convertible(Unit::Celsius), ["degC", "degF", "K"]);
    }
}
