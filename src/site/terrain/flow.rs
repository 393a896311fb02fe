//! Where water gathers. In come heights without depressions; out go catchments and the
//! wetness of each cell. Knows no layer.

use rayon::prelude::*;

use super::filling::{Filled, NEIGHBOURS, neighbour, short};
use super::flats::level_ranks;

/// Ground is taken to fall by at least so much: the index would grow without end on level
/// ground. Common practice, no source.
pub const LEAST_SLOPE: f64 = 0.001;

/// The flow out of one cell.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Outflow {
    /// Rise over run along the flow.
    slope: f64,
    /// The neighbour that flow goes to, and the one against the clock or with it beside it.
    to: [usize; 2],
    /// The share of the first.
    share: f64,
}

/// Catchments, slopes, and whether all of a catchment is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Flow {
    /// Cells that drain through each cell, itself included; fractions where flow parts.
    pub cells: Vec<f64>,
    /// Rise over run along the steepest way down; 0 on level ground, and at an edge that
    /// nothing falls from.
    pub slopes: Vec<f32>,
    /// Whether water may come from beyond the edge of what is known.
    pub beyond: Vec<bool>,
}

/// Lets water run down.
///
/// # Units
/// Heights and cell in the same unit of length.
///
/// # Missing
/// Catchment and slope of unknown ground are not a number.
///
/// # Method
/// D-infinity: flow follows the steepest of eight triangles and parts between the two
/// neighbours it runs between. Tarboton 1997, A new method for the determination of flow
/// directions and upslope areas in grid digital elevation models, Water Resources Research
/// 33:309-319. On level ground it parts among all neighbours of lower rank (`level_ranks`), by
/// fall and contour: Quinn, Beven, Chevallier and Planchon 1991, The prediction of hillslope
/// flow paths for distributed hydrological modelling using digital terrain models,
/// Hydrological Processes 5:59-79. Ranks are whole numbers, whose steps would leave every other
/// cell dry if water took one way alone.
#[must_use]
pub fn flow(filled: &Filled, cell_size: f64) -> Flow {
    let heights = &filled.heights;
    let ranks = level_ranks(filled);
    let mut order: Vec<u32> = (0..heights.len())
        .filter(|&cell| !heights[cell].is_nan())
        .map(short)
        .collect();
    // No two cells are equal, so the order hangs on no chance.
    order.par_sort_unstable_by(|&one, &other| {
        let (first, second) = (one as usize, other as usize);
        heights[second]
            .total_cmp(&heights[first])
            .then(ranks[second].cmp(&ranks[first]))
            .then(one.cmp(&other))
    });
    let mut found = Flow {
        cells: vec![f64::NAN; heights.len()],
        slopes: vec![f32::NAN; heights.len()],
        beyond: filled.edge.clone(),
    };
    for &cell in &order {
        found.cells[cell as usize] = 1.0;
    }
    for &cell in &order {
        let cell = cell as usize;
        let (amount, from_beyond) = (found.cells[cell], found.beyond[cell]);
        let mut give = |to: usize, share: f64| {
            if share > 0.0 {
                found.cells[to] += amount * share;
                found.beyond[to] |= from_beyond;
            }
        };
        if let Some(out) = outflow(filled, cell, cell_size) {
            give(out.to[0], out.share);
            give(out.to[1], 1.0 - out.share);
            #[expect(clippy::cast_possible_truncation, reason = "held in single precision")]
            let slope = out.slope as f32;
            found.slopes[cell] = slope;
        } else {
            found.slopes[cell] = 0.0;
            if !filled.edge[cell] {
                let lower = lower_ranks(filled, &ranks, cell);
                let sum: f64 = lower.iter().map(|(_, weight)| weight).sum();
                for (to, weight) in lower {
                    give(to, weight / sum);
                }
            }
        }
    }
    found
}

/// Level neighbours of lower rank, each with its weight: the fall along the way, times the
/// length of contour across it, which is half as long on a diagonal that is longer itself.
fn lower_ranks(filled: &Filled, ranks: &[i32], cell: usize) -> Vec<(usize, f64)> {
    let level = |other: usize| filled.heights[other] <= filled.heights[cell];
    let lower = NEIGHBOURS.into_iter().filter_map(|at| {
        let other = neighbour(cell, at, filled.rows, filled.cols)?;
        let straight = at.0 == 0 || at.1 == 0;
        let fall = f64::from(ranks[cell] - ranks[other]);
        (level(other) && fall > 0.0).then_some((other, if straight { 2.0 * fall } else { fall }))
    });
    lower.collect()
}

/// The steepest way down from a cell.
fn outflow(filled: &Filled, cell: usize, cell_size: f64) -> Option<Outflow> {
    let height = f64::from(filled.heights[cell]);
    let at = |index: usize| {
        let other = neighbour(cell, NEIGHBOURS[index % 8], filled.rows, filled.cols)?;
        Some((other, f64::from(filled.heights[other]))).filter(|(_, height)| !height.is_nan())
    };
    let mut best: Option<Outflow> = None;
    // Each straight neighbour makes a triangle with the diagonal on either side of it.
    for straight in [0, 2, 4, 6] {
        for diagonal in [straight + 1, straight + 7] {
            let Some((first, first_height)) = at(straight) else {
                continue;
            };
            let down = (height - first_height) / cell_size;
            let out = match at(diagonal) {
                None => Outflow {
                    slope: down,
                    to: [first, first],
                    share: 1.0,
                },
                Some((second, second_height)) => {
                    let across = (first_height - second_height) / cell_size;
                    let angle = across.atan2(down);
                    if angle <= 0.0 || down <= 0.0 && across <= 0.0 {
                        Outflow {
                            slope: down,
                            to: [first, second],
                            share: 1.0,
                        }
                    } else if angle >= std::f64::consts::FRAC_PI_4 {
                        Outflow {
                            slope: (height - second_height) / (cell_size * std::f64::consts::SQRT_2),
                            to: [first, second],
                            share: 0.0,
                        }
                    } else {
                        Outflow {
                            slope: down.hypot(across),
                            to: [first, second],
                            share: 1.0 - angle / std::f64::consts::FRAC_PI_4,
                        }
                    }
                }
            };
            if out.slope > 0.0 && best.is_none_or(|best| out.slope > best.slope) {
                best = Some(out);
            }
        }
    }
    best
}

impl Flow {
    /// The topographic wetness index of a cell.
    ///
    /// # Missing
    /// Where heights are unknown, and where water may come from beyond the edge of what is
    /// known: the catchment is larger than what is seen.
    ///
    /// # Method
    /// ln(a / tan b), a the catchment for each unit of contour, here the cell's side: Beven and
    /// Kirkby 1979, A physically based, variable contributing area model of basin hydrology,
    /// Hydrological Sciences Bulletin 24:43-69. The slope is that along the flow,
    /// [`LEAST_SLOPE`] at the least.
    #[must_use]
    pub fn wetness_index(&self, cell: usize, cell_m: f64) -> Option<f64> {
        let slope = f64::from(self.slopes[cell]);
        let known = !self.beyond[cell] && !slope.is_nan();
        known.then(|| (self.cells[cell] * cell_m / slope.max(LEAST_SLOPE)).ln())
    }
}
