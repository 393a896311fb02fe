//! A factor's axis cut into bins, so that within a bin nothing changes for any
//! species. The cuts are the exact 32-bit numbers at which a level changes, found
//! by bisection with the response itself, so that no rounding parts the tables
//! from the plain meaning.

use super::question::Questions;
use crate::factor::{Harmless, Kind, first_at_or_above};
use crate::species::{Holds, Opinion, Response};

/// Number of buckets that narrow the search for a bin.
const BUCKETS: usize = 1024;

/// Bins of one factor. Bin 0 is a missing value.
#[derive(Debug, Clone)]
pub struct Axis {
    /// First value of each bin from bin 2 on, rising; for classes the number of
    /// classes counts instead.
    cuts: Vec<f32>,
    classes: Option<usize>,
    first_bucket: f32,
    buckets_per_unit: f32,
    /// For each bucket the number of cuts at or below its lowest value.
    bucket_starts: Vec<u32>,
}

impl Axis {
    /// The axis of a factor, cut where `level` of the score of any species
    /// changes, where conditions of any species begin or end, and where values
    /// stop being harmless.
    pub fn new(questions: &Questions, factor: usize, level: &dyn Fn(f64) -> u32) -> Axis {
        let kind = &questions.factors()[factor].factor.kind;
        if let Kind::Classes { names, .. } = kind {
            return Axis::of(Vec::new(), Some(names.len()));
        }
        let mut cuts = Vec::new();
        if let Harmless::Below(limit) = questions.factors()[factor].factor.harmless {
            cuts.push(first_at_or_above(limit));
        }
        let id = &questions.factors()[factor].factor.id;
        for species in 0..questions.species_count() {
            for opinion in questions.opinions(species, factor) {
                cut_response(&opinion.response, level, &mut cuts);
            }
            for other in 0..questions.factors().len() {
                let bounds = questions
                    .opinions(species, other)
                    .iter()
                    .filter_map(|opinion| bounds(opinion, id));
                cuts.extend(bounds.flatten().map(first_at_or_above));
            }
        }
        cuts.sort_by(f32::total_cmp);
        cuts.dedup();
        Axis::of(cuts, None)
    }

    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        reason = "bucket counts are small"
    )]
    fn of(cuts: Vec<f32>, classes: Option<usize>) -> Axis {
        let first = cuts.first().copied().unwrap_or(0.0);
        let span = cuts.last().map_or(0.0, |last| last - first);
        let buckets_per_unit = if span > 0.0 {
            (BUCKETS - 1) as f32 / span
        } else {
            0.0
        };
        let mut axis = Axis {
            cuts,
            classes,
            first_bucket: first,
            buckets_per_unit,
            bucket_starts: vec![u32::MAX; BUCKETS],
        };
        // Filled by the very function that looks them up, so that rounding in it
        // cannot matter: a bucket starts at the lowest cut count seen in it.
        for (index, &cut) in axis.cuts.iter().enumerate() {
            let bucket = axis.bucket(cut);
            axis.bucket_starts[bucket] = axis.bucket_starts[bucket].min(index as u32);
        }
        let mut start = axis.cuts.len() as u32;
        for bucket in axis.bucket_starts.iter_mut().rev() {
            start = start.min(*bucket);
            *bucket = start;
        }
        axis
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a float cast saturates, and the bucket is bounded"
    )]
    fn bucket(&self, value: f32) -> usize {
        (((value - self.first_bucket) * self.buckets_per_unit) as usize).min(BUCKETS - 1)
    }

    /// Number of bins, the one for missing values included.
    pub fn bins(&self) -> usize {
        self.classes.map_or(self.cuts.len() + 2, |classes| classes + 1)
    }

    /// The bin of a value; 0 when it is missing.
    #[inline]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "class factors hold small whole indices; counts of cuts are small"
    )]
    pub fn bin(&self, value: f32) -> u32 {
        if value.is_nan() {
            return 0;
        }
        if self.classes.is_some() {
            return value as u32 + 1;
        }
        let mut below = self.bucket_starts[self.bucket(value)] as usize;
        while below < self.cuts.len() && self.cuts[below] <= value {
            below += 1;
        }
        below as u32 + 1
    }

    /// A value that lies in the bin; not a number for bin 0.
    #[expect(clippy::cast_precision_loss, reason = "class counts are small")]
    pub fn sample(&self, bin: usize) -> f32 {
        match (bin, self.classes) {
            (0, _) => f32::NAN,
            (bin, Some(_)) => (bin - 1) as f32,
            (1, None) => f32::MIN,
            (bin, None) => self.cuts[bin - 2],
        }
    }
}

