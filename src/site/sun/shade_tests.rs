//! Horizons against plain marches and shapes whose shade is known, and hours against the
//! sunrise equation and plain sums over minutes.

#![expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "small counts"
)]

use super::beam::Passing;
use super::horizon::{Frame, Heights, Horizons, NEAR_STEPS, SEEN_RADIUS_M, horizons, turn};
use super::hull::Sweep;
use super::position::{Air, DELTA_T_S, Moment, sun_position};
use super::sun_table::{Counting, Place, SunTable};
use crate::grid::Raster;
use crate::project::Day;

/// 45 degrees north on the middle meridian of a zone, at the sea.
const PLACE: Place = Place {
    latitude_deg: 45.0,
    longitude_deg: -93.0,
    ground_m: 0.0,
    to_grid_north_deg: 0.0,
};

fn season(from: (u32, u32), to: (u32, u32)) -> (i32, i32) {
    let number = |(month, day)| Day::new(2026, month, day).unwrap().julian_number();
    (number(from), number(to) - number(from) + 1)
}

/// All sun above the level horizon.
fn all_sun((first_day, days): (i32, i32)) -> Counting {
    Counting {
        first_day,
        days,
        least_w_m2: 0.0,
        least_height_deg: 0.0,
        passing: Passing::Slant,
    }
}

fn growing() -> Counting {
    all_sun(season((5, 1), (9, 30)))
}

/// Sun as it counts unless a project says otherwise.
fn usual() -> Counting {
    Counting {
        least_w_m2: 120.0,
        least_height_deg: 5.0,
        ..growing()
    }
}

/// Heights from a function of metres to the east and to the south.
fn heights(frame: &Frame, rows: usize, cols: usize, height: impl Fn(f64, f64) -> f64) -> Heights {
    let (rows, cols) = (rows + 2 * frame.margin, cols + 2 * frame.margin);
    let at = |index: usize, first: usize| (index as f64 + first as f64 - frame.margin as f64) * frame.cell_m;
    let values = (0..rows).flat_map(|row| (0..cols).map(move |col| (row, col)));
    let values = values.map(|(row, col)| height(at(col, frame.col), at(row, frame.row)) as f32);
    let raster = Raster::new(rows, cols, values.collect()).unwrap();
    Heights::new(&raster, &raster)
}

fn frame(reach_m: f64) -> Frame {
    Frame {
        row: 1_000,
        col: 2_000,
        margin: (reach_m / 5.0).ceil() as usize,
        cell_m: 5.0,
        reach_m,
        near_steps: NEAR_STEPS,
    }
}

/// Hills of all sizes, up to some 80 m within some hundred metres.
fn hills(x: f64, y: f64) -> f64 {
    (0..7)
        .map(|octave| {
            let wave_m = 900.0 / 2.0_f64.powi(octave);
            let phase = f64::from(octave * octave);
            let along = (x * 0.8 + y * 0.6) / wave_m + phase;
            let across = (x * 0.5 - y * 0.9) / wave_m + 2.0 * phase;
            wave_m * 0.03 * ((along * 6.3).sin() + (across * 5.1).cos())
        })
        .sum()
}

/// Horizons row by row, whatever their layout.
fn by_rows(found: &Horizons, rows: usize, cols: usize) -> Vec<f32> {
    if found.turned {
        turn(&found.slopes, cols, rows)
    } else {
        found.slopes.clone()
    }
}

/// Hours of each cell, summed over all directions.
fn hours(table: &SunTable, heights: &Heights, frame: &Frame, rows: usize, cols: usize) -> Vec<f32> {
    let turned = heights.turned();
    let mut hours = vec![0.0; rows * cols];
    for direction in 0..table.directions() {
        let bearing = direction as f64 * 360.0 / table.directions() as f64;
        let slopes = by_rows(&horizons(heights, &turned, frame, bearing), rows, cols);
        table.add_hours(direction, &slopes, None, &mut hours);
    }
    hours
}

