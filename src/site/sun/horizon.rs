//! Horizons: how steeply the ground and what stands on it rise above each cell in one
//! direction. In come heights of a window with a margin as wide as the reach; out go slopes
//! of the window's cells. Knows no sun.

use super::hull::Sweep;
use crate::grid::Raster;

/// Radius of the Earth over one less the coefficient of refraction, 0.13 (both are the usual ones
/// of surveying: common practice, no source): the ground as light along it sees it.
pub const SEEN_RADIUS_M: f64 = 6_371_000.0 / (1.0 - 0.13);

/// So many steps next to a cell are marched along the ray itself; those beyond are seen along
/// a line of cells that leaves it by at most one cell.
pub const NEAR_STEPS: usize = 16;

/// Where a window lies on the grid and how its horizons are looked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Row of the grid of the window's first row, the margin left out.
    pub row: usize,
    /// Column likewise.
    pub col: usize,
    /// Cells of margin on every side, as many as the reach has or more.
    pub margin: usize,
    /// Side of a cell in metres.
    pub cell_m: f64,
    /// Ground farther than this throws no shade.
    pub reach_m: f64,
    /// How many of the nearest steps are marched: [`NEAR_STEPS`]; more are exact and slow.
    pub near_steps: usize,
}

/// Heights of ground and of what stands on it, laid out for looking along rows.
#[derive(Debug)]
pub struct Heights {
    rows: usize,
    cols: usize,
    ground: Vec<f32>,
    tops: Vec<f32>,
}

/// Slopes of the horizons of a window in one direction.
#[derive(Debug, Clone, PartialEq)]
pub struct Horizons {
    /// Rise over run to the highest point, below 0 where all lies lower.
    pub slopes: Vec<f32>,
    /// Where heights within the reach are unknown.
    pub unknown: Vec<bool>,
    /// Whether cells stand column by column.
    pub turned: bool,
}

/// One direction on the grid, as steps along its main axis.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ray {
    /// Whether the main axis runs along columns of the grid.
    turned: bool,
    /// Whether it runs toward falling indices.
    backward: bool,
    /// Steps aside for each step along.
    pub aside: f64,
    /// Metres of a step.
    pub step_m: f64,
    /// Steps within the reach.
    pub steps: usize,
}

impl Ray {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the reach is at most the margin, a count of cells"
    )]
    fn new(bearing_deg: f64, frame: &Frame) -> Ray {
        // Sines of whole quarters are not quite 0.
        let whole = |value: f64| if value.abs() < 1e-12 { 0.0 } else { value };
        let (east, south) = (
            whole(bearing_deg.to_radians().sin()),
            whole(-bearing_deg.to_radians().cos()),
        );
        // Diagonals differ in the last digit.
        let turned = south.abs() > east.abs() + 1e-9;
        let (along, across) = if turned { (south, east) } else { (east, south) };
        let aside = (across / along.abs()).clamp(-1.0, 1.0);
        let step_m = frame.cell_m * (1.0 + aside * aside).sqrt();
        Ray {
            turned,
            backward: along < 0.0,
            aside,
            step_m,
            steps: ((frame.reach_m / step_m) as usize).min(frame.margin),
        }
    }

    /// How far aside a line of cells is after so many steps from the grid's edge.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        reason = "cells of a grid"
    )]
    pub fn offset(&self, along: i64) -> i64 {
        (self.aside * along as f64 + 0.5).floor() as i64
    }
}

impl Heights {
    /// Heights in metres, margins included; the tops are missing where the heights of things
    /// or of the ground are unknown. Rows of both run from west to east.
    #[must_use]
    pub fn new(ground: &Raster<f32>, tops: &Raster<f32>) -> Heights {
        Heights {
            rows: ground.rows(),
            cols: ground.cols(),
            ground: ground.values().to_vec(),
            tops: tops.values().to_vec(),
        }
    }

