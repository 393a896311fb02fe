//! A factor's axis cut into bins, so that within a bin nothing changes for any
//! species.

use std::ops::Range;

use super::question::Questions;
use super::response_cuts::cut_response;
use super::soil_cuts::soil_cuts;
use crate::factor::{Harmless, Kind, first_at_or_above};
use crate::species::{Holds, Opinion};

/// Buckets that narrow the search for a bin: as many of these powers of two as it takes
/// until none holds more than [`MOST_CUTS`].
const BUCKETS: [u32; 2] = [1 << 10, 1 << 16];

/// Cuts that a bucket names itself; those of knots often come in pairs.
const MOST_CUTS: usize = 3;

/// Values that are compared with a bin at once.
const AT_ONCE: usize = 8;

/// Values from one up to, but not with, another.
#[derive(Debug, Clone, Copy)]
struct Span {
    from: f32,
    to: f32,
}

impl Span {
    const NOTHING: Span = Span {
        from: f32::NAN,
        to: f32::NAN,
    };

    #[inline]
    #[expect(
        clippy::needless_bitwise_bool,
        reason = "no branch may hang on the value, so that several are compared at once"
    )]
    fn holds(self, value: f32) -> bool {
        (self.from <= value) & (value < self.to)
    }
}

/// Bins of one factor. Bin 0 is a missing value.
#[derive(Debug, Clone)]
pub struct Axis {
    /// First value of each bin from bin 2 on, rising; for classes the number of
    /// classes counts instead.
    cuts: Vec<f32>,
    classes: Option<usize>,
    first_bucket: f32,
    buckets_per_unit: f32,
    buckets: Vec<Bucket>,
    /// Whether a bucket holds more cuts than it names.
    crowded: bool,
}

