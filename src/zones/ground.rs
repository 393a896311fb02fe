//! What the cells of each zone say of the ground and of the ratings, as integer
//! sums that add up: for any split of the work, and when zones merge.

use serde::{Deserialize, Serialize};

use super::counts::Counts;

/// Values that are looked at together.
const AT_ONCE: usize = 16;

/// Fixed-point units in which measured values are summed.
const UNITS: f64 = 65_536.0;

/// Values are summed as if they lay within this of 0, far beyond any factor's: so
/// that a stray 1e38 cannot overflow the sum of any number of cells.
const FARTHEST: f64 = 1e18;

/// Values within this of 0 are summed in 64 bits: 2^21 cells of them at least.
pub(super) const NEAR: f32 = 67_108_864.0;

/// A value in units, to the nearest, for values within [`NEAR`] of 0.
///
/// # Method
/// A number of 2^52 to 2^53 has no room for fractions, so adding 1.5 times 2^52 rounds,
/// halves to even, and the low bits are the whole number.
#[inline(always)]
pub(super) fn in_units(value: f32) -> i64 {
    const ROUNDS: f64 = 6_755_399_441_055_744.0;
    (f64::from(value) * UNITS + ROUNDS).to_bits().cast_signed() - ROUNDS.to_bits().cast_signed()
}

/// A value in units, to the nearest, halves to even.
#[expect(clippy::cast_possible_truncation, reason = "bounded to 2^76")]
fn far_in_units(value: f32) -> i128 {
    (f64::from(value).clamp(-FARTHEST, FARTHEST) * UNITS).round_ties_even() as i128
}

/// The sum of the finite values in units.
fn far_sum(values: &[f32]) -> i128 {
    let finite = values.iter().filter(|value| value.is_finite());
    finite.map(|&value| far_in_units(value)).sum()
}

/// The lower of two numbers, in one step of the processor.
#[inline(always)]
pub(super) fn lower(one: f32, other: f32) -> f32 {
    if other < one { other } else { one }
}

/// Sums of one measured factor over cells.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "StoredSums", into = "StoredSums")]
pub struct MeasuredSums {
    /// Cells with a finite value.
    pub known: u64,
    /// Cells beyond the reach of a distance.
    pub beyond: u64,
    pub(super) sum: i128,
    /// Least value; infinite while there is none.
    pub least: f32,
    /// Greatest finite value; infinite below while there is none.
    pub greatest: f32,
}

impl MeasuredSums {
    const NONE: MeasuredSums = MeasuredSums {
        known: 0,
        beyond: 0,
        sum: 0,
        least: f32::INFINITY,
        greatest: f32::NEG_INFINITY,
    };

    /// Adds the values of a run of cells.
    ///
    /// # Missing
    /// Not a number counts nowhere.
    #[inline(always)]
    fn add(&mut self, values: &[f32]) {
        let mut run = MeasuredSums::NONE;
        let mut sum = 0;
        let (mut known, mut beyond) = (0u32, 0u32);
        for &value in values {
            let finite = value.is_finite();
            known += u32::from(finite);
            beyond += u32::from(value == f32::INFINITY);
            run.least = lower(run.least, if finite { value } else { f32::INFINITY });
            run.greatest = -lower(-run.greatest, if finite { -value } else { f32::INFINITY });
            sum += in_units(if value.abs() <= NEAR { value } else { 0.0 });
        }
        run.known = known.into();
        run.beyond = beyond.into();
        run.sum = if run.greatest <= NEAR && run.least >= -NEAR {
            sum.into()
        } else {
            far_sum(values)
        };
        self.merge(&run);
    }

    pub(super) fn merge(&mut self, other: &MeasuredSums) {
        self.known += other.known;
        self.beyond += other.beyond;
        self.sum += other.sum;
        self.least = self.least.min(other.least);
        self.greatest = self.greatest.max(other.greatest);
    }

    /// Mean of the finite values; nothing when there is none.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "a mean for people and files")]
    pub fn mean(&self) -> Option<f64> {
        (self.known > 0).then(|| self.sum as f64 / UNITS / self.known as f64)
    }
}

/// Sums as they are stored: without infinities, which JSON does not have, and with
/// the sum as text, since few readers hold so large a number.
#[derive(Serialize, Deserialize)]
struct StoredSums {
    known: u64,
    beyond: u64,
    sum: String,
    least: Option<f32>,
    greatest: Option<f32>,
}

impl From<MeasuredSums> for StoredSums {
    fn from(sums: MeasuredSums) -> StoredSums {
        StoredSums {
            known: sums.known,
            beyond: sums.beyond,
            sum: sums.sum.to_string(),
            least: (sums.known > 0).then_some(sums.least),
            greatest: (sums.known > 0).then_some(sums.greatest),
        }
    }
}

impl TryFrom<StoredSums> for MeasuredSums {
    type Error = String;

    fn try_from(stored: StoredSums) -> Result<MeasuredSums, String> {
        let sum = stored.sum.parse();
        Ok(MeasuredSums {
            known: stored.known,
            beyond: stored.beyond,
            sum: sum.map_err(|_| format!("found the sum \"{}\", needed a whole number", stored.sum))?,
            least: stored.least.unwrap_or(f32::INFINITY),
            greatest: stored.greatest.unwrap_or(f32::NEG_INFINITY),
        })
    }
}

/// What is summed of one factor: chosen once by what its values are.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FactorSums {
    /// A measured factor.
    Measured(MeasuredSums),
    /// Cells of each class, by class index.
    Classes(Counts),
}