#[test]
fn hours_are_those_of_a_full_march_within_minutes() {
    let (rows, cols) = (60, 50);
    let frame = frame(600.0);
    let heights = heights(&frame, rows, cols, hills);
    let full = Frame {
        near_steps: usize::MAX,
        ..frame
    };
    let table = SunTable::new(&PLACE, &usual(), 32, false);
    let found = hours(&table, &heights, &frame, rows, cols);
    let wanted = hours(&table, &heights, &full, rows, cols);
    let minutes: Vec<f64> = found
        .iter()
        .zip(&wanted)
        .map(|(found, wanted)| f64::from(found - wanted).abs() * 60.0)
        .collect();
    let mean = minutes.iter().sum::<f64>() / minutes.len() as f64;
    let most = minutes.iter().copied().fold(0.0, f64::max);
    let shaded = wanted
        .iter()
        .filter(|&&hours| f64::from(hours) < table.open_hours() - 0.5)
        .count();
    println!(
        "mean {mean:.2} min, most {most:.2} min, {shaded} of {} in shade",
        minutes.len()
    );
    assert!(shaded > minutes.len() / 3, "only {shaded} cells lie in shade");
    assert!(mean < 1.0 && most < 10.0, "mean {mean} min, most {most} min");
}

/// 32 directions against 180, both marched in full.
#[test]
fn directions_between_the_horizons_are_told_within_minutes() {
    let (rows, cols) = (40, 40);
    let frame = Frame {
        near_steps: usize::MAX,
        ..frame(400.0)
    };
    let heights = heights(&frame, rows, cols, hills);
    let of = |directions| {
        let table = SunTable::new(&PLACE, &usual(), directions, false);
        hours(&table, &heights, &frame, rows, cols)
    };
    let (found, wanted) = (of(32), of(180));
    let minutes = found.iter().zip(&wanted);
    let minutes: Vec<f64> = minutes
        .map(|(one, other)| f64::from(one - other).abs() * 60.0)
        .collect();
    let mean = minutes.iter().sum::<f64>() / minutes.len() as f64;
    let most = minutes.iter().copied().fold(0.0, f64::max);
    println!("mean {mean:.2} min, most {most:.2} min");
    assert!(mean < 5.0 && most < 30.0, "mean {mean} min, most {most} min");
}

#[test]
fn horizons_do_not_hang_on_how_the_grid_is_cut() {
    let (rows, cols) = (40, 36);
    let whole = frame(300.0);
    let all = heights(&whole, rows, cols, hills);
    for bearing in [0.0, 11.25, 67.5, 90.0, 135.0, 213.75, 270.0, 303.75, 348.75] {
        let wanted = by_rows(&horizons(&all, &all.turned(), &whole, bearing), rows, cols);
        for (top, left, high, wide) in [(0, 0, 7, 36), (13, 5, 20, 9), (39, 35, 1, 1)] {
            let part = Frame {
                row: whole.row + top,
                col: whole.col + left,
                ..whole
            };
            let heights = heights(&part, high, wide, hills);
            let found = by_rows(&horizons(&heights, &heights.turned(), &part, bearing), high, wide);
            for row in 0..high {
                let wanted = &wanted[(top + row) * cols + left..][..wide];
                assert_eq!(
                    &found[row * wide..][..wide],
                    wanted,
                    "bearing {bearing}, row {row}"
                );
            }
        }
    }
}

/// South of the cell the ground steps up along an endless line from east to west: toward a
/// bearing the step is as far as the distance over the cosine of the angle to it.
#[test]
fn an_endless_wall_is_as_high_as_its_geometry_says() {
    let frame = frame(400.0);
    for (wall_m, high_m) in [(50.0, 30.0), (150.0, 60.0)] {
        let south_m = frame.row as f64 * frame.cell_m;
        let ground = |_: f64, y: f64| if y - south_m >= wall_m - 1e-6 { high_m } else { 0.0 };
        let heights = heights(&frame, 1, 1, ground);
        let turned = heights.turned();
        for bearing in [180.0, 168.75, 146.25, 135.0, 123.75, 202.5, 236.25] {
            let cosine = (f64::to_radians(bearing - 180.0)).cos();
            let slope = f64::from(horizons(&heights, &turned, &frame, bearing).slopes[0]);
            // The wall begins within the cell before its centres.
            let (nearest, farthest) = ((wall_m - 5.0) / cosine, (wall_m + 5.0) / cosine);
            let fall = farthest * farthest / (2.0 * SEEN_RADIUS_M);
            assert!(
                slope <= high_m / nearest && slope >= (high_m - fall) / farthest,
                "{slope} toward {bearing}, wall of {high_m} m at {wall_m} m"
            );
        }
        // Away from the wall lies the level ground, lower with the Earth's curve.
        let away = horizons(&heights, &turned, &frame, 0.0).slopes[0];
        assert!(away <= 0.0 && away > -1e-3, "{away}");
    }
}

