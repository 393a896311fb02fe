//! How each factor is spread over the rated ground, from the sums of the zones.

use std::collections::BTreeMap;

use super::prepared::Prepared;
use crate::factor::Kind;
use crate::rating::CellRater;
use crate::zones::{FactorSums, MeasuredSums, ZoneGround};

/// Steps into which the values of a measured factor are put.
const STEPS: usize = 24;

/// Fewer bins than this draw a poor picture; then the means of zones do.
const LEAST_BINS: usize = 8;

/// How one factor is spread, in square metres.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spread {
    /// Of a measured factor its least and greatest finite value.
    pub ends: Option<(f32, f32)>,
    /// Area in each of [`STEPS`] equal steps between the ends, or of each class.
    pub areas_m2: Vec<f64>,
    /// Without a value.
    pub missing_m2: f64,
    /// Beyond reach.
    pub beyond_m2: f64,
    /// Whether a zone counts as a whole with its mean.
    pub by_means: bool,
}

/// The sums of a zone with its cells and area. Sums of a stored output may have been spoilt
/// since, and need not fit the cells.
pub struct SpreadZone<'a> {
    /// What its cells say.
    pub ground: &'a ZoneGround,
    /// How many there are.
    pub cells: u64,
    /// Their area.
    pub area_m2: f64,
}

/// The spread of each factor.
///
/// # Method
/// Classes are counted cell by cell. Values of a measured factor are counted in the bins
/// within which no species' class changes, and each bin is spread evenly over its width.
/// Where a factor has few bins, or none of its own, each zone counts with its mean.
pub fn spreads(prepared: &Prepared, rater: &CellRater, zones: &[SpreadZone]) -> Vec<Spread> {
    let bins = Bins::of(prepared, rater, zones);
    let factors = prepared.site.factors().iter().enumerate();
    factors
        .map(|(place, factor)| match &factor.kind {
            Kind::Classes { names, .. } => of_classes(place, names.len(), zones),
            Kind::Measured(_) => of_numbers(place, bins.0.get(&place), zones),
        })
        .collect()
}

fn of_classes(factor: usize, classes: usize, zones: &[SpreadZone]) -> Spread {
    let mut spread = Spread {
        areas_m2: vec![0.0; classes],
        ..Spread::default()
    };
    for zone in zones {
        let FactorSums::Classes(counts) = &zone.ground.factors[factor] else {
            continue;
        };
        let mut known = 0;
        for (class, cells) in counts.iter() {
            known = cells.saturating_add(known);
            let place = usize::try_from(class).ok();
            if let Some(area) = place.and_then(|place| spread.areas_m2.get_mut(place)) {
                *area += zone.area_of(cells);
            }
        }
        spread.missing_m2 += zone.area_of(zone.cells.saturating_sub(known));
    }
    spread
}

fn of_numbers(factor: usize, bins: Option<&BTreeMap<Ordered, f64>>, zones: &[SpreadZone]) -> Spread {
    let mut spread = Spread::default();
    let (mut least, mut greatest) = (f32::INFINITY, f32::NEG_INFINITY);
    for (zone, sums) in measured(factor, zones) {
        spread.beyond_m2 += zone.area_of(sums.beyond);
        spread.missing_m2 += zone.area_of(zone.cells.saturating_sub(sums.known.saturating_add(sums.beyond)));
        least = least.min(sums.least);
        greatest = greatest.max(sums.greatest);
    }
    if least > greatest {
        return spread;
    }
    spread.ends = Some((least, greatest));
    let mut steps = Steps::new(least, greatest);
    let within = |bins: &BTreeMap<Ordered, f64>| {
        bins.keys()
            .filter(|bin| bin.0 > least && bin.0 <= greatest)
            .count()
    };
    if let Some(bins) = bins.filter(|bins| within(bins) >= LEAST_BINS) {
        let starts: Vec<(f32, f64)> = bins.iter().map(|(bin, area)| (bin.0, *area)).collect();
        for (place, &(from, area_m2)) in starts.iter().enumerate() {
            let to = starts.get(place + 1).map_or(f32::INFINITY, |(next, _)| *next);
            // What is beyond reach lies in the last bin.
            let beyond = if place + 1 == starts.len() {
                spread.beyond_m2
            } else {
                0.0
            };
            steps.add(from.max(least), to.min(greatest), (area_m2 - beyond).max(0.0));
        }
    } else {
        spread.by_means = true;
        for (zone, sums) in measured(factor, zones) {
            #[expect(
                clippy::cast_possible_truncation,
                reason = "values are held in single precision"
            )]
            if let Some(mean) = sums.mean() {
                steps.add(mean as f32, mean as f32, zone.area_of(sums.known));
            }
        }
    }
    spread.areas_m2 = steps.areas_m2;
    spread
}