    /// Whether the ground's height is known, by cell of the window within the margin.
    #[must_use]
    pub fn known(&self, margin: usize) -> Vec<bool> {
        let rows = margin..self.rows - margin;
        let cells = rows.flat_map(|row| {
            let start = row * self.cols;
            &self.ground[start + margin..start + self.cols - margin]
        });
        cells.map(|height| !height.is_nan()).collect()
    }

    /// The same heights with rows for columns, for looking north and south.
    #[must_use]
    pub fn turned(&self) -> Heights {
        Heights {
            rows: self.cols,
            cols: self.rows,
            ground: turn(&self.ground, self.rows, self.cols),
            tops: turn(&self.tops, self.rows, self.cols),
        }
    }
}

/// Values by row as values by column.
#[must_use]
pub fn turn<T: Copy + Default>(values: &[T], rows: usize, cols: usize) -> Vec<T> {
    let mut turned = vec![T::default(); values.len()];
    for row in 0..rows {
        for col in 0..cols {
            turned[col * rows + row] = values[row * cols + col];
        }
    }
    turned
}

/// Horizons of the cells within the margins, toward a bearing from the grid's north.
///
/// `heights` and `turned` are the same, by rows and by columns.
///
/// # Units
/// Bearing in degrees, clockwise.
///
/// # Missing
/// A cell of unknown ground has a horizon that is not a number.
///
/// # Method
/// The nearest steps are marched along the ray, heights between cells by straight lines.
/// Farther ones are seen along digital lines: runs of cells that lie nearest to parallel
/// lines fixed to the grid. Along each, the highest point ahead is a tangent to the upper
/// hull of the points within the reach, which a sweep keeps at a cost that does not grow
/// with the reach. Ground falls away by the square of the distance over the Earth's
/// diameter, less refraction.
#[must_use]
pub fn horizons(heights: &Heights, turned: &Heights, frame: &Frame, bearing_deg: f64) -> Horizons {
    let ray = Ray::new(bearing_deg, frame);
    let heights = if ray.turned { turned } else { heights };
    let margin = frame.margin;
    let (rows, cols) = (heights.rows - 2 * margin, heights.cols - 2 * margin);
    let mut found = Horizons {
        slopes: vec![f32::NEG_INFINITY; rows * cols],
        unknown: vec![false; rows * cols],
        turned: ray.turned,
    };
    march(heights, margin, &ray, frame.near_steps.min(ray.steps), &mut found);
    if frame.near_steps < ray.steps {
        let first = if ray.turned {
            (frame.col, frame.row)
        } else {
            (frame.row, frame.col)
        };
        far(heights, first, margin, &ray, frame.near_steps, &mut found);
    }
    for row in 0..rows {
        let ground = &heights.ground[(row + margin) * heights.cols + margin..][..cols];
        for (slope, ground) in found.slopes[row * cols..][..cols].iter_mut().zip(ground) {
            if ground.is_nan() {
                *slope = f32::NAN;
            }
        }
    }
    found
}

/// Marches the first steps along the ray.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    clippy::cast_possible_wrap,
    reason = "steps and cells of a window; heights are held in single precision"
)]
fn march(heights: &Heights, margin: usize, ray: &Ray, steps: usize, found: &mut Horizons) {
    let (rows, cols) = (heights.rows - 2 * margin, heights.cols - 2 * margin);
    for step in 1..=steps {
        let aside = ray.aside * step as f64;
        let shift = aside.floor();
        let share = (aside - shift) as f32;
        let distance_m = ray.step_m * step as f64;
        let per_run = (1.0 / distance_m) as f32;
        let fall = (distance_m * distance_m / (2.0 * SEEN_RADIUS_M)) as f32;
        let first_col = if ray.backward {
            margin - step
        } else {
            margin + step
        };
        for row in 0..rows {
            let line = ((row + margin) as i64 + shift as i64) as usize;
            let near = &heights.tops[line * heights.cols + first_col..][..cols];
            let ground = &heights.ground[(row + margin) * heights.cols + margin..][..cols];
            let slopes = &mut found.slopes[row * cols..][..cols];
            let unknown = &mut found.unknown[row * cols..][..cols];
            let cells = slopes.iter_mut().zip(unknown).zip(ground.iter().zip(near));
            if share > 0.0 {
                let next = &heights.tops[(line + 1) * heights.cols + first_col..][..cols];
                for (((slope, unknown), (ground, near)), next) in cells.zip(next) {
                    let top = near + (next - near) * share;
                    *unknown |= top.is_nan();
                    *slope = slope.max((top - ground - fall) * per_run);
                }
            } else {
                for ((slope, unknown), (ground, near)) in cells {
                    *unknown |= near.is_nan();
                    *slope = slope.max((near - ground - fall) * per_run);
                }
            }
        }
    }
}

