use std::convert::Infallible;
use std::f64::consts::PI;

use proptest::prelude::*;

use super::random::blotches;
use super::*;
use crate::zones::outlines::{Courses, GeographicError, GeographicLines, GeographicOutline, ZoneOutlines};

const RADIUS_M: f64 = 6_371_000.0;

/// The transverse Mercator projection of a sphere backward, central meridian 93 W
/// (J. P. Snyder 1987, Map Projections: A Working Manual, equations 8-6 and 8-7).
#[expect(clippy::unnecessary_wraps, reason = "a projection may fail")]
fn sphere(points: &mut [(f64, f64)]) -> Result<(), Infallible> {
    for point in points {
        let (x, y) = ((point.0 - 500_000.0) / RADIUS_M, point.1 / RADIUS_M);
        let lat = (y.sin() / x.cosh()).asin();
        let lon = x.sinh().atan2(y.cos());
        *point = (lon * 180.0 / PI - 93.0, lat * 180.0 / PI);
    }
    Ok(())
}

fn rings(outline: &GeographicOutline) -> Rings {
    let points = |ring: &Vec<[i32; 2]>| {
        let point = |&[x, y]: &[i32; 2]| Point {
            x: x.into(),
            y: y.into(),
        };
        ring.iter().map(point).collect()
    };
    [&outline.exterior]
        .into_iter()
        .chain(&outline.holes)
        .map(points)
        .collect()
}

/// Edges with a zone on one side only, counted from the rings.
fn lone_edges(zones: &[Rings]) -> usize {
    let all: BTreeSet<Edge> = zones.iter().flat_map(edges).collect();
    all.iter()
        .filter(|&&(from, to)| !all.contains(&(to, from)))
        .count()
}

/// The number of edges with a zone on one side only, where all cells are rated: they
/// must be one loop, that round the grid. A gap or an overlap would add another.
fn edges_round_the_grid(zones: &[Rings]) -> usize {
    let all: BTreeSet<Edge> = zones.iter().flat_map(edges).collect();
    let lone = || {
        all.iter()
            .copied()
            .filter(|&(from, to)| !all.contains(&(to, from)))
    };
    let next: BTreeMap<Point, Point> = lone().collect();
    assert_eq!(next.len(), lone().count(), "two lone edges leave one point");
    let start = *next.keys().next().unwrap();
    let mut passed = 1;
    let mut at = next[&start];
    while at != start {
        at = next[&at];
        passed += 1;
    }
    assert_eq!(passed, next.len(), "more than one loop of lone edges");
    passed
}

/// The outlines of all zones, and how many arcs went back to their own course.
fn outlines(arcs: Arcs, courses: Courses, lines: GeographicLines) -> (Vec<GeographicOutline>, usize) {
    let went_back = lines.arcs_unsimplified;
    let outlines = ZoneOutlines::new(arcs, courses, lines);
    let all: Vec<GeographicOutline> = (0..outlines.len())
        .map(|zone| outlines.geographic(zone))
        .collect();
    let points = || all.iter().flat_map(|outline| &outline.exterior);
    let ends = |axis: usize| {
        let values = || points().map(|point| point[axis]);
        (values().min(), values().max())
    };
    let bounds = outlines.bounds();
    let bounds =
        bounds.map(|[west, south, east, north]| ((Some(west), Some(east)), (Some(south), Some(north))));
    assert_eq!(bounds.unwrap_or_default(), (ends(0), ends(1)));
    (all, went_back)
}

fn geographic(
    labels: &Labels,
    origin: (f64, f64),
    cell_m: f64,
    tolerance: f64,
) -> (Vec<GeographicOutline>, usize) {
    let grid = labels.grid(origin.0, origin.1, cell_m);
    let arcs = labels.arcs();
    let simplified = arcs.simplified(&grid, tolerance * cell_m);
    let lines = simplified.geographic(&grid, &|| Ok(sphere)).unwrap();
    let courses = simplified.into_courses();
    outlines(arcs, courses, lines)
}

