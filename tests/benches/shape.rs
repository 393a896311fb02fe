//! Factors of the ground's shape and of the sun, timed on invented hills.

use groundfit::grid::Raster;
use groundfit::project::{Day, Equation};
use groundfit::site::slope::{Gradient, slope_pct};
use groundfit::site::sun::beam::Passing;
use groundfit::site::sun::horizon::{Frame, Heights, NEAR_STEPS, horizons};
use groundfit::site::sun::sun_table::{Counting, Place, SunTable};
use groundfit::site::terrain::facing::{Slope, aspect_deg};
use groundfit::site::terrain::{filling::fill, flats::level_ranks, flow::flow};

use crate::ground::as_f64;
use crate::timing::Timing;

const CELL_M: f64 = 2.0;
const DIRECTIONS: usize = 32;

/// Hills with a lake here and there.
#[expect(clippy::cast_possible_truncation, reason = "heights in single precision")]
fn hills(side: usize) -> Raster<f32> {
    let height = |at: usize| {
        let (x, y) = (as_f64(at % side), as_f64(at / side));
        let waves = 12.0 * (x / 71.0).sin() + 9.0 * (y / 53.0).cos() + 0.4 * (x * 0.37 + y * 0.61).sin();
        (waves + 0.004 * x).max(-9.0) as f32
    };
    Raster::new(side, side, (0..side * side).map(height).collect()).unwrap()
}

pub fn terrain(timing: &Timing, side: usize) {
    let (heights, cells) = (hills(side), as_f64(side * side));
    timing.time(
        "slope",
        cells,
        "cells",
        || (),
        |()| slope_pct(&heights, CELL_M, 1.0),
    );
    for (name, what) in [
        ("aspect", None),
        (
            "heat load",
            Some(Equation::heat_load as fn(Equation, Slope) -> Option<f64>),
        ),
        (
            "radiation",
            Some(Equation::radiation as fn(Equation, Slope) -> Option<f64>),
        ),
    ] {
        timing.time(name, cells, "cells", || (), |()| facing(&heights, what));
    }
    let raw = || heights.values().to_vec();
    timing.time("depressions filled", cells, "cells", raw, |raw| {
        fill(raw, side, side)
    });
    let filled = fill(raw(), side, side);
    timing.time(
        "level ground ranked",
        cells,
        "cells",
        || (),
        |()| level_ranks(&filled),
    );
    timing.time(
        "wetness index, flow",
        cells,
        "cells",
        || (),
        |()| {
            let found = flow(&filled, CELL_M);
            (0..side * side)
                .filter_map(|cell| found.wetness_index(cell, CELL_M))
                .sum::<f64>()
        },
    );
}

fn facing(heights: &Raster<f32>, what: Option<fn(Equation, Slope) -> Option<f64>>) -> f64 {
    let mut sum = 0.0;
    for row in 1..heights.rows() - 1 {
        for col in 1..heights.cols() - 1 {
            let three = |at: usize| [0, 1, 2].map(|right| f64::from(heights.row(at)[col + right - 1]));
            let gradient = Gradient::horn([three(row - 1), three(row), three(row + 1)], CELL_M);
            let aspect_deg = aspect_deg(gradient);
            sum += match what {
                None => aspect_deg.unwrap_or(0.0),
                Some(what) => {
                    let slope = Slope {
                        latitude_deg: 45.0,
                        slope_deg: (gradient.slope_pct() / 100.0).atan().to_degrees(),
                        aspect_deg: aspect_deg.unwrap_or(0.0),
                    };
                    what(Equation::One, slope).unwrap_or(0.0)
                }
            };
        }
    }
    sum
}

/// Hours of sun with reaches of 100, 400 and 1,000 cells around the same cells.
pub fn sun(timing: &Timing, side: usize) {
    let counting = Counting {
        first_day: Day::new(2026, 5, 1).unwrap().julian_number(),
        days: 153,
        least_w_m2: 120.0,
        least_height_deg: 0.0,
        passing: Passing::Slant,
    };
    let place = Place {
        latitude_deg: 45.0,
        longitude_deg: -93.0,
        ground_m: 250.0,
        to_grid_north_deg: 0.0,
    };
    timing.time(
        "sun, table of hours",
        1.0,
        "tables",
        || (),
        |()| SunTable::new(&place, &counting, DIRECTIONS, false),
    );
    let table = SunTable::new(&place, &counting, DIRECTIONS, false);
    for margin in [100, 400, 1_000].map(|margin| if timing.is_trial() { margin / 10 } else { margin }) {
        let ground = hills(side + 2 * margin);
        let heights = Heights::new(&ground, &ground);
        let frame = Frame {
            row: 0,
            col: 0,
            margin,
            cell_m: CELL_M,
            reach_m: as_f64(margin) * CELL_M,
            near_steps: NEAR_STEPS,
        };
        let name = format!("sun hours, reach {margin} cells");
        timing.time(
            &name,
            as_f64(side * side),
            "cells",
            || (),
            |()| {
                let turned = heights.turned();
                let mut hours = vec![0.0; side * side];
                let sector_deg = 360.0 / as_f64(DIRECTIONS);
                for direction in (0..DIRECTIONS).filter(|&direction| table.has_sun(direction)) {
                    let seen = horizons(&heights, &turned, &frame, as_f64(direction) * sector_deg);
                    table.add_hours(direction, &seen.slopes, None, &mut hours);
                }
                hours
            },
        );
    }
}
