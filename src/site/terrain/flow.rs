//! Where water gathers. In come heights without depressions; out go catchments and the
//! wetness of each cell. Knows no layer.

use rayon::prelude::*;

use super::filling::{Filled, NEIGHBOURS, neighbour, short};
use super::flats::level_ranks;

/// Ground is taken to fall by at least so much: the index would grow without end on level
/// ground. Common practice, no source.
pub const LEAST_SLOPE: f64 = 0.001;

/// Higher than any rank of level ground: where water on level ground cannot go.
const WALL: f64 = 1e12;

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
/// 33:309-319. On level ground the same over ranks in place of heights (`level_ranks`).
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
    let by_height = |_: usize, other: usize| f64::from(heights[other]);
    let by_rank = |cell: usize, other: usize| {
        if heights[other] > heights[cell] {
            WALL
        } else {
            f64::from(ranks[other])
        }
    };
    for &cell in &order {
        let cell = cell as usize;
        let mut outflow_of = outflow(filled, cell, cell_size, by_height);
        if outflow_of.is_none() && !filled.edge[cell] {
            outflow_of = outflow(filled, cell, cell_size, by_rank).map(|out| Outflow { slope: 0.0, ..out });
        }
        let Some(out) = outflow_of else {
            found.slopes[cell] = 0.0;
            continue;
        };
        #[expect(
            clippy::cast_possible_truncation,
            reason = "slopes are held in single precision"
        )]
        let slope = out.slope as f32;
        found.slopes[cell] = slope;
        let amount = found.cells[cell];
        for (to, share) in [(out.to[0], out.share), (out.to[1], 1.0 - out.share)] {
            if share > 0.0 {
                found.cells[to] += amount * share;
                found.beyond[to] |= found.beyond[cell];
            }
        }
    }
    found
}

/// The steepest way down from a cell, by what stands for the height of a cell.
fn outflow(
    filled: &Filled,
    cell: usize,
    cell_size: f64,
    height_of: impl Fn(usize, usize) -> f64,
) -> Option<Outflow> {
    let height = height_of(cell, cell);
    let at = |index: usize| {
        let other = neighbour(cell, NEIGHBOURS[index % 8], filled.rows, filled.cols)?;
        (!filled.heights[other].is_nan()).then(|| (other, height_of(cell, other)))
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
