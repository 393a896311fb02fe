//! Which factor draws a zone's border. In come the borders of zones and the sums of
//! their ground, out goes a factor a zone. Does not know how coarse its layer is.

use std::cmp::Reverse;
use std::collections::{BTreeMap, HashMap};

use rayon::prelude::*;

use super::ground::ZoneGround;
use super::regions::Border;
use crate::rating::{CellRater, Questions};

/// For one factor the cells of a zone by what the factor is to the species: a bin,
/// named by its first value's bits.
type Bins = BTreeMap<u32, u64>;

/// For each zone the factor that draws most of its border; zone `n` at `n - 1`.
///
/// # Missing
/// Nothing for a zone without neighbours, whose border is that of the rated ground.
///
/// # Method
/// Between two neighbours the border is drawn by the factor in whose bins their cells
/// differ most: half the sum of the differences between the shares of the bins, 0
/// where they are alike and 1 where no bin is shared; ties in the project's order. A
/// factor on which no species has an opinion draws none. A zone has the factor that
/// draws the longest part, ties likewise.
#[must_use]
pub fn border_factors(
    borders: &[Border],
    grounds: &[&ZoneGround],
    questions: &Questions,
    rater: &CellRater,
) -> Vec<Option<usize>> {
    let factors = questions.factors().len();
    let matters = |&factor: &usize| questions.matters(factor);
    let counted: Vec<usize> = (0..factors).filter(matters).collect();
    let bins = bins_of_zones(grounds, questions, rater);
    let mut lengths = vec![vec![0u64; factors]; grounds.len()];
    let drawing = |border: &Border| {
        let (one, other) = (border.a as usize - 1, border.b as usize - 1);
        let differences = counted
            .iter()
            .map(|&factor| (factor, difference(&bins[one][factor], &bins[other][factor])));
        differences
            .filter(|(_, difference)| *difference > 0.0)
            .max_by(|one, other| one.1.total_cmp(&other.1).then(other.0.cmp(&one.0)))
    };
    let drawing: Vec<Option<(usize, f64)>> = borders.par_iter().map(drawing).collect();
    for (border, most) in borders.iter().zip(drawing) {
        let (one, other) = (border.a as usize - 1, border.b as usize - 1);
        if let Some((factor, _)) = most {
            lengths[one][factor] += u64::from(border.length);
            lengths[other][factor] += u64::from(border.length);
        }
    }
    let longest = |lengths: &Vec<u64>| {
        (0..factors)
            .filter(|&factor| lengths[factor] > 0)
            .max_by_key(|&factor| (lengths[factor], Reverse(factor)))
    };
    lengths.iter().map(longest).collect()
}

/// For each zone and factor the cells by bin.
fn bins_of_zones(grounds: &[&ZoneGround], questions: &Questions, rater: &CellRater) -> Vec<Vec<Bins>> {
    type Samples = HashMap<(usize, u64), Vec<f32>>;
    let list = questions.questions().iter();
    let drawn_by: Vec<_> = list.map(|question| questions.drawn_by(question)).collect();
    let of_zone = |samples: &mut Samples, ground: &ZoneGround| {
        let mut bins = vec![Bins::new(); questions.factors().len()];
        for (number, drawn_by) in drawn_by.iter().enumerate() {
            for (key, cells) in ground.questions[number].iter() {
                let sample = samples
                    .entry((number, key))
                    .or_insert_with(|| rater.ground_sample(number, key));
                for &(factor, told_by) in drawn_by {
                    *bins[factor].entry(sample[told_by].to_bits()).or_default() += cells;
                }
            }
        }
        bins
    };
    grounds
        .par_iter()
        .map_init(Samples::new, |samples, ground| of_zone(samples, ground))
        .collect()
}

#[expect(clippy::cast_precision_loss, reason = "shares to compare")]
fn difference(one: &Bins, other: &Bins) -> f64 {
    let whole = |bins: &Bins| bins.values().sum::<u64>().max(1) as f64;
    let (one_whole, other_whole) = (whole(one), whole(other));
    let share = |bins: &Bins, key: &u32, whole: f64| bins.get(key).map_or(0.0, |&cells| cells as f64 / whole);
    let of_one = one
        .keys()
        .map(|key| (share(one, key, one_whole) - share(other, key, other_whole)).abs());
    let of_other = other
        .keys()
        .filter(|key| !one.contains_key(key))
        .map(|key| share(other, key, other_whole));
    of_one.chain(of_other).sum::<f64>() / 2.0
}