fn bounds(opinion: &Opinion, factor: &str) -> Option<[f64; 2]> {
    let given = opinion.given.as_ref().filter(|given| given.factor == factor)?;
    match given.holds {
        Holds::Between(from, to) => Some([from, to]),
        Holds::Classes(_) => None,
    }
}

/// The numbers at which a response's score comes to or leaves `least`, rising.
pub fn cuts_at(response: &Response, least: f64) -> Vec<f32> {
    let mut cuts = Vec::new();
    cut_response(response, &|score| u32::from(score >= least), &mut cuts);
    cuts.sort_by(f32::total_cmp);
    cuts.dedup();
    cuts
}

/// Adds the numbers at which the level of a response's score changes. Between two
/// knots the score only rises or only falls, so equal levels at both ends mean
/// that nothing changes between.
fn cut_response(response: &Response, level: &dyn Fn(f64) -> u32, cuts: &mut Vec<f32>) {
    let at = |value: f32| response.score(value).map(|score| level(score.get()));
    let knots = response.knots();
    let mut before = f32::MIN;
    for knot in &knots {
        let above = first_at_or_above(*knot);
        let below = above.next_down();
        split(before, below, &at, cuts);
        for value in [above, above.next_up()] {
            if at(value) != at(value.next_down()) {
                cuts.push(value);
            }
        }
        before = above.next_up();
    }
    if !knots.is_empty() {
        split(before, f32::INFINITY, &at, cuts);
    }
}

fn split(from: f32, to: f32, at: &dyn Fn(f32) -> Option<u32>, cuts: &mut Vec<f32>) {
    if from >= to || at(from) == at(to) {
        return;
    }
    if from.next_up() >= to {
        cuts.push(to);
        return;
    }
    let middle = between(from, to);
    split(from, middle, at, cuts);
    split(middle, to, at, cuts);
}

/// The number halfway between two in the order of all 32-bit numbers.
fn between(from: f32, to: f32) -> f32 {
    let order = |value: f32| {
        let bits = i64::from(value.to_bits().cast_signed());
        if bits < 0 {
            i64::from(i32::MIN) - bits
        } else {
            bits
        }
    };
    let middle = order(from).midpoint(order(to));
    let bits = if middle < 0 {
        i64::from(i32::MIN) - middle
    } else {
        middle
    };
    #[expect(
        clippy::cast_possible_truncation,
        reason = "halfway between two 32-bit numbers"
    )]
    f32::from_bits((bits as i32).cast_unsigned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halfway_stays_between() {
        for (from, to) in [(-1.0f32, 1.0), (0.0, f32::INFINITY), (f32::MIN, -0.0), (3.0, 3.5)] {
            let middle = between(from, to);
            assert!(from <= middle && middle <= to, "{from} {middle} {to}");
        }
    }

    #[test]
    fn a_cut_is_the_exact_number_where_the_level_changes() {
        let response = Response::range(Some(10.0), Some(80.0), None, None).unwrap();
        let mut cuts = Vec::new();
        cut_response(&response, &|score| u32::from(score >= 0.6), &mut cuts);
        assert_eq!(cuts.len(), 1);
        let reaches = |value: f32| response.score(value).unwrap().get() >= 0.6;
        assert!(reaches(cuts[0]) && !reaches(cuts[0].next_down()));
    }

    #[test]
    fn bins_follow_the_cuts() {
        let axis = Axis::of(vec![1.0, 2.0, 4.5, 1000.0], None);
        assert_eq!(axis.bins(), 6);
        let expected = [
            (f32::NAN, 0),
            (-5.0, 1),
            (1.0, 2),
            (1.99, 2),
            (2.0, 3),
            (999.0, 4),
            (1000.0, 5),
            (f32::INFINITY, 5),
        ];
        for (value, bin) in expected {
            assert_eq!(axis.bin(value), bin, "{value}");
        }
        for bin in 1..axis.bins() {
            assert_eq!(axis.bin(axis.sample(bin)) as usize, bin);
        }
    }
}
