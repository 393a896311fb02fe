//! The slope of the ground from elevations. In come elevations of a window with
//! one more cell on every side; out goes the slope of the window's cells. It does
//! not know where the window lies.

use pulp::Arch;

use crate::grid::{Cell, Raster, Window};

/// How elevation changes across a cell, rise over run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gradient {
    /// Rise toward the east.
    pub east: f64,
    /// Rise toward the south.
    pub south: f64,
}

impl Gradient {
    /// The gradient at the middle of nine elevations, three rows from the north.
    ///
    /// # Units
    /// Elevations and cell in the same unit of length.
    ///
    /// # Method
    /// Third-order finite difference weighted by distance: east is
    /// [(c + 2f + i) - (a + 2d + g)] / 8w, south is [(g + 2h + i) - (a + 2b + c)] / 8w.
    /// Horn 1981, Hill shading and the reflectance map, Proceedings of the IEEE
    /// 69:14-47.
    #[must_use]
    #[inline(always)]
    #[expect(
        clippy::many_single_char_names,
        reason = "the letters of the published formula"
    )]
    pub fn horn([[a, b, c], [d, _, f], [g, h, i]]: [[f64; 3]; 3], cell: f64) -> Gradient {
        Gradient {
            east: ((c + 2.0 * f + i) - (a + 2.0 * d + g)) / (8.0 * cell),
            south: ((g + 2.0 * h + i) - (a + 2.0 * b + c)) / (8.0 * cell),
        }
    }

    /// Rise over run straight up the slope, in per cent: 100 is 45 degrees.
    #[must_use]
    #[inline(always)]
    pub fn slope_pct(&self) -> f64 {
        100.0 * (self.east * self.east + self.south * self.south).sqrt()
    }
}

/// The slope of each cell but the outermost ring, which only serves as neighbours:
/// two rows and two columns fewer than the elevations.
///
/// # Units
/// Elevations in a unit of `metres_per_unit` metres, cell in metres, slope in per
/// cent (rise over run x 100).
///
/// # Missing
/// Where the elevation of the cell or of any of its eight neighbours is missing:
/// what would fill the gap is a guess.
///
/// # Method
/// [`Gradient::horn`] of the elevations in metres.
#[must_use]
pub fn slope_pct(elevations: &Raster<f32>, cell_m: f64, metres_per_unit: f64) -> Raster<f32> {
    let inner = Window {
        row: 0,
        col: 0,
        rows: elevations.rows().saturating_sub(2),
        cols: elevations.cols().saturating_sub(2),
    };
    let mut slopes = Raster::filled(inner, f32::MISSING);
    let arch = Arch::new();
    // Three rows of elevations in metres, so that each is converted once.
    let mut lines = [(); 3].map(|()| vec![0.0; inner.cols + 2]);
    for row in 0..elevations.rows() {
        lines.rotate_left(1);
        for (metres, &value) in lines[2].iter_mut().zip(elevations.row(row)) {
            *metres = f64::from(value) * metres_per_unit;
        }
        if row >= 2 && inner.cols > 0 {
            let slopes = slopes.row_mut(row - 2);
            arch.dispatch(|| slopes_of_row(&lines, cell_m, slopes));
        }
    }
    slopes
}

/// Slices of one length and no branches, so that several cells are reckoned at once.
#[inline(always)]
#[expect(
    clippy::many_single_char_names,
    reason = "the letters of the published formula"
)]
fn slopes_of_row(lines: &[Vec<f64>; 3], cell_m: f64, slopes: &mut [f32]) {
    let cells = slopes.len();
    let thirds = |line: usize| {
        let line = &lines[line];
        (&line[..cells], &line[1..=cells], &line[2..cells + 2])
    };
    let ((a, b, c), (d, e, f), (g, h, i)) = (thirds(0), thirds(1), thirds(2));
    for at in 0..cells {
        let nine = [
            [a[at], b[at], c[at]],
            [d[at], e[at], f[at]],
            [g[at], h[at], i[at]],
        ];
        let slope = as_f32(Gradient::horn(nine, cell_m).slope_pct());
        // The middle has no weight of its own, but a slope of nothing is none.
        slopes[at] = if e[at].is_nan() { f32::MISSING } else { slope };
    }
}

