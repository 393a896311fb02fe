//! The salt of roads in each soil of a map unit: the same salty water comes to all of
//! them, and each keeps of it what its drainage leaves. In come values of a cell's
//! factors; out goes the salinity of one soil. Knows neither roads nor species.

use super::root_zone::{RootZone, SaltyWater};

/// Id of the factor that the program adds where soils are rated one by one: how salty
/// the water is that enters the ground, in dS/m.
pub const SALT_WATER: &str = "salt_water";

/// Id of the factor beside it where it matters how much that water is, in mm a year.
pub const LEACHING_WATER: &str = "leaching_water";

/// The amount of the water that enters the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LeachingWater {
    /// The same in all places, or it does not matter; in millimetres a year.
    Everywhere(f64),
    /// That of the factor at this position.
    Factor(usize),
}

/// What salt does to the soils of map units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltOfSoils {
    /// Position of the factor `soil_salinity`.
    pub salinity: usize,
    /// Position of the factor `drainage`, drawn from the survey.
    pub drainage: usize,
    /// Position of the factor [`SALT_WATER`].
    pub salt_water: usize,
    /// The amount of that water.
    pub amount: LeachingWater,
    /// What all root zones have in common.
    pub zone: RootZone,
}

impl SaltOfSoils {
    /// The salinity of a soil of a drainage class in a cell of these values.
    #[must_use]
    pub fn ds_m(&self, values: &[f32], drainage: f32) -> f32 {
        let mm = match self.amount {
            LeachingWater::Everywhere(mm) => mm,
            LeachingWater::Factor(position) => f64::from(floor(values[position])),
        };
        self.in_water(floor(values[self.salt_water]), mm, drainage)
    }

    /// The salinity of a soil of a drainage class in water of so many dS/m and
    /// millimetres.
    #[must_use]
    pub fn in_water(&self, ds_m: f32, mm: f64, drainage: f32) -> f32 {
        let ds_m = f64::from(ds_m);
        self.zone.ds_m(SaltyWater { ds_m, mm }, drainage)
    }

    /// Whether a factor only stands behind the salinity of soils.
    #[must_use]
    pub fn is_behind(&self, factor: usize) -> bool {
        factor == self.salt_water || self.amount == LeachingWater::Factor(factor)
    }

    /// The factors that stand behind the salinity of soils.
    pub fn behind(&self) -> impl Iterator<Item = usize> + use<> {
        let amount = match self.amount {
            LeachingWater::Everywhere(_) => None,
            LeachingWater::Factor(position) => Some(position),
        };
        [self.salt_water].into_iter().chain(amount)
    }
}

/// Bits of a single-precision number that a step leaves out: 64 steps to each doubling.
const LEFT_OUT: u32 = 23 - 6;
const STEP: u32 = 1 << LEFT_OUT;
/// The first step above nothing, about a thousandth, and the last, about a million.
const FIRST: f32 = 1.0 / 1024.0;
const LAST: f32 = 1024.0 * 1024.0;

/// A number in the steps in which salty water is held, so that ground is alike over
/// some distance: 64 steps to a doubling, so off by 0.8 % at most; under a thousandth
/// it is nothing.
///
/// # Missing
/// Not a number stays so.
#[must_use]
#[expect(
    clippy::cast_possible_truncation,
    reason = "values are held in single precision"
)]
pub fn held(value: f64) -> f32 {
    let value = value as f32;
    if value.is_nan() || value < FIRST {
        return floor(value);
    }
    let value = value.min(LAST);
    floor(f32::from_bits(value.to_bits() + STEP / 2))
}

/// The step that a number has reached.
fn floor(value: f32) -> f32 {
    if value.is_nan() {
        value
    } else if value < FIRST {
        0.0
    } else {
        f32::from_bits(value.min(LAST).to_bits() & !(STEP - 1))
    }
}

/// All steps above nothing, rising.
pub fn steps() -> impl Iterator<Item = f32> {
    let bits = (FIRST.to_bits()..=LAST.to_bits()).step_by(STEP as usize);
    bits.map(f32::from_bits)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_held_in_steps_of_less_than_two_per_cent() {
        let all: Vec<f32> = steps().collect();
        assert_eq!((all.len(), all[0], all[all.len() - 1]), (1921, FIRST, LAST));
        for pair in all.windows(2) {
            let (from, to) = (f64::from(pair[0]), f64::from(pair[1]));
            assert!(to / from < 1.0157 && to > from);
            assert_eq!(
                (held(from), held(from * 1.001), held(to * 0.999)),
                (pair[0], pair[0], pair[1])
            );
            assert_eq!(floor(pair[1].next_down()), pair[0]);
        }
        assert_eq!([0.0, -1.0, 0.0009].map(held), [0.0; 3]);
        assert_eq!([3e7, f64::INFINITY].map(held), [LAST; 2]);
        assert!(held(f64::NAN).is_nan() && floor(f32::NAN).is_nan());
        assert_eq!((floor(f32::MIN), floor(f32::INFINITY)), (0.0, LAST));
    }
}
