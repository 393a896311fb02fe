//! What a merge of two zones of phase 2 would cost, and whether it may be made. Reads
//! the zones as they are; knows not which merge comes next.

use std::cmp::Ordering;

use super::sums::{ExactSquares, FillMeans, OnList, PackedSquares, Squares};
use super::zones::MergingZones;
use crate::zones::cost::Cost;
use crate::zones::fidelity::Fidelity;
use crate::zones::listing::ListedInZone;
use crate::zones::species_codes::{SpeciesCodes, WORD};

/// Whether two neighbours may merge, as far as it has been asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum May {
    NotAsked,
    Merge,
    NotMerge,
}

impl May {
    pub(super) fn bits(self) -> u32 {
        match self {
            May::NotAsked => 0,
            May::Merge => 1,
            May::NotMerge => 2,
        }
    }

    pub(super) fn from_bits(bits: u32) -> May {
        match bits {
            1 => May::Merge,
            2 => May::NotMerge,
            _ => May::NotAsked,
        }
    }
}

/// A cost as a plain number, with what it may be off.
#[derive(Debug, Clone, Copy)]
pub(super) struct Price {
    near: f32,
    slack: f32,
}

impl Price {
    /// Above every cost.
    pub(super) const NONE: Price = Price {
        near: f32::INFINITY,
        slack: 0.0,
    };

    /// Not above the cost.
    pub(super) fn least(self) -> f64 {
        (f64::from(self.near) - f64::from(self.slack)).max(0.0)
    }

    /// Not below the cost.
    pub(super) fn most(self) -> f64 {
        f64::from(self.near) + f64::from(self.slack)
    }

    /// How this compares with another where the plain numbers alone tell.
    pub(super) fn cmp_near(self, other: Price) -> Option<Ordering> {
        let (one, two) = (f64::from(self.near), f64::from(other.near));
        let slack = f64::from(self.slack) + f64::from(other.slack);
        ((one - two).abs() > slack).then(|| one.total_cmp(&two))
    }
}

/// The means of the zone whose borders are looked at.
#[derive(Debug, Default)]
pub(super) struct Means {
    zone: Option<u32>,
    means: Vec<[f32; WORD]>,
}

impl Means {
    /// To be called when a zone has changed.
    pub(super) fn forget(&mut self) {
        self.zone = None;
    }
}

impl MergingZones<'_> {
    /// Fills in the means of a zone, unless they are there.
    pub(super) fn stand_at(&self, means: &mut Means, zone: u32) {
        if means.zone == Some(zone) {
            return;
        }
        means.zone = Some(zone);
        match self.means_of(zone) {
            Some(of_zone) => {
                means.means.clear();
                means.means.extend_from_slice(of_zone);
            }
            None => self.fill_means(zone, &mut means.means),
        }
    }

    /// Unpacks the means of a zone.
    pub(super) fn fill_means(&self, zone: u32, means: &mut Vec<[f32; WORD]>) {
        means.resize(self.words(), [0.0; WORD]);
        self.arch.dispatch(FillMeans {
            codes: self.sums(zone),
            half_a_cell: self.half_a_cell(zone),
            means,
        });
    }

    fn words(&self) -> usize {
        self.species.div_ceil(WORD)
    }

    /// `a1 a2 / (a1 + a2)`.
    pub(super) fn weight(&self, one: u32, other: u32) -> f64 {
        let (one, other) = (
            f64::from(self.cells[one as usize]),
            f64::from(self.cells[other as usize]),
        );
        one * other / (one + other)
    }

    /// The cost of the merge of the zone that stands in `means` with another.
    pub(super) fn near_cost(&self, means: &Means, other: u32) -> f32 {
        let one = &means.means;
        let squares = match self.means_of(other) {
            Some(other) => self.arch.dispatch(Squares { one, other }),
            None => self.arch.dispatch(PackedSquares {
                one,
                other: self.sums(other),
                half_a_cell: self.half_a_cell(other),
            }),
        };
        single(self.weight(means.zone.unwrap_or(other), other) * squares)
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
    pub(super) fn price(&self, one: u32, other: u32, near: f32) -> Price {
        let (weight, species, plain) = (self.weight(one, other), self.rounded(), f64::from(near));
        let slack =
            1.2e-6 * (weight * species * plain).sqrt() + 3e-7 * species * plain + 4e-13 * species * weight;
        Price {
            near,
            slack: single(slack).next_up(),
        }
    }

    /// Whether a near cost of a zone's merge is above a price whatever it may be off:
    /// [`MergingZones::price`] without what takes long. A weight is at most the cells of
    /// either zone.
    pub(super) fn is_dearer(&self, zone: u32, near: f32, than: Price) -> bool {
        let (weight, species, plain) = (
            f64::from(self.cells[zone as usize]),
            self.rounded(),
            f64::from(near),
        );
        let over = plain - 3.1e-7 * species * plain - 4.1e-13 * species * weight - than.most();
        over > 0.0 && over * over > 1.5e-12 * weight * species * plain
    }

    /// Numbers that rounding of sums over species is measured by.
    #[expect(clippy::cast_precision_loss, reason = "the number of species is small")]
    fn rounded(&self) -> f64 {
        self.species as f64 + 8.0
    }

    pub(super) fn exact_cost(&self, one: u32, other: u32) -> Cost {
        let [one_cells, other_cells] = [one, other].map(|zone| self.cells[zone as usize]);
        let squares = ExactSquares {
            codes: [self.sums(one), self.sums(other)],
            cells: [one_cells, other_cells],
            words: self.words(),
        };
        // A difference of sums is at most twice the product of the cells.
        let squares = if u64::from(one_cells) * u64::from(other_cells) < 1 << 28 {
            self.arch.dispatch(squares)
        } else {
            squares.wide()
        };
        Cost::from_squares(squares, one_cells.into(), other_cells.into())
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
        let parts = self.arch.dispatch(OnList {
            rule,
            parts: [self.tally(one), self.tally(other)],
            words: self.words(),
        });
        parts.iter().all(|part| part.reaches(self.rules.keep))
    }

    /// The fidelity of a tally of so many cells with its list.
    pub(super) fn fidelity_of(&self, tally: SpeciesCodes, cells: u64) -> Fidelity {
        let rule = ListedInZone::new(&self.rules.listing, cells);
        let nothing = SpeciesCodes::of(&[], self.species);
        let [whole, _] = self.arch.dispatch(OnList {
            rule,
            parts: [tally, nothing],
            words: self.words(),
        });
        whole
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "single precision; what that may be off is in the price"
)]
fn single(number: f64) -> f32 {
    number as f32
}
