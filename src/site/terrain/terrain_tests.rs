//! Water on shapes whose flow is known.

use super::filling::{Filled, fill};
use super::flats::level_ranks;
use super::flow::{Flow, LEAST_SLOPE, flow};

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
    let filled = fill(heights(|x, _| 100.0 - x), ROWS, COLS);
    let found = flow(&filled, 5.0);
    let row = ROWS / 2 * COLS;
    for (col, wanted) in (0..COLS).zip((1_u32..).map(f64::from)) {
        near(found.cells[row + col], wanted, 1e-9);
    }
    near(found.slopes[row + 7].into(), 0.2, 1e-7);
    // Whatever comes in over the western edge would run through all of it.
    assert!(found.beyond[row + 20]);
}

/// Water that flows between two neighbours parts by the angle: on a plane that falls by 1 to
/// the east and by 0.5 to the south, the angle is atan 0.5 of 45 degrees from the east.
#[test]
fn flow_parts_by_its_angle() {
    let filled = fill(heights(|x, y| 100.0 - x - 0.5 * y), ROWS, COLS);
    let found = flow(&filled, 1.0);
    near(found.slopes[5 * COLS + 5].into(), 1.25_f64.sqrt(), 1e-6);
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
    let found = flow(&fill(heights(hill), ROWS, COLS), 1.0);
    for cell in 0..ROWS * COLS {
        let (row, col) = (cell / COLS, cell % COLS);
        let edge = row == 0 || col == 0 || row == ROWS - 1 || col == COLS - 1;
        assert_eq!(found.beyond[cell], edge, "row {row}, column {col}");
    }
    near(found.cells[10 * COLS + 15], 1.0, 1e-9);
    assert!(found.wetness_index(10 * COLS + 15, 1.0).is_some() && found.wetness_index(0, 1.0).is_none());
}

/// What leaves over the edge.
fn leaving(filled: &Filled, found: &Flow) -> f64 {
    let heights = &filled.heights;
    let keeps = |cell: &usize| {
        filled.edge[*cell] && filled.around(*cell).all(|other| heights[other] >= heights[*cell])
    };
    (0..heights.len())
        .filter(keeps)
        .map(|cell| found.cells[cell])
        .sum()
}

fn rough(x: f64, y: f64) -> f64 {
    (x * 0.7).sin() * 3.0 + (y * 1.3).cos() * 2.0 + x * 0.1 + (x * y * 0.37).sin()
}

/// No water is lost on the way: what leaves over the edge is what fell.
#[test]
fn water_is_neither_lost_nor_made() {
    for steps in [1000.0, 1.0, 0.2] {
        // In whole steps of height there is much level ground.
        let filled = fill(heights(|x, y| (rough(x, y) * steps).round() / steps), ROWS, COLS);
        near(leaving(&filled, &flow(&filled, 1.0)), 651.0, 1e-6);
    }
}

/// A plain: water leaves by the nearest edge, as no ground is higher.
#[test]
fn a_plain_drains_to_its_edges() {
    let filled = fill(heights(|_, _| 5.0), ROWS, COLS);
    let found = flow(&filled, 1.0);
    near(leaving(&filled, &found), 651.0, 1e-9);
    let row = ROWS / 2 * COLS;
    for (col, wanted) in [(1, 5.0), (2, 4.0), (3, 3.0)] {
        assert!(found.cells[row + col] >= wanted, "column {col}");
    }
    assert!(found.slopes.iter().all(|&slope| slope == 0.0));
}

/// A lake in a bowl with one outlet: all that falls into the bowl leaves there, and the water
/// parts over the lake alike on both sides of its middle, but for ties (1 %).
#[test]
fn a_filled_pit_drains_through_its_outlet() {
    let (rim, notch) = (20.0, 14.0);
    let bowl = |x: f64, y: f64| {
        let at_notch = x > 27.0 && (y - 10.0).abs() < 0.5;
        let from_middle: f64 = ((x - 15.0) / 15.0).abs().max(((y - 10.0) / 10.0).abs());
        if at_notch {
            notch
        } else {
            rim * from_middle * from_middle
        }
    };
    let filled = fill(heights(bowl), ROWS, COLS);
    let found = flow(&filled, 1.0);
    let lake: Vec<usize> = (0..ROWS * COLS)
        .filter(|&cell| filled.heights[cell] <= 14.0)
        .collect();
    assert!(lake.len() > 200, "{}", lake.len());
    near(leaving(&filled, &found), 651.0, 1e-6);
    // The rim falls inward, so all of it leaves over the notch.
    let outlet = 10 * COLS + COLS - 1;
    near(found.cells[outlet], 651.0, 1e-6);
    for &cell in &lake {
        let (row, col) = (cell / COLS, cell % COLS);
        let mirrored = (ROWS - 1 - row) * COLS + col;
        near(found.cells[cell], found.cells[mirrored], 6.5);
    }
}

/// Where each cell has a lower neighbour, flow hangs on heights alone: ranks are all 0.
#[test]
fn ground_without_flats_has_no_ranks() {
    let filled = fill(heights(|x, y| 100.0 - x - 0.5 * y), ROWS, COLS);
    assert!(level_ranks(&filled).iter().all(|&rank| rank == 0));
}

#[test]
fn wetness_is_the_logarithm_of_catchment_over_slope() {
    let valley = |x: f64, y: f64| 50.0 + (y - 10.0).abs() * 0.5 + (x - 15.0).abs() * 0.1;
    let filled = fill(heights(valley), ROWS, COLS);
    let found = flow(&filled, 10.0);
    let open = Flow {
        beyond: vec![false; ROWS * COLS],
        ..found.clone()
    };
    let index = |cell| open.wetness_index(cell, 10.0).unwrap();
    let cell = 10 * COLS + 4;
    let slope = f64::from(found.slopes[cell]).max(LEAST_SLOPE);
    near(index(cell), (found.cells[cell] * 10.0 / slope).ln(), 1e-12);
    // The bottom of the valley is wetter than its side.
    assert!(index(cell) > index(3 * COLS + 4));
}