/// The bottom of an endless valley from north to south whose sides rise evenly: toward a
/// bearing they rise by the slope times its sine. Hours are summed minute by minute.
#[test]
fn an_endless_valley_has_the_hours_of_its_geometry() {
    let frame = frame(800.0);
    let side = 0.5;
    let middle_m = frame.col as f64 * frame.cell_m;
    let heights = heights(&frame, 1, 1, |x, _| (x - middle_m).abs() * side);
    let turned = heights.turned();
    for bearing in (0..32).map(|part| f64::from(part) * 11.25) {
        let slope = f64::from(horizons(&heights, &turned, &frame, bearing).slopes[0]);
        let wanted = side * bearing.to_radians().sin().abs();
        // Beyond the nearest steps a line of cells leaves the ray by up to a cell.
        assert!(
            (slope - wanted).abs() < 0.02,
            "{slope} is not {wanted} toward {bearing}"
        );
    }
    let counting = growing();
    let table = SunTable::new(&PLACE, &counting, 32, false);
    let found = f64::from(hours(&table, &heights, &frame, 1, 1)[0]);
    let air = Air::at(0.0);
    let mut minutes = 0;
    for minute in 0..counting.days * 1_440 {
        let moment = Moment {
            julian_day: f64::from(counting.first_day) - 0.5 + (f64::from(minute) + 0.5) / 1_440.0,
            delta_t_s: DELTA_T_S,
        };
        let sun = sun_position(moment, PLACE.latitude_deg, PLACE.longitude_deg);
        let seen = sun.height_deg + air.refraction_deg(sun.height_deg);
        let side = side * sun.azimuth_deg.to_radians().sin().abs();
        minutes += i32::from(seen > 0.0 && seen.to_radians().tan() > side);
    }
    let wanted = f64::from(minutes) / f64::from(counting.days) / 60.0;
    println!("{:.2} min off of {wanted:.3} h", (found - wanted) * 60.0);
    assert!((found - wanted).abs() * 60.0 < 3.0, "{found} h, not {wanted} h");
}

/// The sunrise equation: cos H = (sin h - sin f sin d) / (cos f cos d), with the sun's
/// declination d of 23.436 degrees at the solstice (from memory, unverified), and h the height at
/// which refraction of the standard atmosphere lifts its middle to the horizon.
#[test]
fn day_length_is_that_of_the_sunrise_equation() {
    for (latitude, date, declination) in [
        (0.0, (6, 21), 23.436),
        (40.0, (6, 21), 23.436),
        (40.0, (12, 21), -23.436),
        (-40.0, (12, 21), -23.436),
        (60.0, (6, 21), 23.436),
    ] {
        let place = Place {
            latitude_deg: latitude,
            ..PLACE
        };
        let table = SunTable::new(&place, &all_sun(season(date, date)), 32, false);
        let sin = |degrees: f64| degrees.to_radians().sin();
        let cos = |degrees: f64| degrees.to_radians().cos();
        let lift = Air::at(0.0).refraction_deg(-0.5);
        let hour_angle =
            ((sin(-lift) - sin(latitude) * sin(declination)) / (cos(latitude) * cos(declination))).acos();
        let wanted = hour_angle.to_degrees() / 7.5;
        let found = table.open_hours();
        // One day is looked at every four minutes.
        assert!(
            (found - wanted).abs() < 0.1,
            "{found} h at {latitude}, not {wanted} h"
        );
    }
    let beyond = Place {
        latitude_deg: 80.0,
        ..PLACE
    };
    let of = |date| SunTable::new(&beyond, &all_sun(season(date, date)), 32, false).open_hours();
    assert!((of((6, 21)) - 24.0).abs() < 1e-3 && of((12, 21)) <= 0.0);
}

