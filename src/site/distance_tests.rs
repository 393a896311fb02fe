use geo::{Distance, Euclidean, GeometryCollection, LineString, MultiLineString, Point, Polygon, Rect};
use proptest::prelude::*;

use super::super::segments::rings;
use super::*;
use crate::grid::{CellIndex, Crs, Extent};

fn grid(rows: u32, cols: u32, cell_m: f64) -> Grid {
    let extent = Extent {
        west: 400_000.0,
        north: 4_900_000.0,
        east: 400_000.0 + f64::from(cols) * cell_m,
        south: 4_900_000.0 - f64::from(rows) * cell_m,
    };
    let crs = Crs {
        wkt: String::new(),
        name: "plane".to_owned(),
        code: None,
    };
    Grid::covering(&extent, cell_m, crs).unwrap()
}

/// A line through places in metres east and south of the grid's corner.
fn line(places: &[(f64, f64)]) -> LineString<f64> {
    places
        .iter()
        .map(|&(x, y)| (400_000.0 + x, 4_900_000.0 - y))
        .collect()
}

fn ring(places: &[(f64, f64)]) -> Polygon<f64> {
    Polygon::new(line(places), vec![])
}

fn index(grid: &Grid, features: &[Geometry<f64>], reach_m: f64) -> DistanceIndex {
    DistanceIndex::new(grid, features, reach_m).unwrap()
}

#[test]
fn distances_count_from_the_centre_to_the_nearest_place_of_the_line() {
    let grid = grid(3, 4, 10.0);
    let road = line(&[(10.0, 0.0), (10.0, 12.0)]).into();
    let found = index(&grid, &[road], 100.0).distances(grid.window());
    assert_eq!(found.row(0), [5.0, 5.0, 15.0, 25.0]);
    let below = (13.0f64 * 13.0 + 25.0).sqrt();
    assert_eq!(found.row(2)[0], as_f32(below));
    assert_eq!(found.row(2)[1], as_f32(below));
}

#[test]
fn the_reach_itself_is_within_reach_and_beyond_it_is_infinite() {
    let grid = grid(1, 40, 10.0);
    let road = line(&[(0.0, 0.0), (0.0, 10.0)]).into();
    let found = index(&grid, &[road], 205.0).distances(grid.window());
    assert_eq!(found.row(0)[20], 205.0);
    assert_eq!(found.row(0)[21], f32::INFINITY);
    assert_eq!(found.row(0)[39], f32::INFINITY);
}

#[test]
fn a_layer_without_features_is_infinitely_far() {
    let grid = grid(2, 2, 10.0);
    let empty = [Geometry::LineString(LineString(vec![]))];
    for features in [&[][..], &empty] {
        let index = index(&grid, features, f64::INFINITY);
        let found = index.distances(grid.window());
        assert!(found.values().iter().all(|&distance| distance == f32::INFINITY));
        let half_widths = vec![1e6; features.len()];
        let within = index.within(grid.window(), &half_widths, 0.0).unwrap();
        assert_eq!(within.values(), [0; 4]);
    }
}

#[test]
fn inside_a_polygon_the_distance_is_0_and_in_its_hole_that_to_the_edge() {
    let grid = grid(7, 7, 10.0);
    let lake = Polygon::new(
        line(&[(10.0, 10.0), (60.0, 10.0), (60.0, 60.0), (10.0, 60.0)]),
        vec![line(&[(20.0, 20.0), (50.0, 20.0), (50.0, 50.0), (20.0, 50.0)])],
    );
    let found = index(&grid, &[lake.into()], 100.0).distances(grid.window());
    assert_eq!(found.row(1)[1..6], [0.0; 5]);
    assert_eq!(found.row(3), [5.0, 0.0, 5.0, 15.0, 5.0, 0.0, 5.0]);
    assert_eq!(found.row(0)[0], as_f32(50.0f64.sqrt()));
}

