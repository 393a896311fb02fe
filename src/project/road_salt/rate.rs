//! What is spread on a road, as grams of sodium chloride with the same chloride:
//! numbers, and the words and keys they come from.

use crate::project::table::Table;
use crate::project::value::{ABOVE_ZERO, Need};

/// A salt that is spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Salt {
    /// Sodium chloride.
    SodiumChloride,
    /// Magnesium chloride without water.
    MagnesiumChloride,
    /// Magnesium chloride with six parts of water, as it is sold in flakes.
    MagnesiumChlorideFlakes,
    /// Calcium chloride without water.
    CalciumChloride,
    /// Calcium chloride with two parts of water, as it is sold in flakes.
    CalciumChlorideFlakes,
}

/// Molar masses, grams a mole, from the standard atomic weights (IUPAC), rounded: magnesium
/// 24.305 and chlorine 35.453; those of the other elements from memory, unverified.
const NACL: f64 = 58.443;

impl Salt {
    /// The words of project files and layers.
    pub const WORDS: [(&'static str, Salt); 5] = [
        ("NaCl", Salt::SodiumChloride),
        ("MgCl2", Salt::MagnesiumChloride),
        ("MgCl2.6H2O", Salt::MagnesiumChlorideFlakes),
        ("CaCl2", Salt::CalciumChloride),
        ("CaCl2.2H2O", Salt::CalciumChlorideFlakes),
    ];

    /// Grams of sodium chloride that hold as much chloride as a gram of this salt.
    ///
    /// # Method
    /// Equal moles of chloride: the other two salts hold two for one.
    #[must_use]
    pub fn as_sodium_chloride(self) -> f64 {
        match self {
            Salt::SodiumChloride => 1.0,
            Salt::MagnesiumChloride => 2.0 * NACL / 95.211,
            Salt::MagnesiumChlorideFlakes => 2.0 * NACL / 203.30,
            Salt::CalciumChloride => 2.0 * NACL / 110.984,
            Salt::CalciumChlorideFlakes => 2.0 * NACL / 147.01,
        }
    }

    /// The most of the salt that a brine holds, per cent by mass at 20 degrees C, rounded up.
    ///
    /// From memory, unverified; only numbers that cannot be are kept out by it.
    #[must_use]
    pub fn most_in_brine_pct(self) -> f64 {
        match self {
            Salt::SodiumChloride => 27.0,
            Salt::MagnesiumChloride => 36.0,
            Salt::MagnesiumChlorideFlakes => 77.0,
            Salt::CalciumChloride => 45.0,
            Salt::CalciumChlorideFlakes => 60.0,
        }
    }

    /// The density of a brine, kilograms a litre.
    ///
    /// # Method
    /// 1 and so much for each per cent of salt without water: sodium chloride 0.0076,
    /// magnesium chloride 0.0093, calcium chloride 0.0097. From memory, unverified;
    /// good to 2 %. `brine_kg_per_litre` goes before it.
    #[must_use]
    pub fn brine_kg_per_litre(self, percent: f64) -> f64 {
        let per_pct = match self {
            Salt::SodiumChloride => 0.0076,
            Salt::MagnesiumChloride => 0.0093,
            Salt::MagnesiumChlorideFlakes => 0.0093 * 95.211 / 203.30,
            Salt::CalciumChloride => 0.0097,
            Salt::CalciumChlorideFlakes => 0.0097 * 110.984 / 147.01,
        };
        1.0 + per_pct * percent
    }
}

/// A unit of what is spread in a winter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RateUnit {
    /// Kilograms on a kilometre of lane.
    KilogramsPerLaneKm,
    /// Tonnes on a kilometre of lane.
    TonnesPerLaneKm,
    /// Pounds on a mile of lane.
    PoundsPerLaneMile,
    /// Short tons (2,000 pounds) on a mile of lane.
    ShortTonsPerLaneMile,
    /// Litres of brine on a kilometre of lane.
    LitresPerLaneKm,
    /// United States gallons of brine on a mile of lane.
    GallonsPerLaneMile,
}