/// The same days half a year apart, south of the equator; the sun stands in the north there.
#[test]
fn south_of_the_equator_the_sun_comes_from_the_north() {
    let south = Place {
        latitude_deg: -45.0,
        ..PLACE
    };
    let northern = SunTable::new(&PLACE, &all_sun(season((6, 1), (6, 30))), 32, false);
    let southern = SunTable::new(&south, &all_sun(season((12, 1), (12, 30))), 32, false);
    assert!((northern.open_hours() - southern.open_hours()).abs() < 0.1);
    assert!(northern.has_sun(16) && !northern.has_sun(0));
    assert!(southern.has_sun(0) && !southern.has_sun(16));
}

/// Common practice, no source: six hours are full sun. Half of a day of fourteen hours would
/// be seven; through the gaps of half a canopy, fewer toward a low sun, it is less.
#[test]
fn a_long_day_under_half_a_canopy_is_not_full_sun() {
    let table = SunTable::new(&PLACE, &usual(), 32, true);
    let of = |gaps: f32| {
        let mut hours = [0.0];
        for direction in 0..32 {
            table.add_hours(direction, &[0.0], Some(&[gaps]), &mut hours);
        }
        f64::from(hours[0])
    };
    let all = SunTable::new(&PLACE, &growing(), 32, false).open_hours();
    assert!(all > 13.9, "{all}");
    assert!((of(1.0) - table.open_hours()).abs() < 1e-4);
    assert!(of(0.5) < 6.0 && of(0.5) > 3.0, "{}", of(0.5));
    assert!(of(0.0) <= 0.0);
    assert!((of(0.505) - f64::midpoint(of(0.50), of(0.51))).abs() < 1e-4);
    assert!(of(f32::NAN).is_nan());
    let hours: Vec<f64> = (0u8..=100)
        .map(|percent| of(f32::from(percent) / 100.0))
        .collect();
    assert!(hours.is_sorted());
}

#[test]
fn unknown_heights_within_the_reach_are_marked() {
    let frame = frame(300.0);
    let lonely = |x: f64, y: f64| {
        if (x, y) == (10_000.0, 5_100.0) {
            f64::NAN
        } else {
            0.0
        }
    };
    let heights = heights(&frame, 41, 1, lonely);
    let found = horizons(&heights, &heights.turned(), &frame, 180.0);
    // 100 m to the south of the first row, which is row 20 of 41: cells north of it see it.
    let marked: Vec<usize> = (0..41).filter(|&row| found.unknown[row]).collect();
    assert_eq!(marked, (0..20).collect::<Vec<_>>());
    assert!(found.slopes[20].is_nan() && !found.slopes[19].is_nan());
    let away = horizons(&heights, &heights.turned(), &frame, 0.0);
    assert_eq!((0..41).filter(|&row| away.unknown[row]).count(), 20);
}

/// Views by hulls against a loop over all points of each, with gaps.
#[test]
fn views_along_a_line_are_those_of_a_plain_loop() {
    let mut state = 1_u64;
    let mut random = move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 40) as f64 / f64::from(1 << 24)
    };
    for (near, steps, points, first) in [
        (0, 1, 5, 0),
        (3, 10, 60, -7),
        (16, 200, 500, 1_234),
        (2, 7, 100, -50),
    ] {
        let mut sweep = Sweep::new(5.0, near, steps);
        sweep.begin(first);
        let mut height = 0.0;
        for _ in 0..points + steps {
            height += random() * 10.0 - 5.0;
            let gap = random() < 0.02;
            sweep.tops.push(if gap { f64::NAN } else { height });
            if sweep.ground.len() < points {
                sweep.ground.push(height - random());
            }
        }
        sweep.run();
        for eye in 0..points {
            let ahead = near + 1..=steps;
            let slopes = ahead.clone().map(|step| {
                let distance_m = step as f64 * 5.0;
                let fall = distance_m * distance_m / (2.0 * SEEN_RADIUS_M);
                (sweep.tops[eye + step] - sweep.ground[eye] - fall) / distance_m
            });
            let wanted = slopes.fold(f64::NEG_INFINITY, f64::max);
            let found = sweep.slopes[eye];
            assert!(
                (found - wanted).abs() < 1e-9 || (found.is_infinite() && wanted.is_infinite()),
                "{found} is not {wanted} at {eye} of {near}, {steps}, {points}"
            );
            let gap = ahead.into_iter().any(|step| sweep.tops[eye + step].is_nan());
            assert_eq!(sweep.unknown[eye], gap);
        }
    }
}
