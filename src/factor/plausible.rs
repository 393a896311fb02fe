//! The values that ground can have, by factor and unit: to find slips of the pen in a
//! catalogue, and in layers numbers that stand for "no data" or are in another unit.
//! Knows no layer and no species.

use super::{Factor, Kind, Unit};

impl Factor {
    /// The lowest and the highest value of a measured factor, or nothing for
    /// classes and for units in which anything may be.
    #[must_use]
    pub fn plausible(&self) -> Option<(f64, f64)> {
        let Kind::Measured(unit) = self.kind else {
            return None;
        };
        match unit {
            Unit::Percent => match self.id.as_str() {
                "canopy" | "organic_matter" | "carbonates" => Some((0.0, 100.0)),
                "slope" => Some((0.0, 1000.0)),
                _ => None,
            },
            Unit::Ph => Some((0.0, 14.0)),
            Unit::DecisiemensPerMetre => Some((0.0, 200.0)),
            Unit::GramPerSquareMetre => Some((0.0, 1e6)),
            Unit::HoursPerDay => Some((0.0, 24.0)),
            Unit::Degree => Some((0.0, 360.0)),
            Unit::Celsius => Some((-90.0, 60.0)),
            Unit::Metre | Unit::Centimetre | Unit::MillimetrePerYear | Unit::Index => None,
        }
    }
}