/// The sums of one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ZoneGround {
    /// One entry a factor.
    pub factors: Vec<FactorSums>,
    /// For each question the cells of each ground number.
    pub questions: Vec<Counts>,
    /// For each species the sum of rating bytes over the cells that suit.
    pub rating_bytes: Vec<u64>,
}

/// What a zone's sums are made for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GroundShape {
    /// For each factor whether it is measured (else classes).
    pub measured: Vec<bool>,
    /// Number of questions.
    pub questions: usize,
    /// Number of species.
    pub species: usize,
}

impl ZoneGround {
    /// Sums over no cell.
    #[must_use]
    pub fn empty(shape: &GroundShape) -> ZoneGround {
        let factor = |&measured: &bool| {
            if measured {
                FactorSums::Measured(MeasuredSums::NONE)
            } else {
                FactorSums::Classes(Counts::default())
            }
        };
        ZoneGround {
            factors: shape.measured.iter().map(factor).collect(),
            questions: vec![Counts::default(); shape.questions],
            rating_bytes: vec![0; shape.species],
        }
    }

    /// Adds the sums of another zone, or of another part of the same.
    pub fn merge(&mut self, other: &ZoneGround) {
        for (sums, others) in self.factors.iter_mut().zip(&other.factors) {
            sums.merge(others);
        }
        for (counts, others) in self.questions.iter_mut().zip(&other.questions) {
            counts.merge(others);
        }
        for (sum, other) in self.rating_bytes.iter_mut().zip(&other.rating_bytes) {
            *sum += other;
        }
    }
}

impl FactorSums {
    /// Adds the sums of other cells of the same factor.
    pub(super) fn merge(&mut self, other: &FactorSums) {
        match (self, other) {
            (FactorSums::Measured(sums), FactorSums::Measured(others)) => sums.merge(others),
            (FactorSums::Classes(counts), FactorSums::Classes(others)) => counts.merge(others),
            // Both were made for one shape.
            _ => {}
        }
    }

    /// Adds the values of a run of cells.
    #[inline(always)]
    pub(super) fn add_values(&mut self, values: &[f32]) {
        match self {
            FactorSums::Measured(sums) => sums.add(values),
            FactorSums::Classes(counts) => add_classes(counts, values),
        }
    }
}

/// Adds runs of the very same class.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "class factors hold small whole indices"
)]
#[expect(clippy::float_cmp, reason = "class indices are whole numbers, held exactly")]
#[inline(always)]
fn add_classes(counts: &mut Counts, mut values: &[f32]) {
    while let Some(&class) = values.first() {
        let is = |value: f32| value == class;
        let are = |some: &[f32]| some.iter().fold(true, |all, &value| all & is(value));
        let blocks = values.chunks_exact(AT_ONCE).take_while(|some| are(some));
        let like = blocks.count() * AT_ONCE;
        let more = values[like..].iter().take_while(|value| **value == class);
        // Not a number is not even like itself.
        let cells = (like + more.count()).max(1);
        if !class.is_nan() {
            counts.add(class as u64, cells as u64);
        }
        values = &values[cells..];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape() -> GroundShape {
        GroundShape {
            measured: vec![true, false],
            questions: 1,
            species: 3,
        }
    }

    #[test]
    fn parts_add_up_to_the_whole() {
        let values = [1.5, f32::NAN, 2.25, f32::INFINITY, -4.0];
        let classes = [0.0, 0.0, 3.0, f32::NAN, 3.0];
        let mut whole = ZoneGround::empty(&shape());
        whole.factors[0].add_values(&values);
        whole.factors[1].add_values(&classes);
        whole.questions[0] = [(7, 3), (9, 2)].into_iter().collect();
        let mut parts = ZoneGround::empty(&shape());
        for (from, to) in [(3, 5), (0, 3)] {
            let mut part = ZoneGround::empty(&shape());
            part.factors[0].add_values(&values[from..to]);
            part.factors[1].add_values(&classes[from..to]);
            part.questions[0] = [7, 7, 9, 7, 9][from..to]
                .iter()
                .map(|&number| (number, 1))
                .collect();
            parts.merge(&part);
        }
        assert_eq!(whole, parts);
        let FactorSums::Measured(sums) = whole.factors[0] else {
            panic!()
        };
        assert_eq!((sums.known, sums.beyond), (3, 1));
        assert!((sums.mean().unwrap() - (-0.25 / 3.0)).abs() < 1e-12);
        let stored = serde_json::to_string(&whole).unwrap();
        assert_eq!(serde_json::from_str::<ZoneGround>(&stored).unwrap(), whole);
        let damaged = stored.replace("\"sum\":\"-", "\"sum\":\"x");
        assert_ne!(damaged, stored);
        assert!(serde_json::from_str::<ZoneGround>(&damaged).is_err());
    }

    #[test]
    fn stray_numbers_do_not_overflow_a_sum() {
        let mut ground = ZoneGround::empty(&shape());
        ground.factors[0].add_values(&[f32::MAX, f32::MAX, f32::MIN, f32::MAX, 1.0]);
        let FactorSums::Measured(sums) = ground.factors[0] else {
            panic!()
        };
        assert_eq!((sums.known, sums.least, sums.greatest), (5, f32::MIN, f32::MAX));
        assert!(sums.mean().unwrap().is_finite());
    }

    #[test]
    fn near_and_far_values_round_alike() {
        for value in [
            0.0,
            0.5 / 65_536.0,
            1.5 / 65_536.0,
            -2.5 / 65_536.0,
            7.3,
            -1e-9,
            NEAR,
            -NEAR,
        ] {
            assert_eq!(i128::from(in_units(value)), far_in_units(value), "{value}");
        }
    }
}
