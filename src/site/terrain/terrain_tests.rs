//! Water on shapes whose flow is known.

use super::filling::fill;
use super::flow::{LEAST_SLOPE, flow, wetness_index};

const ROWS: usize = 21;
const COLS: usize = 31;

fn near(found: f64, wanted: f64, error: f64) {
    assert!((found - wanted).abs() <= error, "{found} is not {wanted}");
}

#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "small grids"
)]
fn heights(height: impl Fn(f64, f64) -> f64) -> Vec<f32> {
    let cells = (0..ROWS).flat_map(|row| (0..COLS).map(move |col| (row, col)));
    cells
        .map(|(row, col)| height(col as f64, row as f64) as f32)
        .collect()
}

/// On a plane that falls to the east, water of a row runs along the row.
#[test]
fn on_a_plane_each_cell_drains_all_that_lies_above_it() {
    let filled = fill(&heights(|x, _| 100.0 - x), ROWS, COLS);
    let found = flow(&filled, 5.0);
    let row = ROWS / 2 * COLS;
    for (col, wanted) in (0..COLS).zip((1_u32..).map(f64::from)) {
        near(found.cells[row + col], wanted, 1e-9);
    }
    near(found.slopes[row + 7], 0.2, 1e-9);
    // Whatever comes in over the western edge would run through all of it.
    assert!(found.beyond[row + 20]);
}

/// Water that flows between two neighbours parts by the angle: on a plane that falls by 1 to
/// the east and by 0.5 to the south, the angle is atan 0.5 of 45 degrees from the east.
#[test]
fn flow_parts_by_its_angle() {
    let filled = fill(&heights(|x, y| 100.0 - x - 0.5 * y), ROWS, COLS);
    let found = flow(&filled, 1.0);
    near(found.slopes[5 * COLS + 5], 1.25_f64.sqrt(), 1e-6);
    let share = 0.5_f64.atan() / std::f64::consts::FRAC_PI_4;
    // The north-west corner sends its share to the diagonal neighbour, those on the edges
    // theirs: one cell, and the first row's second and the first column's second.
    let wanted = 1.0 + share + (1.0 - share);
    near(found.cells[COLS + 1], wanted, 1e-6);
}

/// A cone falls away on all sides: what runs over its foot has come from inside.
#[test]
fn a_hill_sheds_all_its_water_and_none_comes_from_beyond() {
    let hill = |x: f64, y: f64| 100.0 - (x - 15.0).hypot(y - 10.0);
    let found = flow(&fill(&heights(hill), ROWS, COLS), 1.0);
    for cell in 0..ROWS * COLS {
        let (row, col) = (cell / COLS, cell % COLS);
        let edge = row == 0 || col == 0 || row == ROWS - 1 || col == COLS - 1;
        assert_eq!(found.beyond[cell], edge, "row {row}, column {col}");
    }
    near(found.cells[10 * COLS + 15], 1.0, 1e-9);
    let index = wetness_index(&found, 1.0);
    assert!(index[10 * COLS + 15].is_finite() && index[0].is_nan());
}

/// No water is lost on the way: what leaves over the edge is what fell.
#[test]
fn water_is_neither_lost_nor_made() {
    let rough =
        |x: f64, y: f64| (x * 0.7).sin() * 3.0 + (y * 1.3).cos() * 2.0 + x * 0.1 + (x * y * 0.37).sin();
    let filled = fill(&heights(rough), ROWS, COLS);
    let found = flow(&filled, 1.0);
    // Only cells at the edge may keep their water.
    let kept = (0..ROWS * COLS).filter(|&cell| found.slopes[cell] <= 0.0);
    let kept: Vec<usize> = kept.collect();
    assert!(!kept.is_empty() && kept.iter().all(|&cell| filled.edge[cell]));
    let sum: f64 = kept.iter().map(|&cell| found.cells[cell]).sum();
    near(sum, 651.0, 1e-6);
}

#[test]
fn wetness_is_the_logarithm_of_catchment_over_slope() {
    let valley = |x: f64, y: f64| 50.0 + (y - 10.0).abs() * 0.5 + (x - 15.0).abs() * 0.1;
    let filled = fill(&heights(valley), ROWS, COLS);
    let found = flow(&filled, 10.0);
    let open = super::flow::Flow {
        beyond: vec![false; ROWS * COLS],
        ..found.clone()
    };
    let index = wetness_index(&open, 10.0);
    let cell = 10 * COLS + 4;
    near(
        index[cell],
        (found.cells[cell] * 10.0 / found.slopes[cell].max(LEAST_SLOPE)).ln(),
        1e-12,
    );
    // The bottom of the valley is wetter than its side.
    assert!(index[cell] > index[3 * COLS + 4]);
}