#[test]
fn points_lines_and_collections_all_count() {
    let grid = grid(1, 9, 10.0);
    let well: Geometry<f64> = Point::new(400_005.0, 4_899_995.0).into();
    let lines = MultiLineString(vec![line(&[(85.0, 0.0), (85.0, 9.0)])]).into();
    let shed = Rect::new((400_040.0, 4_899_990.0), (400_050.0, 4_900_000.0)).into();
    let both = Geometry::GeometryCollection(GeometryCollection(vec![lines, shed]));
    let found = index(&grid, &[well, both], 100.0).distances(grid.window());
    assert_eq!(found.row(0), [0.0, 10.0, 15.0, 5.0, 0.0, 5.0, 15.0, 10.0, 0.0]);
}

#[test]
fn each_feature_excludes_by_its_own_half_width_and_the_setback() {
    let grid = grid(1, 12, 10.0);
    let road = line(&[(0.0, 0.0), (0.0, 10.0)]).into();
    let track = line(&[(80.0, 0.0), (80.0, 10.0)]).into();
    let pond = ring(&[(109.0, 0.0), (120.0, 0.0), (120.0, 10.0), (109.0, 10.0)]).into();
    // The reach does not cut off widths.
    let index = index(&grid, &[road, track, pond], 1.0);
    let within = |half_widths: &[f64], setback| {
        let found = index.within(grid.window(), half_widths, setback);
        found.unwrap().values().to_vec()
    };
    assert_eq!(
        within(&[15.0, 0.0, 0.0], 0.0),
        [1, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1]
    );
    assert_eq!(
        within(&[14.9, 0.0, 0.0], 0.0),
        [1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1]
    );
    assert_eq!(
        within(&[20.0, 0.0, 0.0], 5.0),
        [1, 1, 1, 0, 0, 0, 0, 1, 1, 0, 1, 1]
    );
}

#[test]
fn lengths_that_are_none_are_refused() {
    let grid = grid(1, 1, 10.0);
    let point: Geometry<f64> = Point::new(400_005.0, 4_899_995.0).into();
    for reach_m in [-1.0, f64::NAN] {
        let refused = DistanceIndex::new(&grid, &[], reach_m);
        assert!(matches!(refused, Err(GeometryError::Reach { .. })));
    }
    let lost = Geometry::Point(Point::new(f64::NAN, 0.0));
    assert_eq!(
        DistanceIndex::new(&grid, &[lost.clone(), point.clone(), lost], 1.0).err(),
        Some(GeometryError::NotFinite { features: vec![0, 2] })
    );
    let index = index(&grid, &[point.clone(), point], 1.0);
    let within = |half_widths: &[f64]| index.within(grid.window(), half_widths, -2.0).err();
    assert_eq!(within(&[3.0, 2.0]), None);
    assert_eq!(
        within(&[3.0]),
        Some(GeometryError::HalfWidths {
            features: 2,
            found: 1
        })
    );
    assert_eq!(
        within(&[1.0, f64::NAN]),
        Some(GeometryError::HalfWidth { features: vec![0, 1] })
    );
}

#[test]
fn squares_are_fixed_to_the_grid_and_cover_a_window_once() {
    let window = Window {
        row: 10,
        col: 250,
        rows: 300,
        cols: 80,
    };
    let parts: Vec<Window> = squares(window, 64).map(|square| square.part).collect();
    assert_eq!(parts.iter().map(Window::cells).sum::<usize>(), window.cells());
    assert!(squares(window, 64).all(|square| square.row % 64 == 0 && square.col % 64 == 0));
    assert_eq!(parts.len(), 5 * 3);
}

/// Features of all kinds, most with a few segments, some far longer than the grid.
fn features() -> impl Strategy<Value = Vec<Geometry<f64>>> {
    let place = prop_oneof![
        9 => (-300.0..3000.0, -300.0..3000.0),
        1 => (-90_000.0..90_000.0, -90_000.0..90_000.0),
    ];
    let one = (0..3, proptest::collection::vec(place, 3..7)).prop_map(|(kind, places)| match kind {
        0 => Geometry::Point(line(&places[..1]).0[0].into()),
        1 => Geometry::LineString(line(&places)),
        // A triangle, as any ring of more could cross itself.
        _ => Geometry::Polygon(ring(&places[..3])),
    });
    proptest::collection::vec(one, 0..8)
}

