//! Values that no ground has: numbers that stand for "no data" in a layer that does
//! not say so, or are in another unit. In come the numbers of one factor; out go
//! missing values, and counts for people. It does not know which layer they are of.

use crate::factor::Factor;
use crate::plural::{counted, one_or_many};

/// Where anything may be, numbers like -9999 and -3.4e38 still stand for no data.
const ANYTHING: (f64, f64) = (-9_000.0, 1e9);

/// Heights of dry ground and a margin, from the Dead Sea's shore to the Himalaya.
const HEIGHTS_M: (f64, f64) = (-500.0, 9_000.0);

/// The values a factor can have.
#[derive(Debug, Clone, PartialEq)]
pub struct Possible {
    lowest: f64,
    highest: f64,
    slack: f64,
}

/// Values that are none, with their extremes.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Impossible {
    /// How many.
    pub count: u64,
    /// The lowest of them.
    pub lowest: f64,
    /// The highest of them.
    pub highest: f64,
}

impl Possible {
    /// The values of a factor; with `cuts` they come in the layer's own unit, in which
    /// only numbers for "no data" can be told.
    #[must_use]
    pub fn of(factor: &Factor, cuts: bool) -> Possible {
        let known = factor.plausible().filter(|_| !cuts);
        let (lowest, highest) = known.unwrap_or(ANYTHING);
        Possible {
            lowest,
            highest,
            // A conversion may leave 100.00001 % of what is all.
            slack: (highest - lowest).min(1_000.0) * 1e-6,
        }
    }

    /// The heights that ground can have.
    #[must_use]
    pub fn heights(metres_per_unit: f64) -> Possible {
        Possible {
            lowest: HEIGHTS_M.0 / metres_per_unit,
            highest: HEIGHTS_M.1 / metres_per_unit,
            slack: 0.0,
        }
    }

    /// The values from one to another.
    #[must_use]
    pub fn between(lowest: f64, highest: f64) -> Possible {
        Possible {
            lowest,
            highest,
            slack: 0.0,
        }
    }

    /// What is wrong with heights, for people.
    #[must_use]
    pub fn told_of_heights(found: &Impossible) -> String {
        format!(
            "heights of {} are none that ground has, and {} {} them: what is computed from them is missing; say `nodata = ...` if they stand for \"no data\", or the right `vertical_unit`",
            found.shown(),
            counted(found.count, "cell"),
            one_or_many(found.count, "has", "have")
        )
    }

    /// What is wrong with the salinity that road salt comes to, for people.
    #[must_use]
    pub fn told_of_salinity(found: &Impossible) -> String {
        format!(
            "{} {} to {} dS/m, more salt than soil water can hold: {} missing; are the water surplus (mm a year), `leaching` and the rates of salt right?",
            counted(found.count, "cell"),
            one_or_many(found.count, "comes", "come"),
            found.shown(),
            one_or_many(found.count, "it is", "they are")
        )
    }

    /// Whether ground can have a value; missing ones are none of its business.
    #[must_use]
    #[inline]
    #[expect(
        clippy::needless_bitwise_bool,
        reason = "no branch may hang on the value, so that several are asked at once"
    )]
    pub fn holds(&self, value: f64) -> bool {
        value.is_nan() | ((value >= self.lowest - self.slack) & (value <= self.highest + self.slack))
    }

    /// What is wrong with values, for people.
    #[must_use]
    pub fn told(&self, factor: &Factor, found: &Impossible, thing: &str) -> String {
        let values = found.shown();
        let range = if self.lowest.to_bits() == ANYTHING.0.to_bits() {
            "numbers like that stand for \"no data\"".to_owned()
        } else {
            format!("it runs from {} to {}", self.lowest, self.highest)
        };
        format!(
            "{values} is no value of `{}` ({range}), and {} {} it: {} ground is missing; say `nodata = ...` if it stands for \"no data\", or `unit = \"...\"` if the layer is in another unit",
            factor.id,
            counted(found.count, thing),
            one_or_many(found.count, "has", "have"),
            one_or_many(found.count, "its", "their")
        )
    }
}

impl Impossible {
    /// Counts one value.
    pub fn count(&mut self, value: f64) {
        self.add(&Impossible {
            count: 1,
            lowest: value,
            highest: value,
        });
    }

    fn shown(&self) -> String {
        if self.lowest < self.highest {
            format!("{} to {}", shown(self.lowest), shown(self.highest))
        } else {
            shown(self.lowest)
        }
    }

    /// Adds what was found elsewhere.
    pub fn add(&mut self, other: &Impossible) {
        if other.count == 0 {
            return;
        }
        if self.count == 0 {
            *self = *other;
            return;
        }
        self.count += other.count;
        self.lowest = self.lowest.min(other.lowest);
        self.highest = self.highest.max(other.highest);
    }
}

fn shown(value: f64) -> String {
    if value.abs() >= 1e15 {
        format!("{value:e}")
    } else {
        let text = format!("{value:.3}");
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_for_no_data_and_of_other_units_are_no_values() {
        let of = |id: &str, cuts| Possible::of(&Factor::standard(id).unwrap(), cuts);
        let (ph, canopy, water) = (of("ph", false), of("canopy", false), of("water_table", false));
        assert!(ph.holds(6.5) && ph.holds(f64::NAN));
        assert!(!ph.holds(65.0) && !ph.holds(-9999.0) && !ph.holds(f64::INFINITY));
        assert!(canopy.holds(100.000_01) && !canopy.holds(255.0) && !canopy.holds(-1.0));
        assert!(water.holds(-20.0) && !water.holds(-9999.0) && !water.holds(f64::from(f32::MIN)));
        let feet = Possible::heights(0.3048);
        assert!(feet.holds(29_000.0) && feet.holds(f64::NAN) && !feet.holds(-9999.0));
        assert!(of("canopy", true).holds(255.0) && !of("canopy", true).holds(-9999.0));
    }

    #[test]
    fn what_is_told_names_values_range_and_way_out() {
        let factor = Factor::standard("canopy").unwrap();
        let mut found = Impossible::default();
        found.count(255.0);
        let mut other = Impossible::default();
        other.count(127.5);
        found.add(&other);
        found.add(&Impossible::default());
        assert_eq!(
            Possible::of(&factor, false).told(&factor, &found, "cell"),
            "127.5 to 255 is no value of `canopy` (it runs from 0 to 100), and 2 cells have it: their ground is missing; say `nodata = ...` if it stands for \"no data\", or `unit = \"...\"` if the layer is in another unit"
        );
    }
}
