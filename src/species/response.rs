//! One species' response to one factor: from a value of the ground to a score.

use thiserror::Error;

use crate::factor::as_written;
use crate::score::Score;

/// How the score of a species follows the value of a factor.
#[derive(Debug, Clone, PartialEq)]
pub enum Response {
    /// 1 between the middle two limits, falling in a straight line to 0 at the
    /// outer two; an end without limits stays at 1.
    Range(Range),
    /// Straight lines between points (value, score), flat outside them.
    Curve(Curve),
    /// A score for each class of the factor, by class index; nothing where the
    /// profile names no score.
    Classes(Vec<Option<Score>>),
    /// Full growth up to a threshold, then a loss in proportion.
    Threshold(Threshold),
}

/// Why a response cannot be.
#[derive(Debug, Error, PartialEq)]
pub enum ResponseError {
    /// Limits of a range that do not rise.
    #[error(
        "limits {lowest:?} {best_from:?} {best_to:?} {highest:?} are out of order: each must not be below the one before, and an end is given whole or left open"
    )]
    RangeOrder {
        /// Score 0 at and below.
        lowest: Option<f64>,
        /// Score 1 from here.
        best_from: Option<f64>,
        /// Score 1 up to here.
        best_to: Option<f64>,
        /// Score 0 at and above.
        highest: Option<f64>,
    },
    /// Points of a curve that do not rise, or scores that are none.
    #[error("curve point {value}:{score}: values must rise from point to point and scores lie within 0 to 1")]
    CurvePoint {
        /// The value of the point.
        value: f64,
        /// Its score.
        score: f64,
    },
    /// A curve without a point.
    #[error("a curve needs at least one point")]
    CurveEmpty,
    /// A threshold or slope that is no number above 0.
    #[error(
        "threshold {threshold} and slope {slope_pct} % need to be finite, 0 or more, and the slope above 0"
    )]
    Threshold {
        /// The threshold.
        threshold: f64,
        /// The slope.
        slope_pct: f64,
    },
}

/// Limits of a range response, in the factor's unit. An open end has neither of
/// its two limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    low: Option<(f64, f64)>,
    high: Option<(f64, f64)>,
}

/// Points of a curve response.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    points: Vec<(f64, f64)>,
}

/// The two numbers of a threshold-and-slope response.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Threshold {
    threshold: f64,
    slope_pct: f64,
}

impl Response {
    /// A range response.
    ///
    /// # Errors
    /// Limits that are not finite, do not rise, or give half an end.
    pub fn range(
        lowest: Option<f64>,
        best_from: Option<f64>,
        best_to: Option<f64>,
        highest: Option<f64>,
    ) -> Result<Response, ResponseError> {
        let refused = ResponseError::RangeOrder {
            lowest,
            best_from,
            best_to,
            highest,
        };
        let given: Vec<f64> = [lowest, best_from, best_to, highest]
            .into_iter()
            .flatten()
            .collect();
        let rises =
            given.iter().all(|limit| limit.is_finite()) && given.windows(2).all(|pair| pair[0] <= pair[1]);
        let ends_whole = lowest.is_some() == best_from.is_some() && best_to.is_some() == highest.is_some();
        if given.is_empty() || !rises || !ends_whole {
            return Err(refused);
        }
        Ok(Response::Range(Range {
            low: lowest.zip(best_from),
            high: best_to.zip(highest),
        }))
    }

    /// A curve response through points (value, score).
    ///
    /// # Errors
    /// No point, values that do not rise, scores outside 0 to 1.
    pub fn curve(points: Vec<(f64, f64)>) -> Result<Response, ResponseError> {
        if points.is_empty() {
            return Err(ResponseError::CurveEmpty);
        }
        let mut before = f64::NEG_INFINITY;
        for &(value, score) in &points {
            if !(value.is_finite() && value > before && (0.0..=1.0).contains(&score)) {
                return Err(ResponseError::CurvePoint { value, score });
            }
            before = value;
        }
        Ok(Response::Curve(Curve { points }))
    }

    /// A threshold-and-slope response.
    ///
    /// # Units
    /// `threshold` in the factor's unit (dS/m), `slope_pct` in per cent a unit.
    ///
    /// # Errors
    /// Numbers that are not finite, a threshold below 0, a slope not above 0.
    pub fn threshold(threshold: f64, slope_pct: f64) -> Result<Response, ResponseError> {
        let valid = threshold.is_finite() && threshold >= 0.0 && slope_pct.is_finite() && slope_pct > 0.0;
        if !valid {
            return Err(ResponseError::Threshold { threshold, slope_pct });
        }
        Ok(Response::Threshold(Threshold { threshold, slope_pct }))
    }

    /// The score of a value: a number in the factor's unit, or a class index.
    ///
    /// # Missing
    /// Nothing for a class that the profile gives no score.
    ///
    /// # Method
    /// Threshold and slope: Maas and Hoffman, Crop salt tolerance: current
    /// assessment, 1977: relative growth is `100 - b (ECe - a)` per cent beyond
    /// the threshold `a`, never below 0.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "class factors hold small whole indices"
    )]
    pub fn score(&self, value: f32) -> Option<Score> {
        match self {
            Response::Range(range) => Some(range.score(as_written(value))),
            Response::Curve(curve) => Some(curve.score(as_written(value))),
            Response::Classes(scores) => scores.get(value as usize).copied().flatten(),
            Response::Threshold(line) => Some(line.score(as_written(value))),
        }
    }

    /// The values at which the straight pieces of the response meet, rising.
    /// Between two of them the score rises, falls or stays. None for classes.
    #[must_use]
    pub fn knots(&self) -> Vec<f64> {
        match self {
            Response::Range(range) => {
                let mut knots: Vec<f64> = [range.low, range.high]
                    .into_iter()
                    .flatten()
                    .flat_map(|(from, to)| [from, to])
                    .collect();
                knots.dedup();
                knots
            }
            Response::Curve(curve) => curve.points.iter().map(|point| point.0).collect(),
            Response::Classes(_) => Vec::new(),
            Response::Threshold(line) => vec![line.threshold, line.threshold + 100.0 / line.slope_pct],
        }
    }
}

