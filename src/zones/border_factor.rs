//! Which factor draws a zone's border. In come the borders of zones and the sums of
//! their ground, out goes a factor a zone. Does not know how coarse its layer is.

use std::cmp::Reverse;
use std::collections::HashMap;

use rayon::prelude::*;

use super::ground::ZoneGround;
use super::regions::Border;
use crate::rating::{CellRater, Questions};

/// Cells of a zone that are alike to the species by one factor.
#[derive(Debug, Clone, Copy)]
struct Bin {
    factor: usize,
    /// The bits of the bin's first value.
    first: u32,
    cells: u64,
}

/// For each zone the factor that draws most of some borders; zone `n` at `n - 1`. `ground`
/// gives the sums of a zone by place, and is asked for zones that have a border only.
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
    zones: usize,
    ground: impl Fn(usize) -> ZoneGround + Sync,
    questions: &Questions,
    rater: &CellRater,
) -> Vec<Option<usize>> {
    let factors = questions.factors().len();
    let matters = |&factor: &usize| questions.matters(factor);
    let counted: Vec<usize> = (0..factors).filter(matters).collect();
    let mut has_border = vec![false; zones];
    for border in borders {
        has_border[border.a as usize - 1] = true;
        has_border[border.b as usize - 1] = true;
    }
    let bins = bins_of_zones(&has_border, ground, questions, rater);
    let mut lengths = vec![Vec::new(); zones];
    let drawing = |border: &Border| {
        let (one, other) = (&bins[border.a as usize - 1], &bins[border.b as usize - 1]);
        let differences = counted.iter().map(|&factor| {
            (
                factor,
                difference(of_factor(one, factor), of_factor(other, factor)),
            )
        });
        differences
            .filter(|(_, difference)| *difference > 0.0)
            .max_by(|one, other| one.1.total_cmp(&other.1).then(other.0.cmp(&one.0)))
    };
    let drawing: Vec<Option<(usize, f64)>> = borders.par_iter().map(drawing).collect();
    for (border, most) in borders.iter().zip(drawing) {
        let Some((factor, _)) = most else { continue };
        for zone in [border.a, border.b] {
            let lengths = &mut lengths[zone as usize - 1];
            lengths.resize(factors, 0);
            lengths[factor] += u64::from(border.length);
        }
    }
    let longest = |lengths: &Vec<u64>| {
        (0..lengths.len())
            .filter(|&factor| lengths[factor] > 0)
            .max_by_key(|&factor| (lengths[factor], Reverse(factor)))
    };
    lengths.iter().map(longest).collect()
}

/// For each zone that has a border its cells by bin, in the order of factors and values.
fn bins_of_zones(
    has_border: &[bool],
    ground: impl Fn(usize) -> ZoneGround + Sync,
    questions: &Questions,
    rater: &CellRater,
) -> Vec<Box<[Bin]>> {
    type Samples = HashMap<(usize, u64), Vec<f32>>;
    let list = questions.questions().iter();
    let drawn_by: Vec<_> = list.map(|question| questions.drawn_by(question)).collect();
    let of_zone = |samples: &mut Samples, ground: &ZoneGround| -> Box<[Bin]> {
        let mut bins = Vec::new();
        for (number, drawn_by) in drawn_by.iter().enumerate() {
            for (key, cells) in ground.questions[number].iter() {
                let sample = samples
                    .entry((number, key))
                    .or_insert_with(|| rater.ground_sample(number, key));
                bins.extend(drawn_by.iter().map(|&(factor, told_by)| Bin {
                    factor,
                    first: sample[told_by].to_bits(),
                    cells,
                }));
            }
        }
        bins.sort_unstable_by_key(|bin| (bin.factor, bin.first));
        bins.dedup_by(|next, bin| {
            let is_same = (next.factor, next.first) == (bin.factor, bin.first);
            bin.cells += if is_same { next.cells } else { 0 };
            is_same
        });
        bins.into_boxed_slice()
    };
    has_border
        .par_iter()
        .enumerate()
        .map_init(Samples::new, |samples, (zone, &has_border)| {
            if has_border {
                of_zone(samples, &ground(zone))
            } else {
                Box::default()
            }
        })
        .collect()
}

fn of_factor(bins: &[Bin], factor: usize) -> &[Bin] {
    let start = bins.partition_point(|bin| bin.factor < factor);
    let end = bins.partition_point(|bin| bin.factor <= factor);
    &bins[start..end]
}

#[expect(clippy::cast_precision_loss, reason = "shares to compare")]
fn difference(one: &[Bin], other: &[Bin]) -> f64 {
    let whole = |bins: &[Bin]| bins.iter().map(|bin| bin.cells).sum::<u64>().max(1) as f64;
    let (one_whole, other_whole) = (whole(one), whole(other));
    let find = |bins: &[Bin], first: u32| -> Option<u64> {
        let place = bins.binary_search_by_key(&first, |bin| bin.first);
        place.ok().map(|place| bins[place].cells)
    };
    let of_one = one.iter().map(|bin| {
        let others = find(other, bin.first).unwrap_or(0);
        (bin.cells as f64 / one_whole - others as f64 / other_whole).abs()
    });
    let of_other = other
        .iter()
        .filter(|bin| find(one, bin.first).is_none())
        .map(|bin| bin.cells as f64 / other_whole);
    of_one.chain(of_other).sum::<f64>() / 2.0
}
