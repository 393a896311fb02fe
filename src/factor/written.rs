//! Numbers as a layer meant them. Cells hold values in single precision, where 4.7
//! is 4.6999998; compared with a limit of 4.7 it would fall short of it.

use std::cell::RefCell;

/// Numbers that a thread asked for last.
const KEPT: usize = 256;

thread_local! {
    static LAST: RefCell<[(u32, f64); KEPT]> = const { RefCell::new([(0, 0.0); KEPT]) };
}

/// The number that a single-precision value was written as: the shortest decimal
/// that gives this value. Larger values give larger numbers.
///
/// # Missing
/// Not a number and infinities stay what they are.
///
/// # Examples
/// ```
/// use groundfit::factor::as_written;
/// assert!(f64::from(4.7f32) < 4.7);
/// assert!(as_written(4.7) >= 4.7);
/// ```
#[must_use]
pub fn as_written(value: f32) -> f64 {
    if !value.is_finite() || value.fract() == 0.0 {
        return f64::from(value);
    }
    let bits = value.to_bits();
    LAST.with_borrow_mut(|last| {
        // Neighbouring values differ in their low bits, round ones in their high bits.
        let kept = &mut last[((bits ^ (bits >> 12)) as usize) % KEPT];
        if kept.0 != bits {
            let number = value.to_string().parse().unwrap_or(f64::from(value));
            *kept = (bits, number);
        }
        kept.1
    })
}

/// The least single-precision value that, as written, is not below `limit`.
#[must_use]
#[expect(
    clippy::cast_possible_truncation,
    reason = "the nearest value is corrected to the first that is not below"
)]
pub fn first_at_or_above(limit: f64) -> f32 {
    let mut first = limit as f32;
    while as_written(first) < limit {
        first = first.next_up();
    }
    while first > f32::MIN && as_written(first.next_down()) >= limit {
        first = first.next_down();
    }
    first
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_value_on_a_limit_is_on_it() {
        for tenths in 0..=140u16 {
            let limit = f64::from(tenths) / 10.0;
            let value: f32 = limit.to_string().parse().unwrap();
            assert_eq!(as_written(value), limit);
            assert_eq!(first_at_or_above(limit), value);
        }
    }

    #[test]
    fn what_is_no_number_stays() {
        assert!(as_written(f32::NAN).is_nan());
        assert_eq!(as_written(f32::INFINITY), f64::INFINITY);
        assert_eq!(as_written(-0.0), 0.0);
        assert_eq!(first_at_or_above(f64::from(f32::MIN)), f32::MIN);
    }

    proptest! {
        #[test]
        fn larger_values_give_larger_numbers(value in any::<f32>().prop_filter("finite", |value| value.is_finite() && *value < f32::MAX)) {
            prop_assert!(as_written(value) < as_written(value.next_up()) || value == 0.0);
        }

        #[test]
        fn the_first_value_at_a_limit_is_the_first(limit in -1e6f64..1e6) {
            let first = first_at_or_above(limit);
            prop_assert!(as_written(first) >= limit);
            prop_assert!(as_written(first.next_down()) < limit);
        }
    }
}
