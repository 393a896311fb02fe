//! What a merge costs, as an exact fraction, so that the order of costs is the
//! same on every processor. Knows nothing of zones.

use std::cmp::Ordering;

/// What a merge adds to the squared error, in cells: a fraction of whole numbers.
///
/// # Method
/// Ward, Hierarchical Grouping to Optimize an Objective Function, 1963: joining
/// `a1` and `a2` cells with means `p1` and `p2` adds
/// `a1 a2 / (a1 + a2) x (p1 - p2)^2`, summed over species.
#[derive(Debug, Clone, Copy)]
pub struct Cost {
    numerator: u128,
    denominator: u128,
}

impl Cost {
    /// A cost; the denominator is over 0.
    pub(super) fn new(numerator: u128, denominator: u128) -> Cost {
        Cost {
            numerator,
            denominator,
        }
    }

    /// The cost of joining `a1` and `a2` cells when the differences `q1 a2 - q2 a1`
    /// of the sums `q` (2 for suits, 1 for unknown in each cell), squared, add up
    /// to `squares`.
    pub(super) fn from_squares(squares: u128, a1: u64, a2: u64) -> Cost {
        // With p = q / (2 a), (p1 - p2)^2 = (q1 a2 - q2 a1)^2 / (2 a1 a2)^2.
        let product = u128::from(a1) * u128::from(a2);
        Cost::new(squares, 4 * product * (u128::from(a1) + u128::from(a2)))
    }

    /// The nearest plain number.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "the nearest number is wanted")]
    pub fn get(self) -> f64 {
        self.numerator as f64 / self.denominator as f64
    }
}

impl PartialEq for Cost {
    fn eq(&self, other: &Cost) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Cost {}

impl PartialOrd for Cost {
    fn partial_cmp(&self, other: &Cost) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Cost {
    fn cmp(&self, other: &Cost) -> Ordering {
        let products = (
            self.numerator.checked_mul(other.denominator),
            other.numerator.checked_mul(self.denominator),
        );
        if let (Some(this), Some(that)) = products {
            return this.cmp(&that);
        }
        wide_product(self.numerator, other.denominator).cmp(&wide_product(other.numerator, self.denominator))
    }
}

/// The product as its upper and lower 128 bits.
#[expect(clippy::cast_possible_truncation, reason = "halves are cut off on purpose")]
fn wide_product(one: u128, other: u128) -> (u128, u128) {
    let halves = |n: u128| (u128::from((n >> 64) as u64), u128::from(n as u64));
    let ((a, b), (c, d)) = (halves(one), halves(other));
    let low = b * d;
    // At most 2^128 - 1: (2^64 - 1)^2 and two numbers under 2^64.
    let (left, right) = (a * d, b * c);
    let middle = (low >> 64) + u128::from(left as u64) + u128::from(right as u64);
    let high = a * c + (left >> 64) + (right >> 64) + (middle >> 64);
    (high, (middle << 64) | u128::from(low as u64))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn equal_fractions_are_equal_costs() {
        assert_eq!(Cost::new(1, 3), Cost::new(2, 6));
        assert_eq!(
            Cost::new(u128::MAX, u128::MAX - 1).cmp(&Cost::new(1, 1)),
            Ordering::Greater
        );
        assert!(Cost::new(0, 5) < Cost::new(1, u128::MAX));
    }

    #[test]
    fn one_species_that_suits_on_one_side_only() {
        // 3 cells that suit, 1 that does not: 3 x 1 / 4 x 1.
        let difference = 6_u128;
        let cost = Cost::from_squares(difference * difference, 3, 1);
        assert_eq!(cost, Cost::new(3, 4));
        assert_eq!(cost.get(), 0.75);
    }

    proptest! {
        #[test]
        fn wide_products_divide_back(one: u128, other in 1_u128..) {
            let (high, low) = wide_product(one, other);
            // (high, low) / 2^64 keeps the order that plain division gives.
            prop_assert_eq!(low, one.wrapping_mul(other));
            prop_assert_eq!(high == 0, one.checked_mul(other).is_some());
            // Modulo 2^128 - 1 the halves simply add up.
            let modulus = u128::MAX;
            let mut expected = 0_u128;
            let mut addend = one % modulus;
            let mut bits = other;
            while bits > 0 {
                if bits & 1 == 1 {
                    expected = add_modulo(expected, addend, modulus);
                }
                addend = add_modulo(addend, addend, modulus);
                bits >>= 1;
            }
            prop_assert_eq!(add_modulo(high % modulus, low % modulus, modulus), expected);
        }
    }

    fn add_modulo(a: u128, b: u128, modulus: u128) -> u128 {
        if a >= modulus - b {
            a - (modulus - b)
        } else {
            a + b
        }
    }
}
