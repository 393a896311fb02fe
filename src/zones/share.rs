//! A share as a whole number of millionths, so that every comparison of a count
//! against a setting is exact. Knows nothing of what is counted.

use serde::Serialize;

const WHOLE: u32 = 1_000_000;

/// A share from 0 to 1, kept in millionths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct Share(u32);

impl Share {
    /// Nothing.
    pub const NONE: Share = Share(0);
    /// One half.
    pub const HALF: Share = Share(WHOLE / 2);
    /// All.
    pub const WHOLE: Share = Share(WHOLE);

    /// The share nearest to `value`, or nothing unless it lies within 0 to 1.
    ///
    /// # Examples
    /// ```
    /// use groundfit::zones::Share;
    /// assert_eq!(Share::new(0.6), Share::from_millionths(600_000));
    /// assert_eq!(Share::new(1.1), None);
    /// ```
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the value lies within 0 to 1, so the product lies within 0 to 1,000,000"
    )]
    pub fn new(value: f64) -> Option<Share> {
        (0.0..=1.0)
            .contains(&value)
            .then(|| Share((value * f64::from(WHOLE)).round() as u32))
    }

    /// The share of so many millionths, or nothing when over a million.
    #[must_use]
    pub const fn from_millionths(millionths: u32) -> Option<Share> {
        if millionths <= WHOLE {
            Some(Share(millionths))
        } else {
            None
        }
    }

    /// The share in millionths.
    #[must_use]
    pub const fn millionths(self) -> u32 {
        self.0
    }

    /// The share as a plain number.
    #[must_use]
    pub fn get(self) -> f64 {
        f64::from(self.0) / f64::from(WHOLE)
    }

    /// Whether `part / whole` is this share or more. 0 of 0 is the whole.
    #[must_use]
    pub fn is_reached_by(self, part: u64, whole: u64) -> bool {
        u128::from(part) * u128::from(WHOLE) >= u128::from(whole) * u128::from(self.0)
    }

    /// Whether `part / whole` is more than this share. 0 of 0 is not.
    #[must_use]
    pub fn is_exceeded_by(self, part: u64, whole: u64) -> bool {
        u128::from(part) * u128::from(WHOLE) > u128::from(whole) * u128::from(self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_met_exactly_at_its_limit() {
        let share = Share::new(0.6).unwrap();
        assert!(share.is_reached_by(3, 5));
        assert!(!share.is_exceeded_by(3, 5));
        assert!(share.is_exceeded_by(7, 11));
        assert!(!share.is_reached_by(599_999_999, 1_000_000_000));
        assert!(share.is_reached_by(0, 0));
        assert!(Share::WHOLE.is_reached_by(u64::MAX, u64::MAX));
    }

    #[test]
    fn only_0_to_1_is_a_share() {
        assert_eq!(Share::new(f64::NAN), None);
        assert_eq!(Share::new(-0.1), None);
        assert_eq!(Share::from_millionths(1_000_001), None);
        assert_eq!(Share::new(0.5), Some(Share::HALF));
    }
}
