//! Where water gathers. In come heights without depressions; out go catchments and the
//! wetness of each cell. Knows no layer.

use super::filling::{Filled, NEIGHBOURS, neighbour};

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
    /// Rise over run along the steepest way down; 0 at an edge that nothing falls from.
    pub slopes: Vec<f64>,
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
/// 33:309-319.
#[must_use]
pub fn flow(filled: &Filled, cell_size: f64) -> Flow {
    let count = filled.heights.len();
    let mut order: Vec<usize> = (0..count)
        .filter(|&cell| !filled.heights[cell].is_nan())
        .collect();
    order.sort_by(|&one, &other| {
        filled.heights[other]
            .total_cmp(&filled.heights[one])
            .then(one.cmp(&other))
    });
    let mut found = Flow {
        cells: vec![f64::NAN; count],
        slopes: vec![f64::NAN; count],
        beyond: filled.edge.clone(),
    };
    for &cell in &order {
        found.cells[cell] = 1.0;
    }
    for &cell in &order {
        let Some(out) = outflow(filled, cell, cell_size) else {
            found.slopes[cell] = 0.0;
            continue;
        };
        found.slopes[cell] = out.slope;
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

/// The steepest way down from a cell.
fn outflow(filled: &Filled, cell: usize, cell_size: f64) -> Option<Outflow> {
    let height = filled.heights[cell];
    let at = |index: usize| {
        let other = neighbour(cell, NEIGHBOURS[index % 8], filled.rows, filled.cols)?;
        Some((other, filled.heights[other])).filter(|(_, height)| !height.is_nan())
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

/// The topographic wetness index.
///
/// # Missing
/// Where heights are unknown, and where water may come from beyond the edge of what is known:
/// the catchment is larger than what is seen.
///
/// # Method
/// ln(a / tan b), a the catchment for each unit of contour, here the cell's side: Beven and
/// Kirkby 1979, A physically based, variable contributing area model of basin hydrology,
/// Hydrological Sciences Bulletin 24:43-69. The slope is that along the flow, [`LEAST_SLOPE`]
/// at the least.
#[must_use]
pub fn wetness_index(flow: &Flow, cell_m: f64) -> Vec<f64> {
    let cells = flow.cells.iter().zip(&flow.slopes).zip(&flow.beyond);
    cells
        .map(|((&cells, &slope), &beyond)| {
            if beyond || slope.is_nan() {
                f64::NAN
            } else {
                (cells * cell_m / slope.max(LEAST_SLOPE)).ln()
            }
        })
        .collect()
}