/// Values that lie close together.
#[derive(Debug, Clone, Copy)]
struct Bucket {
    /// Number of cuts in lower buckets.
    below: u32,
    /// The first cuts in this one; not a number where there are no more.
    cuts: [f32; MOST_CUTS],
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
        cuts.extend(soil_cuts(questions, factor, level));
        cuts.sort_by(f32::total_cmp);
        cuts.dedup();
        Axis::of(cuts, None)
    }

    /// Cuts the axis wherever another of the same factor is cut.
    pub fn cut_as(&mut self, other: &Axis) {
        let lacks = |cut: &f32| self.cuts.binary_search_by(|own| own.total_cmp(cut)).is_err();
        let more: Vec<f32> = other.cuts.iter().copied().filter(lacks).collect();
        if !more.is_empty() {
            let mut cuts = [std::mem::take(&mut self.cuts), more].concat();
            cuts.sort_by(f32::total_cmp);
            *self = Axis::of(cuts, self.classes);
        }
    }

    fn of(cuts: Vec<f32>, classes: Option<usize>) -> Axis {
        let mut axis = Axis {
            first_bucket: cuts.first().copied().unwrap_or(0.0),
            buckets_per_unit: 0.0,
            buckets: Vec::new(),
            crowded: false,
            cuts,
            classes,
        };
        let mut count = BUCKETS[0];
        axis.fill_buckets(count);
        while axis.crowded && count < BUCKETS[1] {
            count *= 2;
            axis.fill_buckets(count);
        }
        axis
    }

    /// Filled by the very function that looks buckets up, so that rounding in it cannot
    /// matter: it never falls as values rise.
    #[expect(clippy::cast_precision_loss, reason = "bucket counts are small")]
    fn fill_buckets(&mut self, count: u32) {
        let span = self.cuts.last().map_or(0.0, |last| last - self.first_bucket);
        self.buckets_per_unit = if span > 0.0 {
            (count - 1) as f32 / span
        } else {
            0.0
        };
        let none = Bucket {
            below: u32::MAX,
            cuts: [f32::NAN; MOST_CUTS],
        };
        self.buckets = vec![none; count as usize];
        self.crowded = false;
        for (below, &cut) in (0..).zip(&self.cuts) {
            let place = self.place(cut);
            let bucket = &mut self.buckets[place];
            bucket.below = bucket.below.min(below);
            match bucket.cuts.iter_mut().find(|cut| cut.is_nan()) {
                Some(free) => *free = cut,
                None => self.crowded = true,
            }
        }
        let mut above = u32::try_from(self.cuts.len()).unwrap_or(u32::MAX);
        for bucket in self.buckets.iter_mut().rev() {
            bucket.below = above.min(bucket.below);
            above = bucket.below;
        }
    }

    #[inline]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a float cast saturates, and the bucket is bounded"
    )]
    fn place(&self, value: f32) -> usize {
        (((value - self.first_bucket) * self.buckets_per_unit) as u32 as usize).min(self.buckets.len() - 1)
    }

    /// Number of bins, the one for missing values included.
    pub fn bins(&self) -> usize {
        self.classes.map_or(self.cuts.len() + 2, |classes| classes + 1)
    }

    /// Calls `each` with the places of values one after another that lie in one bin, and
    /// with the bin, in order, and often with several parts of such a stretch.
    #[inline]
    pub fn each_part(&self, values: &[f32], mut each: impl FnMut(Range<usize>, u32)) {
        let (mut bin, mut span) = (0, Span::NOTHING);
        for (from, part) in (0..).step_by(AT_ONCE).zip(values.chunks(AT_ONCE)) {
            // No branch within, so that all are compared at once.
            if part.iter().fold(true, |all, &value| all & span.holds(value)) {
                each(from..from + part.len(), bin);
                continue;
            }
            for (at, &value) in (from..).zip(part) {
                bin = self.bin(value);
                each(at..at + 1, bin);
            }
            span = self.span(bin);
        }
    }

    /// The bin of one value; 0 when it is missing.
    #[inline]
    pub fn bin(&self, value: f32) -> u32 {
        if self.classes.is_some() {
            return class_bin(value);
        }
        if self.crowded {
            return self.bin_among_many(value);
        }
        let bucket = self.buckets[self.place(value)];
        let cuts = bucket.cuts.map(|cut| u32::from(cut <= value));
        let bin = 1 + bucket.below + cuts.into_iter().sum::<u32>();
        if value.is_nan() { 0 } else { bin }
    }

    /// The values of a bin.
    #[expect(clippy::cast_precision_loss, reason = "class counts are small")]
    fn span(&self, bin: u32) -> Span {
        let at = bin as usize;
        match (at, self.classes) {
            (0, _) => Span::NOTHING,
            (_, Some(_)) => Span {
                from: (at - 1) as f32,
                to: at as f32,
            },
            (_, None) => Span {
                from: if at == 1 {
                    f32::NEG_INFINITY
                } else {
                    self.cuts[at - 2]
                },
                to: self.cuts.get(at - 1).copied().unwrap_or(f32::INFINITY),
            },
        }
    }

    #[expect(clippy::cast_possible_truncation, reason = "counts of cuts are small")]
    fn bin_among_many(&self, value: f32) -> u32 {
        if value.is_nan() {
            return 0;
        }
        let mut below = self.buckets[self.place(value)].below as usize;
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

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "class factors hold small whole indices"
)]
fn class_bin(value: f32) -> u32 {
    if value.is_nan() { 0 } else { value as u32 + 1 }
}

fn bounds(opinion: &Opinion, factor: &str) -> Option<[f64; 2]> {
    let given = opinion.given.as_ref().filter(|given| given.factor == factor)?;
    match given.holds {
        Holds::Between(from, to) => Some([from, to]),
        Holds::Classes(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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

    #[test]
    fn crowded_cuts_are_told_apart() {
        let close: Vec<f32> = (0..6)
            .map(|step| f32::from_bits(1.0_f32.to_bits() + step))
            .collect();
        let axis = Axis::of([close.clone(), vec![1.0e9]].concat(), None);
        assert!(axis.crowded);
        for (bin, &cut) in (2..).zip(&close) {
            assert_eq!((axis.bin(cut), axis.bin(cut.next_down())), (bin, bin - 1));
        }
        assert_eq!([f32::NAN, -1.0, 2.0e9].map(|value| axis.bin(value)), [0, 1, 8]);
    }
}