/// Enough borders to be shared out among threads.
#[test]
fn lines_do_not_hang_on_the_number_of_threads() {
    let row = |row: usize| ["12", "21"][row % 2].repeat(40);
    let labels = Labels::drawn(&(0..60).map(row).collect::<Vec<_>>().join("\n")).flooded();
    let drawn_by = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| geographic(&labels, (610_000.0, 4_870_000.0), 5.0, 0.0).0)
    };
    let alone = drawn_by(1);
    assert_eq!(alone.len(), 60 * 80);
    assert!(drawn_by(4) == alone);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn rounded_outlines_are_sound(labels in blotches(), tolerance in 0.0f64..4.0, cell_m in 0.3f64..400.0) {
        let zones: Vec<Rings> =
            geographic(&labels, (610_000.0, 4_870_000.0), cell_m, tolerance).0.iter().map(rings).collect();
        prop_assert_eq!(zones.len(), labels.counts().len());
        assert_sound(&zones, lone_edges(&zones));
        // With every cell rated only the border of the grid has a zone on one side.
        let filled = Labels { values: labels.values.iter().map(|value| value + 1).collect(), ..labels.clone() };
        let filled = filled.flooded();
        let zones: Vec<Rings> =
            geographic(&filled, (610_000.0, 4_870_000.0), cell_m, tolerance).0.iter().map(rings).collect();
        assert_sound(&zones, edges_round_the_grid(&zones));
    }
}