impl Range {
    fn score(self, value: f64) -> Score {
        let rising = self.low.map_or(1.0, |(from, to)| ramp(value, from, to));
        let falling = self
            .high
            .map_or(1.0, |(from, to)| 1.0 - ramp_open(value, from, to));
        Score::clamped(rising.min(falling))
    }

    /// The two limits of the low end: score 0 at the first, 1 from the second.
    #[must_use]
    pub fn low(&self) -> Option<(f64, f64)> {
        self.low
    }

    /// The two limits of the high end: score 1 up to the first, 0 at the second.
    #[must_use]
    pub fn high(&self) -> Option<(f64, f64)> {
        self.high
    }
}

/// From 0 at `from` to 1 at `to`; a step that counts as 1 where the two meet.
fn ramp(value: f64, from: f64, to: f64) -> f64 {
    if value >= to {
        1.0
    } else if value <= from {
        0.0
    } else {
        (value - from) / (to - from)
    }
}

/// From 0 at `from` to 1 at `to`; a step that counts as 0 where the two meet.
fn ramp_open(value: f64, from: f64, to: f64) -> f64 {
    if value <= from {
        0.0
    } else if value >= to {
        1.0
    } else {
        (value - from) / (to - from)
    }
}

impl Curve {
    fn score(&self, value: f64) -> Score {
        let after = self.points.partition_point(|point| point.0 <= value);
        let score = match (after.checked_sub(1), self.points.get(after)) {
            (None, _) => self.points[0].1,
            (Some(before), None) => self.points[before].1,
            (Some(before), Some(&(right, high))) => {
                let (left, low) = self.points[before];
                low + (high - low) * ((value - left) / (right - left))
            }
        };
        Score::clamped(score)
    }

    /// The points (value, score), values rising.
    #[must_use]
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }
}

impl Threshold {
    fn score(self, value: f64) -> Score {
        Score::clamped(1.0 - self.slope_pct / 100.0 * (value - self.threshold).max(0.0))
    }

    /// Full growth up to here, in the factor's unit.
    #[must_use]
    pub fn threshold(&self) -> f64 {
        self.threshold
    }

    /// Loss in per cent a unit beyond the threshold.
    #[must_use]
    pub fn slope_pct(&self) -> f64 {
        self.slope_pct
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(response: &Response, value: f32) -> f64 {
        response.score(value).unwrap().get()
    }

    #[test]
    fn a_range_is_1_in_the_middle_and_0_at_the_ends() {
        let range = Response::range(Some(4.0), Some(5.0), Some(7.0), Some(8.0)).unwrap();
        assert_eq!(at(&range, 4.0), 0.0);
        assert_eq!(at(&range, 4.5), 0.5);
        assert_eq!(at(&range, 5.0), 1.0);
        assert_eq!(at(&range, 7.0), 1.0);
        assert_eq!(at(&range, 7.5), 0.5);
        assert_eq!(at(&range, 9.0), 0.0);
    }

    #[test]
    fn an_open_end_stays_at_1() {
        let range = Response::range(None, None, Some(40.0), Some(70.0)).unwrap();
        assert_eq!(at(&range, -1e9), 1.0);
        assert_eq!(at(&range, 70.0), 0.0);
        let step = Response::range(Some(3.0), Some(3.0), None, None).unwrap();
        assert_eq!(at(&step, 3.0), 1.0);
        assert_eq!(at(&step, 2.999), 0.0);
    }

    #[test]
    fn limits_out_of_order_are_refused() {
        assert!(Response::range(Some(5.0), Some(4.0), None, None).is_err());
        assert!(Response::range(Some(5.0), None, None, None).is_err());
        assert!(Response::range(None, None, None, None).is_err());
        assert!(Response::range(Some(f64::NAN), Some(1.0), None, None).is_err());
        assert!(Response::curve(vec![(1.0, 0.5), (1.0, 0.6)]).is_err());
        assert!(Response::curve(vec![(1.0, 1.5)]).is_err());
        assert!(Response::threshold(2.0, 0.0).is_err());
    }

    #[test]
    fn a_curve_is_flat_outside_its_points() {
        let curve = Response::curve(vec![(0.0, 1.0), (40.0, 0.85), (70.0, 0.4)]).unwrap();
        assert_eq!(at(&curve, -5.0), 1.0);
        assert_eq!(at(&curve, 40.0), 0.85);
        assert!((at(&curve, 55.0) - 0.625).abs() < 1e-12);
        assert_eq!(at(&curve, f32::INFINITY), 0.4);
    }

    #[test]
    fn a_class_without_a_score_is_nothing() {
        let classes = Response::Classes(vec![Some(Score::BEST), None]);
        assert_eq!(classes.score(0.0), Some(Score::BEST));
        assert_eq!(classes.score(1.0), None);
        assert_eq!(classes.score(7.0), None);
    }
}