/// A missing neighbour is NaN, and stays so through sums, squares and root.
#[expect(
    clippy::cast_possible_truncation,
    reason = "rounding to the nearest f32 is meant"
)]
fn as_f32(value: f64) -> f32 {
    value as f32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::{CellIndex, drawn};

    fn near(found: f64, wanted: f64, error: f64) {
        assert!((found - wanted).abs() <= error, "{found} is not {wanted}");
    }

    /// Downhill direction in degrees from north, clockwise.
    fn aspect_deg(gradient: Gradient) -> f64 {
        (90.0 - gradient.south.atan2(-gradient.east).to_degrees()).rem_euclid(360.0)
    }

    // Inputs and the printed 75.25762 degrees (with 57.29578 degrees a radian) are a
    // GIS manual's worked example, from memory, unverified; the other values are
    // reckoned here from Horn's formula.
    #[test]
    fn worked_example_a() {
        let nine = [[50.0, 45.0, 50.0], [30.0, 30.0, 30.0], [8.0, 10.0, 10.0]];
        let gradient = Gradient::horn(nine, 5.0);
        near(gradient.east, 0.05, 1e-12);
        near(gradient.south, -3.8, 1e-12);
        near(gradient.slope_pct(), 380.033, 5e-4);
        near(
            (gradient.slope_pct() / 100.0).atan().to_degrees(),
            75.257_62,
            1e-4,
        );
        let slopes = slope_pct(&drawn("50 45 50\n30 30 30\n8 10 10"), 5.0, 1.0);
        assert_eq!((slopes.rows(), slopes.cols()), (1, 1));
        near(f64::from(slopes.row(0)[0]), 380.033, 5e-4);
    }

    // Inputs and the printed aspect 92.64 are a GIS manual's worked example, from
    // memory, unverified; the gradient is reckoned here.
    #[test]
    fn worked_example_b() {
        let nine = [[101.0, 92.0, 85.0], [101.0, 92.0, 85.0], [101.0, 91.0, 84.0]];
        let gradient = Gradient::horn(nine, 1.0);
        near(gradient.east, -8.125, 1e-12);
        near(gradient.south, -0.375, 1e-12);
        near(aspect_deg(gradient), 92.64, 5e-3);
    }

    // Matrix and formula: lecture Z8113, Masaryk University (is.muni.cz, povrch.txt).
    // Cell size and result are reckoned here, not printed there.
    #[test]
    fn worked_example_c() {
        let nine = [[80.0, 74.0, 63.0], [69.0, 67.0, 56.0], [60.0, 52.0, 48.0]];
        let gradient = Gradient::horn(nine, 30.0);
        near(gradient.east * 240.0, -55.0, 1e-9);
        near(gradient.south * 240.0, -79.0, 1e-9);
        near(aspect_deg(gradient), 145.154, 5e-4);
        near((gradient.slope_pct() / 100.0).atan().to_degrees(), 21.855, 5e-4);
    }

    #[test]
    fn feet_of_elevation_are_scaled() {
        let slopes = slope_pct(&drawn("0 1 2\n0 1 2\n0 1 2"), 1.0, 0.3048);
        near(f64::from(slopes.row(0)[0]), 30.48, 1e-5);
    }

    #[test]
    fn any_missing_neighbour_or_middle_makes_the_slope_missing() {
        for gap in 0..9 {
            let mut values: Vec<f32> = vec![1.0, 2.0, 4.0, 3.0, 3.0, 5.0, 9.0, 1.0, 2.0];
            values[gap] = f32::NAN;
            let slopes = slope_pct(&Raster::new(3, 3, values).unwrap(), 1.0, 1.0);
            assert_eq!(slopes.get(CellIndex { row: 0, col: 0 }), None, "gap at {gap}");
        }
    }

    #[test]
    fn elevations_without_an_inner_cell_give_none() {
        let slopes = slope_pct(&drawn("1 2\n3 4"), 1.0, 1.0);
        assert!(slopes.values().is_empty());
    }
}