#[test]
fn long_edges_are_cut_until_the_chord_stays_near() {
    // Cells of 50 m stretched to 5 km, so that edges of 60 km meet a tolerance of 5 m.
    let labels = Labels::drawn("111111111111\n111111111111\n222222222222\n222222222222");
    let cell_m = 50.0;
    let scale = 100.0;
    let stretched = |points: &mut [(f64, f64)]| {
        for point in points.iter_mut() {
            *point = (500_000.0 + point.0 * scale, 4_870_000.0 + point.1 * scale);
        }
        sphere(points)
    };
    let grid = labels.grid(0.0, 0.0, cell_m);
    let arcs = labels.arcs();
    let simplified = arcs.simplified(&grid, 0.0);
    let found = simplified.geographic(&grid, &|| Ok(stretched)).unwrap();
    let courses = simplified.into_courses();
    let (zones, _) = outlines(arcs, courses, found);
    let outline = &zones[0].exterior;
    assert!(outline.len() > 8, "{} points", outline.len());
    // Walk the northern edge on the map, finely, and look for the nearest chord.
    for step in 0..=1000 {
        let x = f64::from(step) * 600.0 / 1000.0;
        let mut point = [(x, 200.0)];
        stretched(&mut point).unwrap();
        let nearest = outline
            .windows(2)
            .map(|pair| {
                let plane = |lon: f64, lat: f64| {
                    (
                        (lon + 93.0) * 111_195.0 * point[0].1.to_radians().cos(),
                        lat * 111_195.0,
                    )
                };
                let [a, b] =
                    [pair[0], pair[1]].map(|[lon, lat]| plane(f64::from(lon) / 1e7, f64::from(lat) / 1e7));
                let p = plane(point[0].0, point[0].1);
                let (dx, dy) = (b.0 - a.0, b.1 - a.1);
                let along = (((p.0 - a.0) * dx + (p.1 - a.1) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
                (p.0 - a.0 - along * dx).hypot(p.1 - a.1 - along * dy)
            })
            .fold(f64::INFINITY, f64::min);
        assert!(nearest <= cell_m / 10.0 + 0.02, "{nearest} m off at {x}");
    }
    let zones: Vec<Rings> = zones.iter().map(rings).collect();
    assert_sound(&zones, edges_round_the_grid(&zones));
}

#[test]
fn short_edges_get_no_more_points() {
    let labels = Labels::drawn("1122\n1122");
    let (zones, went_back) = geographic(&labels, (600_000.0, 4_870_000.0), 5.0, 0.0);
    assert!(zones.iter().all(|outline| outline.exterior.len() == 5));
    assert_eq!(went_back, 0);
}

/// A plain scale: a cell of 1 m becomes `parts` of the rounding unit.
fn plain(parts: f64) -> impl Fn(&mut [(f64, f64)]) -> Result<(), Infallible> {
    move |points| {
        for point in points {
            *point = (point.0 * parts / 1e7, point.1 * parts / 1e7);
        }
        Ok(())
    }
}

#[test]
fn what_rounding_makes_meet_goes_back_to_its_own_course() {
    let mut went_back = 0;
    for seed in 0..40u32 {
        // Two zones with a slanting border, and specks about it.
        let speck = |at: u32| (at + seed * 977).wrapping_mul(2_654_435_761) >> 28 == 0;
        let side = |at: u32| {
            if at / 40 < 8 + at % 40 * (seed % 5 + 1) / 7 {
                1
            } else {
                2
            }
        };
        let value = |at: u32| if speck(at) { 3 } else { side(at) };
        let labels = Labels {
            rows: 40,
            cols: 40,
            values: (0..40 * 40).map(value).collect(),
        }
        .flooded();
        let arcs = labels.arcs();
        let grid = labels.grid(0.0, 0.0, 1.0);
        let simplified = arcs.simplified(&grid, 3.0);
        // Corners stay apart at one part a cell and more; long edges need not.
        let found = simplified.geographic(&grid, &|| Ok(plain(1.37))).unwrap();
        let courses = simplified.into_courses();
        let (zones, back) = outlines(arcs, courses, found);
        let zones: Vec<Rings> = zones.iter().map(rings).collect();
        assert_sound(&zones, edges_round_the_grid(&zones));
        went_back += back;
    }
    assert!(went_back > 0);
}

#[test]
fn cells_too_small_for_the_rounding_are_refused() {
    let labels = Labels::drawn("123\n456\n789");
    let arcs = labels.arcs();
    let grid = labels.grid(0.0, 0.0, 1.0);
    let refused = arcs
        .simplified(&grid, 0.0)
        .geographic(&grid, &|| Ok(plain(0.3)))
        .unwrap_err();
    assert!(
        matches!(refused, GeographicError::StillCrossing { cell_m: 1.0, .. }),
        "{refused}"
    );
}

#[test]
fn a_site_across_the_meridian_of_180_degrees_is_refused() {
    let labels = Labels::drawn("1122\n1122");
    let arcs = labels.arcs();
    let grid = labels.grid(-20.0, 0.0, 10.0);
    let project = |points: &mut [(f64, f64)]| -> Result<(), Infallible> {
        for point in points {
            let lon = 180.0 + point.0 * 1e-5;
            *point = (if lon > 180.0 { lon - 360.0 } else { lon }, point.1 * 1e-5);
        }
        Ok(())
    };
    let refused = arcs
        .simplified(&grid, 0.0)
        .geographic(&grid, &|| Ok(project))
        .unwrap_err();
    assert!(
        matches!(refused, GeographicError::Antimeridian { .. }),
        "{refused}"
    );
}

#[test]
fn places_that_are_not_on_the_earth_are_refused() {
    let labels = Labels::drawn("1");
    let arcs = labels.arcs();
    let grid = labels.grid(500_000.0, 0.0, 10.0);
    for bad in [f64::NAN, f64::INFINITY, 91.0] {
        let project = |points: &mut [(f64, f64)]| -> Result<(), Infallible> {
            points.fill((0.0, bad));
            Ok(())
        };
        let refused = arcs
            .simplified(&grid, 0.0)
            .geographic(&grid, &|| Ok(project))
            .unwrap_err();
        assert!(matches!(refused, GeographicError::NotOnEarth { .. }), "{refused}");
    }
}

#[test]
fn what_the_projection_says_is_handed_on() {
    let labels = Labels::drawn("1");
    let arcs = labels.arcs();
    let grid = labels.grid(0.0, 0.0, 10.0);
    let project = |_: &mut [(f64, f64)]| Err(std::io::Error::other("no such operation"));
    let refused = arcs
        .simplified(&grid, 0.0)
        .geographic(&grid, &|| Ok(project))
        .unwrap_err();
    let GeographicError::Project { source } = refused else {
        panic!("{refused}")
    };
    assert_eq!(source.to_string(), "no such operation");
}