/// Looks beyond the nearest steps along lines of cells.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "cells of a window"
)]
fn far(
    heights: &Heights,
    first: (usize, usize),
    margin: usize,
    ray: &Ray,
    near: usize,
    found: &mut Horizons,
) {
    let (rows, cols) = (
        (heights.rows - 2 * margin) as i64,
        (heights.cols - 2 * margin) as i64,
    );
    // Along the ray indices rise; backward ones are counted from the grid's edge downward.
    let first_along = if ray.backward {
        -(first.1 as i64 + cols - 1)
    } else {
        first.1 as i64
    };
    let last_along = first_along + cols - 1;
    let col_of = |along: i64| {
        let col = if ray.backward { -along } else { along };
        col - first.1 as i64 + margin as i64
    };
    let (low, high) = {
        let ends = (ray.offset(first_along), ray.offset(last_along));
        (ends.0.min(ends.1), ends.0.max(ends.1))
    };
    let first_row = first.0 as i64;
    let mut sweep = Sweep::new(ray.step_m, near, ray.steps);
    for line in first_row - high..first_row + rows - low {
        // The cells of the line within the window follow each other.
        let within = |along: i64| (0..rows).contains(&(line + ray.offset(along) - first_row));
        let Some((start, end)) = stretch(first_along, last_along, ray, line - first_row, rows) else {
            continue;
        };
        debug_assert!(within(start) && within(end));
        let place = |along: i64| {
            let row = line + ray.offset(along) - first_row + margin as i64;
            (row as usize, col_of(along) as usize)
        };
        sweep.begin(start);
        for along in start..=end {
            let (row, col) = place(along);
            sweep
                .ground
                .push(f64::from(heights.ground[row * heights.cols + col]));
        }
        for along in start..=end + ray.steps as i64 {
            let (row, col) = place(along);
            sweep.tops.push(f64::from(heights.tops[row * heights.cols + col]));
        }
        sweep.run();
        for (index, (&slope, &unknown)) in sweep.slopes.iter().zip(&sweep.unknown).enumerate() {
            let (row, col) = place(start + index as i64);
            let cell = (row - margin) * cols as usize + (col - margin);
            found.slopes[cell] = found.slopes[cell].max(slope as f32);
            found.unknown[cell] |= unknown;
        }
    }
}

/// First and last step at which a line is within `0..rows`, its row at step 0 being `from`.
fn stretch(first: i64, last: i64, ray: &Ray, from: i64, rows: i64) -> Option<(i64, i64)> {
    let row = |along: i64| from + ray.offset(along);
    // Offsets rise or fall steadily, so that each bound is found by halving.
    let rising = ray.aside >= 0.0;
    let before = |along: i64| {
        if rising {
            row(along) < 0
        } else {
            row(along) >= rows
        }
    };
    let within = |along: i64| {
        if rising {
            row(along) < rows
        } else {
            row(along) >= 0
        }
    };
    let partition = |holds: &dyn Fn(i64) -> bool| {
        let (mut low, mut high) = (first, last + 1);
        while low < high {
            let middle = low + (high - low) / 2;
            if holds(middle) {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        low
    };
    let start = partition(&before);
    let end = partition(&within) - 1;
    (start <= end).then_some((start, end))
}