impl RateUnit {
    /// The words of project files.
    pub const WORDS: [(&'static str, RateUnit); 6] = [
        ("kg/lane-km", RateUnit::KilogramsPerLaneKm),
        ("t/lane-km", RateUnit::TonnesPerLaneKm),
        ("lb/lane-mile", RateUnit::PoundsPerLaneMile),
        ("ton/lane-mile", RateUnit::ShortTonsPerLaneMile),
        ("L/lane-km", RateUnit::LitresPerLaneKm),
        ("gal/lane-mile", RateUnit::GallonsPerLaneMile),
    ];

    /// Whether it counts brine and not salt.
    #[must_use]
    pub fn is_brine(self) -> bool {
        matches!(self, RateUnit::LitresPerLaneKm | RateUnit::GallonsPerLaneMile)
    }

    /// Grams (millilitres for brine) on a metre of lane in one of this unit. A pound
    /// is 0.45359237 kg, a mile 1,609.344 m, a gallon 3.785411784 L, all by definition (the
    /// international yard and pound; 231 cubic inches).
    fn per_metre(self) -> f64 {
        match self {
            RateUnit::KilogramsPerLaneKm | RateUnit::LitresPerLaneKm => 1.0,
            RateUnit::TonnesPerLaneKm => 1000.0,
            RateUnit::PoundsPerLaneMile => 453.592_37 / 1609.344,
            RateUnit::ShortTonsPerLaneMile => 2000.0 * 453.592_37 / 1609.344,
            RateUnit::GallonsPerLaneMile => 3_785.411_784 / 1609.344,
        }
    }
}

/// The most that anybody could spread on a lane in a winter: 150 kg on a kilometre,
/// 400 times. From memory, unverified; more is taken to be another unit.
pub const MOST_KG_PER_LANE_KM: f64 = 60_000.0;

/// What is spread: a salt, dry or as brine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// The salt.
    pub salt: Salt,
    /// `brine_percent`: salt in a brine, per cent by mass.
    pub brine_percent: Option<f64>,
    /// `brine_kg_per_litre`: density of the brine.
    pub brine_kg_per_litre: Option<f64>,
}

const BRINE_DENSITY: Need = Need {
    words: "a density from 1 to 1.6 kg a litre",
    holds: |density| (1.0..=1.6).contains(&density),
};

impl Spread {
    /// A salt and the brine that a table tells of.
    pub(super) fn read_brine(table: &Table, salt: Salt) -> Spread {
        let percent = table.number("brine_percent", ABOVE_ZERO);
        let most = salt.most_in_brine_pct();
        if let Some(percent) = percent.as_ref().filter(|percent| percent.value > most) {
            percent.spot.problem(format!(
                "found {}, needed at most {most}: no brine holds more of the salt",
                percent.value
            ));
        }
        Spread {
            salt,
            brine_percent: percent.map(|found| found.value),
            brine_kg_per_litre: table
                .number("brine_kg_per_litre", BRINE_DENSITY)
                .map(|found| found.value),
        }
    }

    /// A rate as grams of sodium chloride with the same chloride on a metre of lane
    /// (the same number as kilograms on a kilometre).
    ///
    /// # Missing
    /// Nothing for a brine whose strength is not given.
    #[must_use]
    pub fn grams_per_lane_metre(&self, rate: f64, unit: RateUnit) -> Option<f64> {
        let salt_g = if unit.is_brine() {
            let percent = self.brine_percent?;
            let density = self
                .brine_kg_per_litre
                .unwrap_or_else(|| self.salt.brine_kg_per_litre(percent));
            rate * unit.per_metre() * density * percent / 100.0
        } else {
            rate * unit.per_metre()
        };
        Some(salt_g * self.salt.as_sodium_chloride())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRY: Spread = Spread {
        salt: Salt::SodiumChloride,
        brine_percent: None,
        brine_kg_per_litre: None,
    };

    #[test]
    fn rates_come_to_grams_on_a_metre_of_lane() {
        let of = |rate, unit| DRY.grams_per_lane_metre(rate, unit).unwrap();
        assert!((of(9_000.0, RateUnit::KilogramsPerLaneKm) - 9_000.0).abs() < 1e-9);
        assert!((of(9.0, RateUnit::TonnesPerLaneKm) - 9_000.0).abs() < 1e-9);
        // 1 lb/mile is 0.28185 kg/km.
        assert!((of(1_000.0, RateUnit::PoundsPerLaneMile) - 281.849).abs() < 1e-3);
        assert!((of(1.0, RateUnit::ShortTonsPerLaneMile) - 563.698).abs() < 1e-3);
        assert_eq!(DRY.grams_per_lane_metre(1.0, RateUnit::LitresPerLaneKm), None);
        let brine = Spread {
            brine_percent: Some(23.0),
            brine_kg_per_litre: Some(1.17),
            ..DRY
        };
        let litres = brine.grams_per_lane_metre(100.0, RateUnit::LitresPerLaneKm);
        assert!((litres.unwrap() - 100.0 * 1.17 * 0.23).abs() < 1e-9);
        let gallons = brine.grams_per_lane_metre(100.0, RateUnit::GallonsPerLaneMile);
        assert!((gallons.unwrap() / litres.unwrap() - 3.785_411_784 / 1.609_344).abs() < 1e-9);
    }

    /// Chloride in 100 g: 60.66, 74.47 and 63.89 g, from the
    /// atomic weights (Cl 35.453).
    #[test]
    fn salts_count_by_their_chloride() {
        for (salt, chloride) in [
            (Salt::SodiumChloride, 60.663),
            (Salt::MagnesiumChloride, 74.473),
            (Salt::CalciumChloride, 63.889),
        ] {
            assert!(
                (salt.as_sodium_chloride() - chloride / 60.663).abs() < 1e-4,
                "{salt:?}"
            );
        }
        // Flakes are the salt with its water.
        let water = 203.30 / 95.211;
        let dry = Salt::MagnesiumChloride.as_sodium_chloride();
        assert!((Salt::MagnesiumChlorideFlakes.as_sodium_chloride() * water - dry).abs() < 1e-9);
    }
}
