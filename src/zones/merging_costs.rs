//! What a merge of two zones of phase 2 would cost, and whether it may be made. Reads
//! the zones as they are; knows not which merge comes next.

use std::cmp::Ordering;

use pulp::NullaryFnOnce;

use super::cost::Cost;
use super::fidelity::Fidelity;
use super::listing::ListedInZone;
use super::merging_zones::MergingZones;
use super::species_codes::{OTHER, SpeciesCodes, WORD, codes_of, each_one};
use super::tally::next_counts;
use super::voted_sums::{next_means, next_sums};

/// Sums of each lane are made side by side, so that the processor can add them at once;
/// the order of additions is fixed.
const LANES: usize = 8;

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

struct FillMeans<'z> {
    codes: SpeciesCodes<'z>,
    half_a_cell: f32,
    means: &'z mut [[f32; WORD]],
}

impl NullaryFnOnce for FillMeans<'_> {
    type Output = ();

    #[inline(always)]
    fn call(mut self) {
        for means in self.means {
            *means = next_means(&mut self.codes, self.half_a_cell);
        }
    }
}

/// Adds up the squares of the differences between the means of two zones.
struct Squares<'z> {
    one: &'z [[f32; WORD]],
    other: &'z [[f32; WORD]],
}

impl NullaryFnOnce for Squares<'_> {
    type Output = f64;

    #[inline(always)]
    fn call(self) -> f64 {
        let mut squares = [0.0; LANES];
        for (one, other) in self.one.iter().zip(self.other) {
            let groups = one.as_chunks::<LANES>().0.iter();
            for (one, other) in groups.zip(other.as_chunks::<LANES>().0) {
                for lane in 0..LANES {
                    let difference = one[lane] - other[lane];
                    squares[lane] += difference * difference;
                }
            }
        }
        squares.iter().map(|&square| f64::from(square)).sum()
    }
}

/// [`Squares`] of means and of packed sums.
struct PackedSquares<'z> {
    one: &'z [[f32; WORD]],
    other: SpeciesCodes<'z>,
    half_a_cell: f32,
}

impl NullaryFnOnce for PackedSquares<'_> {
    type Output = f64;

    #[expect(clippy::cast_precision_loss, reason = "what that may be off is in the price")]
    #[inline(always)]
    fn call(mut self) -> f64 {
        let mut squares = [0.0; LANES];
        let mut of_others = 0.0;
        for one in self.one {
            let word = self.other.next_word();
            let codes = codes_of(word);
            let groups = one.as_chunks::<LANES>().0.iter();
            for (one, codes) in groups.zip(codes.as_chunks::<LANES>().0) {
                for lane in 0..LANES {
                    let difference = one[lane] - f32::from(codes[lane]) * 0.5;
                    let difference = if codes[lane] == OTHER { 0.0 } else { difference };
                    squares[lane] += difference * difference;
                }
            }
            each_one(word[0] & word[1], |species| {
                let difference = one[species] - self.other.next_number() as f32 * self.half_a_cell;
                of_others += difference * difference;
            });
        }
        f64::from(of_others) + squares.iter().map(|&square| f64::from(square)).sum::<f64>()
    }
}

/// The squares of the differences `q1 a2 - q2 a1`, added up.
struct ExactSquares<'z> {
    codes: [SpeciesCodes<'z>; 2],
    cells: [u32; 2],
    words: usize,
}

impl NullaryFnOnce for ExactSquares<'_> {
    type Output = u128;

    /// For differences under 2^29, of which 64 squares add up to under 2^64.
    #[inline(always)]
    fn call(mut self) -> u128 {
        let [one_cells, other_cells] = self.cells;
        let mut squares = 0;
        for _ in 0..self.words {
            let [codes, other_codes] = &mut self.codes;
            let (sums, other_sums) = (next_sums(codes, one_cells), next_sums(other_codes, other_cells));
            let mut of_word = 0_i64;
            for (&sum, &other_sum) in sums.iter().zip(&other_sums) {
                // Whole numbers of 32 bits, which are multiplied faster than longer ones.
                let difference = sum.wrapping_mul(other_cells).cast_signed()
                    - other_sum.wrapping_mul(one_cells).cast_signed();
                of_word += i64::from(difference) * i64::from(difference);
            }
            squares += u128::from(of_word.cast_unsigned());
        }
        squares
    }
}

impl ExactSquares<'_> {
    /// For any differences.
    fn wide(mut self) -> u128 {
        let [one_cells, other_cells] = self.cells;
        let mut squares = 0;
        for _ in 0..self.words {
            let [codes, other_codes] = &mut self.codes;
            let (sums, other_sums) = (next_sums(codes, one_cells), next_sums(other_codes, other_cells));
            for (&sum, &other_sum) in sums.iter().zip(&other_sums) {
                // Under 2^32 times 2^31.
                let product = u64::from(sum) * u64::from(other_cells);
                let difference = u128::from(product.abs_diff(u64::from(other_sum) * u64::from(one_cells)));
                squares += difference * difference;
            }
        }
        squares
    }
}

/// The fidelity of two zones with the list of both together.
struct OnList<'z> {
    rule: ListedInZone,
    parts: [SpeciesCodes<'z>; 2],
    words: usize,
}

impl NullaryFnOnce for OnList<'_> {
    type Output = [Fidelity; 2];

    #[inline(always)]
    fn call(mut self) -> [Fidelity; 2] {
        let most = [0, 1].map(|part| self.parts[part].next_number());
        let mut sums = [ListedSums::default(); 2];
        for _ in 0..self.words {
            let [one, other] = &mut self.parts;
            let [known, suits] = next_counts(one, most[0]);
            let [other_known, other_suits] = next_counts(other, most[1]);
            let [sums, other_sums] = &mut sums;
            for from in (0..WORD).step_by(LANES) {
                for lane in 0..LANES {
                    let species = from + lane;
                    let (known, suits) = (plain(known[species]), plain(suits[species]));
                    let (other_known, other_suits) =
                        (plain(other_known[species]), plain(other_suits[species]));
                    let is_listed = self.rule.lists(known + other_known, suits + other_suits);
                    let listed = if is_listed { 1.0 } else { 0.0 };
                    sums.add(lane, known, suits, listed);
                    other_sums.add(lane, other_known, other_suits, listed);
                }
            }
        }
        sums.map(|part| Fidelity {
            listed_and_suits: whole_sum(part.listed_and_suits),
            listed_and_known: whole_sum(part.listed_and_known),
            suits: whole_sum(part.suits),
        })
    }
}

/// What a [`Fidelity`] is made of, lane by lane: whole numbers under 2^53.
#[derive(Debug, Clone, Copy, Default)]
struct ListedSums {
    listed_and_suits: [f64; LANES],
    listed_and_known: [f64; LANES],
    suits: [f64; LANES],
}

impl ListedSums {
    #[inline(always)]
    fn add(&mut self, lane: usize, known: f64, suits: f64, listed: f64) {
        self.listed_and_suits[lane] += suits * listed;
        self.listed_and_known[lane] += known * listed;
        self.suits[lane] += suits;
    }
}

/// A count as a plain number. Cells of a site are under 2^31, and signed numbers become
/// plain ones faster.
#[inline(always)]
fn plain(count: u32) -> f64 {
    f64::from(count.cast_signed())
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "single precision; what that may be off is in the price"
)]
fn single(number: f64) -> f32 {
    number as f32
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