fn exact(grid: &Grid, cell: CellIndex, geometry: &Geometry<f64>) -> f64 {
    let (x, y) = grid.cell_to_map(cell);
    Euclidean.distance(&Point::new(x, y), geometry)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn distances_equal_the_plain_loop_over_all_features(
        features in features(),
        reach_m in prop_oneof![Just(50.0), Just(700.0), Just(f64::INFINITY)],
        half_widths in proptest::collection::vec(0.0..400.0, 8),
    ) {
        // More than one of the coarsest squares, with features in and round each.
        let grid = grid(280, 290, 7.0);
        let index = index(&grid, &features, reach_m);
        let found = index.distances(grid.window());
        let half_widths = &half_widths[..features.len()];
        let within = index.within(grid.window(), half_widths, 3.0).unwrap();
        for row in (0..grid.rows()).step_by(7) {
            for col in (0..grid.cols()).step_by(9) {
                let cell = CellIndex { row, col };
                let distances: Vec<f64> =
                    features.iter().map(|feature| exact(&grid, cell, feature)).collect();
                let nearest = distances.iter().copied().fold(f64::INFINITY, f64::min);
                let distance = f64::from(found.row(row)[col]);
                if nearest.is_finite() && nearest <= reach_m - 1e-6 {
                    // An f32 says 24 bits, and coordinates of millions of metres a
                    // thousandth of a micrometre.
                    prop_assert!((distance - nearest).abs() <= nearest * 6e-8 + 1e-8, "{distance} {nearest}");
                } else if nearest.is_infinite() || nearest > reach_m + 1e-6 {
                    prop_assert!(distance.is_infinite());
                }
                let spare = distances
                    .iter()
                    .zip(half_widths)
                    .map(|(distance, half)| half + 3.0 - distance)
                    .fold(f64::NEG_INFINITY, f64::max);
                if spare.abs() > 1e-6 {
                    prop_assert_eq!(within.row(row)[col] == 1, spare > 0.0);
                }
            }
        }
    }

    #[test]
    fn scores_are_exact_to_a_billionth(features in features()) {
        // Below the rounding to f32: the squared distances the kernel works with.
        let grid = grid(40, 40, 70.0);
        let index = index(&grid, &features, f64::INFINITY);
        let mut scored = 0;
        let mut worst: f64 = 0.0;
        index.descend(grid.window(), &Search::Nearest, |row, col, least| {
            for (lane, &score) in least.iter().enumerate() {
                scored += 1;
                let (x, y) = grid.cell_to_map(CellIndex { row, col: col + lane });
                let nearest = features
                    .iter()
                    .flat_map(borders)
                    .map(|border| Euclidean.distance(&Point::new(x, y), &border))
                    .fold(f64::INFINITY, f64::min);
                worst = worst.max((score.sqrt() - nearest).abs() / nearest.max(1.0));
            }
        });
        prop_assert_eq!(scored, if features.is_empty() { 0 } else { grid.cells() });
        prop_assert!(worst <= 2e-9, "off by {}", worst);
    }

    #[test]
    fn any_window_tells_the_same_as_the_whole_grid(
        features in features(),
        row in 0..299usize,
        col in 0..399usize,
        rows in 1..90usize,
        cols in 1..90usize,
    ) {
        let grid = grid(300, 400, 7.0);
        let window = Window { row, col, rows: rows.min(300 - row), cols: cols.min(400 - col) };
        let index = index(&grid, &features, 800.0);
        let half_widths = vec![20.0; features.len()];
        let (whole, part) = (index.distances(grid.window()), index.distances(window));
        let all_within = index.within(grid.window(), &half_widths, 0.0).unwrap();
        let within = index.within(window, &half_widths, 0.0).unwrap();
        let cols = window.col..window.col_end();
        for row in 0..window.rows {
            prop_assert_eq!(part.row(row), &whole.row(window.row + row)[cols.clone()]);
            prop_assert_eq!(within.row(row), &all_within.row(window.row + row)[cols.clone()]);
        }
    }
}

/// Lines and points without the insides of polygons.
fn borders(geometry: &Geometry<f64>) -> Vec<Geometry<f64>> {
    match geometry {
        Geometry::Polygon(polygon) => rings(polygon)
            .map(|ring| Geometry::LineString(LineString(ring.to_vec())))
            .collect(),
        other => vec![other.clone()],
    }
}