fn measured<'z>(
    factor: usize,
    zones: &'z [SpreadZone],
) -> impl Iterator<Item = (&'z SpreadZone<'z>, &'z MeasuredSums)> {
    zones
        .iter()
        .filter_map(move |zone| match &zone.ground.factors[factor] {
            FactorSums::Measured(sums) => Some((zone, sums)),
            FactorSums::Classes(_) => None,
        })
}

impl SpreadZone<'_> {
    /// The area of so many of its cells.
    #[expect(clippy::cast_precision_loss, reason = "areas for people")]
    fn area_of(&self, cells: u64) -> f64 {
        self.area_m2 * cells as f64 / self.cells.max(1) as f64
    }
}

/// Equal steps between two ends.
struct Steps {
    least: f64,
    width: f64,
    areas_m2: Vec<f64>,
}

impl Steps {
    #[expect(clippy::cast_precision_loss, reason = "a few steps")]
    fn new(least: f32, greatest: f32) -> Steps {
        let (least, greatest) = (f64::from(least), f64::from(greatest));
        Steps {
            least,
            width: (greatest - least) / STEPS as f64,
            areas_m2: vec![0.0; STEPS],
        }
    }

    /// Spreads an area evenly from one value to another.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "places of a few steps"
    )]
    fn add(&mut self, from: f32, to: f32, area_m2: f64) {
        let place =
            |value: f32| ((f64::from(value) - self.least) / self.width.max(1e-12)).clamp(0.0, STEPS as f64);
        let (from, to) = (place(from), place(to));
        let first = (from as usize).min(STEPS - 1);
        if to - from < 1e-9 {
            self.areas_m2[first] += area_m2;
            return;
        }
        for step in first..STEPS {
            let share = (to.min(step as f64 + 1.0) - from.max(step as f64)).max(0.0) / (to - from);
            self.areas_m2[step] += area_m2 * share;
        }
    }
}

/// First values of bins, in order.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Ordered(f32);

impl Eq for Ordered {}

impl PartialOrd for Ordered {
    fn partial_cmp(&self, other: &Ordered) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Ordered {
    fn cmp(&self, other: &Ordered) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

/// For each factor that has bins of its own the area in each, by its first value.
struct Bins(BTreeMap<usize, BTreeMap<Ordered, f64>>);

impl Bins {
    fn of(prepared: &Prepared, rater: &CellRater, zones: &[SpreadZone]) -> Bins {
        let mut bins: BTreeMap<usize, BTreeMap<Ordered, f64>> = BTreeMap::new();
        for (number, question) in prepared.questions.questions().iter().enumerate() {
            let own: Vec<usize> = prepared
                .questions
                .drawn_by(question)
                .into_iter()
                .filter(|(factor, told_by)| factor == told_by)
                .map(|(factor, _)| factor)
                .collect();
            let mut areas: BTreeMap<u64, f64> = BTreeMap::new();
            for zone in zones {
                for (key, cells) in zone.ground.questions[number].iter() {
                    *areas.entry(key).or_default() += zone.area_of(cells);
                }
            }
            for (key, area_m2) in areas {
                let sample = rater.ground_sample(number, key);
                for &factor in own.iter().filter(|factor| !sample[**factor].is_nan()) {
                    let of_factor = bins.entry(factor).or_default();
                    *of_factor.entry(Ordered(sample[factor])).or_default() += area_m2;
                }
            }
        }
        Bins(bins)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_are_spread_over_the_steps_they_span() {
        let mut steps = Steps::new(0.0, 24.0);
        steps.add(0.0, 12.0, 12.0);
        steps.add(5.5, 5.5, 3.0);
        steps.add(23.0, 24.0, 7.0);
        assert_eq!(steps.areas_m2[0], 1.0);
        assert_eq!(steps.areas_m2[5], 4.0);
        assert_eq!(steps.areas_m2[12], 0.0);
        assert_eq!(steps.areas_m2[23], 7.0);
        // One value alone is one step.
        let mut one = Steps::new(3.0, 3.0);
        one.add(3.0, 3.0, 5.0);
        assert_eq!(one.areas_m2.iter().sum::<f64>(), 5.0);
    }
}
