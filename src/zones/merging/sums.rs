//! Sums over the species of two zones: of squares of differences, and of cells on a list.
//! Compiled for what the processor can do. Knows neither slots nor borders.

use pulp::NullaryFnOnce;

use crate::zones::fidelity::Fidelity;
use crate::zones::listing::ListedInZone;
use crate::zones::species_codes::{OTHER, SpeciesCodes, WORD, codes_of, each_one};
use crate::zones::tally::next_counts;
use crate::zones::voted_sums::{next_means, next_sums};

/// Sums of each lane are made side by side, so that the processor can add them at once;
/// the order of additions is fixed.
const LANES: usize = 8;

/// Unpacks the means of a zone.
pub(super) struct FillMeans<'z> {
    pub(super) codes: SpeciesCodes<'z>,
    pub(super) half_a_cell: f32,
    pub(super) means: &'z mut [[f32; WORD]],
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
pub(super) struct Squares<'z> {
    pub(super) one: &'z [[f32; WORD]],
    pub(super) other: &'z [[f32; WORD]],
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
pub(super) struct PackedSquares<'z> {
    pub(super) one: &'z [[f32; WORD]],
    pub(super) other: SpeciesCodes<'z>,
    pub(super) half_a_cell: f32,
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
pub(super) struct ExactSquares<'z> {
    pub(super) codes: [SpeciesCodes<'z>; 2],
    pub(super) cells: [u32; 2],
    pub(super) words: usize,
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
    pub(super) fn wide(mut self) -> u128 {
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
pub(super) struct OnList<'z> {
    pub(super) rule: ListedInZone,
    pub(super) parts: [SpeciesCodes<'z>; 2],
    pub(super) words: usize,
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
    clippy::cast_sign_loss,
    reason = "sums of counts are whole, from 0 to under 2^53"
)]
#[inline(always)]
fn whole_sum(sums: [f64; LANES]) -> u64 {
    sums.iter().sum::<f64>() as u64
}
