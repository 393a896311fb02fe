//! What the cells of each zone say of the ground and of the ratings, as integer
//! sums that add up: for any split of the work, and when zones merge.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// Fixed-point units in which measured values are summed.
const UNITS: f64 = 65_536.0;

/// Values are summed as if they lay within this of 0, far beyond any factor's: so
/// that a stray 1e38 cannot overflow the sum of any number of cells.
const FARTHEST: f64 = 1e18;

/// Sums of one measured factor over cells.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "StoredSums", into = "StoredSums")]
pub struct MeasuredSums {
    /// Cells with a finite value.
    pub known: u64,
    /// Cells beyond the reach of a distance.
    pub beyond: u64,
    sum: i128,
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

    /// Adds the value of one cell.
    ///
    /// # Missing
    /// Not a number counts nowhere.
    #[expect(clippy::cast_possible_truncation, reason = "bounded to 2^76")]
    fn add(&mut self, value: f32) {
        if value.is_finite() {
            self.known += 1;
            self.sum += (f64::from(value).clamp(-FARTHEST, FARTHEST) * UNITS).round() as i128;
            self.least = self.least.min(value);
            self.greatest = self.greatest.max(value);
        } else if value == f32::INFINITY {
            self.beyond += 1;
        }
    }

    fn merge(&mut self, other: &MeasuredSums) {
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
    Classes(BTreeMap<u16, u64>),
}

/// The sums of one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ZoneGround {
    /// One entry a factor.
    pub factors: Vec<FactorSums>,
    /// For each question the cells of each ground number.
    pub questions: Vec<BTreeMap<u64, u64>>,
    /// For each species the sum of rating bytes over the cells that suit.
    pub rating_bytes: Vec<u64>,
}

/// What a zone's sums are made for.
#[derive(Debug, Clone, PartialEq)]
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
                FactorSums::Classes(BTreeMap::new())
            }
        };
        ZoneGround {
            factors: shape.measured.iter().map(factor).collect(),
            questions: vec![BTreeMap::new(); shape.questions],
            rating_bytes: vec![0; shape.species],
        }
    }

    /// Adds the values of `factor` in a run of cells.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "class factors hold small whole indices"
    )]
    #[expect(clippy::float_cmp, reason = "runs of the very same class index")]
    pub fn add_values(&mut self, factor: usize, values: &[f32]) {
        match &mut self.factors[factor] {
            FactorSums::Measured(sums) => values.iter().for_each(|&value| sums.add(value)),
            FactorSums::Classes(counts) => {
                for same in values.chunk_by(|left, right| left == right) {
                    if !same[0].is_nan() {
                        *counts.entry(same[0] as u16).or_default() += same.len() as u64;
                    }
                }
            }
        }
    }

    /// Adds the ground numbers of `question` in a run of cells.
    pub fn add_numbers(&mut self, question: usize, numbers: &[u64]) {
        let counts = &mut self.questions[question];
        for same in numbers.chunk_by(|left, right| left == right) {
            *counts.entry(same[0]).or_default() += same.len() as u64;
        }
    }

    /// Adds the rating bytes of one cell for the species in the set `suits`.
    pub fn add_ratings(&mut self, suits: &[u64], bytes: &[u8]) {
        for (word, &set) in suits.iter().enumerate() {
            let mut left = set;
            while left != 0 {
                let species = word * 64 + left.trailing_zeros() as usize;
                self.rating_bytes[species] += u64::from(bytes[species]);
                left &= left - 1;
            }
        }
    }

    /// Adds the sums of another zone, or of another part of the same.
    pub fn merge(&mut self, other: &ZoneGround) {
        for (sums, others) in self.factors.iter_mut().zip(&other.factors) {
            match (sums, others) {
                (FactorSums::Measured(sums), FactorSums::Measured(others)) => sums.merge(others),
                (FactorSums::Classes(counts), FactorSums::Classes(others)) => add_counts(counts, others),
                // Both were made for one shape.
                _ => {}
            }
        }
        for (counts, others) in self.questions.iter_mut().zip(&other.questions) {
            add_counts(counts, others);
        }
        for (sum, other) in self.rating_bytes.iter_mut().zip(&other.rating_bytes) {
            *sum += other;
        }
    }
}

fn add_counts<K: Ord + Copy>(counts: &mut BTreeMap<K, u64>, others: &BTreeMap<K, u64>) {
    for (&key, &count) in others {
        *counts.entry(key).or_default() += count;
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
        whole.add_values(0, &values);
        whole.add_values(1, &classes);
        whole.add_numbers(0, &[7, 7, 9, 7, 9]);
        let mut parts = ZoneGround::empty(&shape());
        for (from, to) in [(3, 5), (0, 3)] {
            let mut part = ZoneGround::empty(&shape());
            part.add_values(0, &values[from..to]);
            part.add_values(1, &classes[from..to]);
            part.add_numbers(0, &[7, 7, 9, 7, 9][from..to]);
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
        ground.add_values(0, &[f32::MAX, f32::MAX, f32::MIN, f32::MAX, 1.0]);
        let FactorSums::Measured(sums) = ground.factors[0] else {
            panic!()
        };
        assert_eq!((sums.known, sums.least, sums.greatest), (5, f32::MIN, f32::MAX));
        assert!(sums.mean().unwrap().is_finite());
    }

    #[test]
    fn ratings_are_summed_where_the_species_suits() {
        let mut ground = ZoneGround::empty(&shape());
        ground.add_ratings(&[0b101], &[120, 200, 180]);
        ground.add_ratings(&[0b001], &[130, 200, 180]);
        assert_eq!(ground.rating_bytes, [250, 0, 180]);
    }
}
