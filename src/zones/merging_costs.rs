//! What a merge of two zones of phase 2 would cost, and whether it may be made. Reads
//! the zones as they are; knows not which merge comes next.

use std::cmp::Ordering;
use std::iter::Zip;
use std::slice::Iter;

use pulp::NullaryFnOnce;

use super::cost::Cost;
use super::fidelity::Fidelity;
use super::listing::ListedInZone;
use super::merging_zones::{Group, LANES, MergingZones};

/// Whether two neighbours may merge, as far as it has been asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum May {
    NotAsked,
    Merge,
    NotMerge,
}

/// A cost as a plain number, with what it may be off.
#[derive(Debug, Clone, Copy)]
pub(super) struct Price {
    near: f64,
    slack: f64,
}

impl Price {
    /// Not above the cost.
    pub(super) fn least(&self) -> f64 {
        (self.near - self.slack).max(0.0)
    }

    /// Not below the cost.
    pub(super) fn most(&self) -> f64 {
        self.near + self.slack
    }

    /// How this compares with another where the plain numbers alone tell.
    pub(super) fn cmp_near(&self, other: &Price) -> Option<Ordering> {
        ((self.near - other.near).abs() > self.slack + other.slack).then(|| self.near.total_cmp(&other.near))
    }
}

impl MergingZones {
    /// `a1 a2 / (a1 + a2)`.
    pub(super) fn weight(&self, one: u32, other: u32) -> f64 {
        let (one, other) = (
            f64::from(self.cells[one as usize]),
            f64::from(self.cells[other as usize]),
        );
        one * other / (one + other)
    }

    pub(super) fn near_cost(&self, one: u32, other: u32) -> f64 {
        let squares = self.arch.dispatch(Squares {
            one: self.counts(one)[0],
            other: self.counts(other)[0],
            per_one: self.half_a_cell(one),
            per_other: self.half_a_cell(other),
        });
        self.weight(one, other) * squares
    }

    /// What one in a sum adds to the mean of a zone.
    fn half_a_cell(&self, zone: u32) -> f32 {
        single(0.5 / f64::from(self.cells[zone as usize]))
    }

    /// A near cost with what it may be off.
    ///
    /// # Method
    /// A mean is at most 1. It is a product of two rounded numbers, rounded, so it is
    /// off by little more than 3 x 2^-24, and a difference of two, rounded too, by
    /// under 7.2 x 2^-24, that is under 4.5e-7. A square is then off by twice the
    /// difference times that, and its square; rounding of squares, sums and the cost
    /// itself adds at most 2^-24 of the whole for each species and a few more. By
    /// Cauchy's inequality the differences add up to no more than the square root of
    /// the species times the squares. The factors below are larger than needed.
    #[expect(clippy::cast_precision_loss, reason = "the number of species is small")]
    pub(super) fn price(&self, one: u32, other: u32, near: f64) -> Price {
        let (weight, species) = (self.weight(one, other), self.species as f64 + 8.0);
        let slack =
            1.2e-6 * (weight * species * near).sqrt() + 3e-7 * species * near + 4e-13 * species * weight;
        Price { near, slack }
    }

    pub(super) fn exact_cost(&self, one: u32, other: u32) -> Cost {
        let (one_cells, other_cells) = (self.cells(one), self.cells(other));
        let (one_counts, other_counts) = (self.counts(one), self.counts(other));
        let mut squares = 0_u128;
        let sums = one_counts[0].as_flattened().iter();
        for (&sum, &other_sum) in sums.zip(other_counts[0].as_flattened()) {
            // Under 2^32 times 2^31.
            let difference = (u64::from(sum) * other_cells).abs_diff(u64::from(other_sum) * one_cells);
            squares += u128::from(difference) * u128::from(difference);
        }
        Cost::from_squares(squares, one_cells, other_cells)
    }

