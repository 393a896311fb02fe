//! Scores of one factor, ratings of one species, and the suitability classes
//! they fall into. Pure numbers: knows no species, no factor and no layer.

use std::fmt;

use serde::Serialize;

/// Parts into which a reckoned score is rounded.
const DECIMALS: f64 = 1e9;

/// How well one value of the ground serves a species, from 0 (not at all) to 1.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct Score(f64);

impl Score {
    /// The score of ground that could not be better.
    pub const BEST: Score = Score(1.0);
    /// The score of ground where the species does not live.
    pub const NONE: Score = Score(0.0);

    /// A score, or nothing when `value` is not within 0 to 1.
    #[must_use]
    pub fn new(value: f64) -> Option<Score> {
        (0.0..=1.0).contains(&value).then_some(Score(value))
    }

    /// The nearest score of nine decimals to a number that was reckoned. What should
    /// be 0.6 by its formula is 0.6, whatever the last binary digit says, and so is
    /// on a limit of 0.6.
    ///
    /// # Missing
    /// Not a number counts as 0.
    #[must_use]
    pub fn clamped(value: f64) -> Score {
        if value > 0.0 {
            Score((value.min(1.0) * DECIMALS).round() / DECIMALS)
        } else {
            Score::NONE
        }
    }

    /// The score as a plain number.
    #[must_use]
    pub fn get(self) -> f64 {
        self.0
    }

    /// The score as stored in a byte of `ratings.tif`: `floor(score x 200)`, so
    /// that rounding never lifts a class.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a score lies within 0 to 1, so the product lies within 0 to 200"
    )]
    pub fn to_byte(self) -> u8 {
        (self.0 * 200.0).floor() as u8
    }
}

/// Suitability classes of the FAO Framework, best first.
///
/// # Method
/// FAO, A Framework for Land Evaluation, Soils Bulletin 32, 1976, chapter 3.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub enum Class {
    /// No significant limitation.
    S1,
    /// Limitations that together are moderately severe.
    S2,
    /// Limitations that together are severe.
    S3,
    /// Not suitable as it is; what limits could be put right.
    N1,
    /// Not suitable, and what limits cannot be put right.
    N2,
}

impl Class {
    /// The class in words for people: "well suited".
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Class::S1 => "well suited",
            Class::S2 => "suited",
            Class::S3 => "barely suited",
            Class::N1 => "not suited as it is",
            Class::N2 => "not suited",
        }
    }
}

impl fmt::Display for Class {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self:?}")
    }
}

/// The lowest rating of each suitable class.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ClassLimits {
    s1: f64,
    s2: f64,
    s3: f64,
}

impl ClassLimits {
    /// Class limits, or nothing unless `1 >= s1 > s2 > s3 > 0`.
    #[must_use]
    pub fn new(s1: f64, s2: f64, s3: f64) -> Option<ClassLimits> {
        (s1 <= 1.0 && s1 > s2 && s2 > s3 && s3 > 0.0).then_some(ClassLimits { s1, s2, s3 })
    }

    /// The lowest rating that still is in `class`; 0 for the classes of order N.
    #[must_use]
    pub fn lowest_of(&self, class: Class) -> f64 {
        match class {
            Class::S1 => self.s1,
            Class::S2 => self.s2,
            Class::S3 => self.s3,
            Class::N1 | Class::N2 => 0.0,
        }
    }

    /// The class of a rating. Within order N, `remediable` tells whether every
    /// factor that keeps the rating out of order S could be put right.
    #[must_use]
    pub fn class_of(&self, rating: f64, remediable: bool) -> Class {
        if rating >= self.s1 {
            Class::S1
        } else if rating >= self.s2 {
            Class::S2
        } else if rating >= self.s3 {
            Class::S3
        } else if remediable {
            Class::N1
        } else {
            Class::N2
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_score_stays_within_0_and_1() {
        assert!(Score::new(1.0).is_some());
        assert!(Score::new(1.000_001).is_none());
        assert!(Score::new(-0.1).is_none());
        assert!(Score::new(f64::NAN).is_none());
        assert_eq!(Score::clamped(f64::NAN), Score::NONE);
        assert_eq!(Score::clamped(1.5), Score::BEST);
        assert_eq!(Score::clamped(0.599_999_999_999_999_8).get(), 0.6);
    }

    #[test]
    fn a_stored_byte_never_lifts_a_class() {
        let just_below = Score::clamped(0.599_999);
        assert!(f64::from(just_below.to_byte()) * 0.005 < 0.6);
        assert_eq!(Score::BEST.to_byte(), 200);
    }

    #[test]
    fn limits_must_fall() {
        assert!(ClassLimits::new(0.85, 0.6, 0.4).is_some());
        assert!(ClassLimits::new(0.6, 0.85, 0.4).is_none());
        assert!(ClassLimits::new(0.85, 0.6, 0.0).is_none());
        assert!(ClassLimits::new(f64::NAN, 0.6, 0.4).is_none());
    }

    #[test]
    fn a_limit_belongs_to_the_better_class() {
        let limits = ClassLimits::new(0.85, 0.6, 0.4).unwrap();
        assert_eq!(limits.class_of(0.85, true), Class::S1);
        assert_eq!(limits.class_of(0.6, true), Class::S2);
        assert_eq!(limits.class_of(0.399, true), Class::N1);
        assert_eq!(limits.class_of(0.399, false), Class::N2);
    }
}