    /// Asks whether two zones may merge.
    pub(super) fn ask(&self, one: u32, other: u32) -> May {
        if self.may_merge(one, other) {
            May::Merge
        } else {
            May::NotMerge
        }
    }

    /// Whether the cells of both parts stay similar enough to the merged list.
    pub(super) fn may_merge(&self, one: u32, other: u32) -> bool {
        let rule = ListedInZone::new(&self.rules.listing, self.cells(one) + self.cells(other));
        let [_, known, suits] = self.counts(one);
        let [_, other_known, other_suits] = self.counts(other);
        let [known, suits, other_known, other_suits] = self.arch.dispatch(OnList {
            rule,
            one: known.iter().zip(suits),
            other: other_known.iter().zip(other_suits),
        });
        let reaches = |zone: u32, known: u64, suits: u64| {
            let fidelity = Fidelity {
                listed_and_suits: suits,
                listed_and_known: known,
                suits: self.fidelity(zone).suits,
            };
            fidelity.reaches(self.rules.keep)
        };
        reaches(one, known, suits) && reaches(other, other_known, other_suits)
    }
}

/// Adds up the squares of the differences between the means of two zones.
struct Squares<'z> {
    one: &'z [Group],
    other: &'z [Group],
    per_one: f32,
    per_other: f32,
}

impl NullaryFnOnce for Squares<'_> {
    type Output = f64;

    #[inline(always)]
    fn call(self) -> f64 {
        let mut squares = [0.0; LANES];
        for (one, other) in self.one.iter().zip(self.other) {
            for lane in 0..LANES {
                let difference = plain(one[lane]) * self.per_one - plain(other[lane]) * self.per_other;
                squares[lane] += difference * difference;
            }
        }
        squares.iter().map(|&square| f64::from(square)).sum()
    }
}

/// Known and suiting cells of two zones, for the species on the list of both together.
struct OnList<'z> {
    rule: ListedInZone,
    one: Zip<Iter<'z, Group>, Iter<'z, Group>>,
    other: Zip<Iter<'z, Group>, Iter<'z, Group>>,
}

impl NullaryFnOnce for OnList<'_> {
    type Output = [u64; 4];

    #[inline(always)]
    fn call(self) -> [u64; 4] {
        // Whole numbers under 2^53. Cells of a site are under 2^31, and signed numbers
        // become plain ones faster.
        let mut sums = [[0.0; LANES]; 4];
        for ((known, suits), (other_known, other_suits)) in self.one.zip(self.other) {
            for lane in 0..LANES {
                let known = f64::from(known[lane].cast_signed());
                let suits = f64::from(suits[lane].cast_signed());
                let other_known = f64::from(other_known[lane].cast_signed());
                let other_suits = f64::from(other_suits[lane].cast_signed());
                let is_listed = self.rule.lists(known + other_known, suits + other_suits);
                let listed = if is_listed { 1.0 } else { 0.0 };
                sums[0][lane] += known * listed;
                sums[1][lane] += suits * listed;
                sums[2][lane] += other_known * listed;
                sums[3][lane] += other_suits * listed;
            }
        }
        sums.map(whole_sum)
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "single precision; what that may be off is in the price"
)]
pub(super) fn single(number: f64) -> f32 {
    number as f32
}

/// A sum as a plain number, rounded once. In two halves, each of which signed numbers
/// hold: those become plain ones faster.
#[expect(clippy::cast_precision_loss, reason = "what that may be off is in the price")]
#[inline(always)]
fn plain(sum: u32) -> f32 {
    const HALF: u32 = 16;
    let (high, low) = (sum >> HALF, sum & ((1 << HALF) - 1));
    high.cast_signed() as f32 * 65_536.0 + low.cast_signed() as f32
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "sums of counts are whole, from 0 to under 2^53"
)]
#[inline(always)]
fn whole_sum(sums: [f64; LANES]) -> u64 {
    sums.iter().sum::<f64>() as u64
}
