use geo::{LineString, Polygon};

use super::*;
use crate::grid::{Crs, Extent, drawn};

pub(super) fn grid(west: f64, north: f64, rows: u32, cols: u32, cell_m: f64) -> Grid {
    // A quarter cell of slack, so that rounding adds no row or column.
    let extent = Extent {
        west: (west / cell_m).round() * cell_m + cell_m / 4.0,
        north: (north / cell_m).round() * cell_m - cell_m / 4.0,
        east: ((west / cell_m).round() + f64::from(cols)) * cell_m - cell_m / 4.0,
        south: ((north / cell_m).round() - f64::from(rows)) * cell_m + cell_m / 4.0,
    };
    let crs = Crs {
        wkt: String::new(),
        name: "plane".to_owned(),
        code: None,
    };
    Grid::covering(&extent, cell_m, crs).unwrap()
}

/// A ring from places in half cells, column before row, from the grid's corner.
pub(super) fn ring(grid: &Grid, halves: &[(i32, i32)]) -> LineString<f64> {
    let extent = grid.extent();
    let step = grid.cell_m() / 2.0;
    halves
        .iter()
        .map(|&(x, y)| {
            (
                extent.west + f64::from(x) * step,
                extent.north - f64::from(y) * step,
            )
        })
        .collect()
}

pub(super) fn polygon(grid: &Grid, halves: &[(i32, i32)]) -> MultiPolygon<f64> {
    MultiPolygon(vec![Polygon::new(ring(grid, halves), vec![])])
}

fn rectangle(grid: &Grid, west: i32, north: i32, east: i32, south: i32) -> MultiPolygon<f64> {
    polygon(
        grid,
        &[(west, north), (east, north), (east, south), (west, south)],
    )
}

pub(super) fn owners(grid: &Grid, polygons: &[MultiPolygon<f64>]) -> Owners {
    PolygonIndex::new(grid, polygons).unwrap().owners(grid.window())
}

#[test]
fn a_cell_belongs_to_the_polygon_that_holds_its_centre() {
    let grid = grid(0.0, 40.0, 4, 5, 10.0);
    let found = owners(
        &grid,
        &[rectangle(&grid, 2, 2, 6, 6), rectangle(&grid, 6, 0, 10, 4)],
    );
    assert_eq!(
        format!("{:?}", found.polygons),
        format!("{:?}", drawn::<u32>(". . . 1 1\n. 0 0 1 1\n. 0 0 . .\n. . . . ."))
    );
    assert_eq!(found.overlaps, Overlaps::default());
}

#[test]
fn centres_on_shared_edges_go_to_the_east_and_to_the_south() {
    let grid = grid(0.0, 30.0, 3, 3, 10.0);
    let quarters = [
        rectangle(&grid, 0, 0, 3, 3),
        rectangle(&grid, 3, 0, 6, 3),
        rectangle(&grid, 0, 3, 3, 6),
        rectangle(&grid, 3, 3, 6, 6),
    ];
    assert_eq!(owners(&grid, &quarters).polygons, drawn("0 1 1\n2 3 3\n2 3 3"));
}

#[test]
fn centres_on_edges_are_seen_as_such_whatever_the_cell_size() {
    for cell_m in [0.7, 1.0 / 3.0, 12.34, 30.48] {
        let grid = grid(-123_456.7, 4_567_890.1, 60, 60, cell_m);
        for at in (1..119).step_by(2) {
            let found = owners(
                &grid,
                &[
                    rectangle(&grid, -9, -9, at, 129),
                    rectangle(&grid, at, -9, 129, 129),
                ],
            );
            let first = usize::try_from(at / 2).unwrap();
            assert_eq!(
                found.polygons.row(7).iter().position(|&owner| owner == 1),
                Some(first)
            );
            let found = owners(
                &grid,
                &[
                    rectangle(&grid, -9, -9, 129, at),
                    rectangle(&grid, -9, at, 129, 129),
                ],
            );
            let first_south = (0..60).find(|&row| found.polygons.row(row)[7] == 1);
            assert_eq!(first_south, Some(first));
        }
    }
}

#[test]
fn a_level_border_bent_by_a_hair_leaves_neither_gap_nor_overlap() {
    let grid = grid(0.0, 50.0, 5, 5, 10.0);
    for hair in [-1e-8, 1e-8] {
        let north = rectangle(&grid, 0, 0, 10, 5);
        let mut bent = ring(&grid, &[(0, 5), (5, 5), (10, 5), (10, 10), (0, 10)]);
        bent.0[1].y += hair;
        let south = MultiPolygon(vec![Polygon::new(bent, vec![])]);
        assert_eq!(
            owners(&grid, &[north, south]).polygons,
            drawn("0 0 0 0 0\n0 0 0 0 0\n1 1 1 1 1\n1 1 1 1 1\n1 1 1 1 1"),
            "bent by {hair} m"
        );
    }
}

#[test]
fn holes_and_parts_follow_the_even_odd_rule() {
    let grid = grid(0.0, 50.0, 5, 7, 10.0);
    let with_hole = Polygon::new(
        ring(&grid, &[(0, 0), (10, 0), (10, 10), (0, 10)]),
        vec![ring(&grid, &[(2, 2), (8, 2), (8, 8), (2, 8)])],
    );
    let island = Polygon::new(ring(&grid, &[(4, 4), (6, 4), (6, 6), (4, 6)]), vec![]);
    let index = PolygonIndex::new(&grid, &[MultiPolygon(vec![with_hole, island])]).unwrap();
    assert_eq!(
        index.covers(grid.window()),
        drawn("1 1 1 1 1 0 0\n1 0 0 0 1 0 0\n1 0 1 0 1 0 0\n1 0 0 0 1 0 0\n1 1 1 1 1 0 0")
    );
}

#[test]
fn overlaps_are_told_apart_and_counted_by_who_overlaps() {
    let grid = grid(0.0, 10.0, 1, 6, 10.0);
    let index = PolygonIndex::new(
        &grid,
        &[
            rectangle(&grid, 0, 0, 8, 2),
            rectangle(&grid, 4, 0, 10, 2),
            rectangle(&grid, 6, 0, 12, 2),
        ],
    )
    .unwrap();
    let found = index.owners(grid.window());
    assert_eq!(
        found.polygons.values(),
        [0, 0, OVERLAP, OVERLAP, OVERLAP, 2].as_slice()
    );
    let sets: Vec<(&[u32], u64)> = found.overlaps.sets().collect();
    assert_eq!(sets, [([0, 1].as_slice(), 1), (&[0, 1, 2], 1), (&[1, 2], 1)]);
    assert_eq!(found.overlaps.cells(), 3);
    assert!(!OVERLAP.is_missing());
    assert_eq!(index.covers(grid.window()).values(), [1; 6].as_slice());
}

#[test]
fn no_polygons_and_empty_ones_own_nothing() {
    let grid = grid(0.0, 20.0, 2, 2, 10.0);
    let nothing = Raster::filled(grid.window(), u32::MISSING);
    assert_eq!(owners(&grid, &[]).polygons, nothing);
    let flat = polygon(&grid, &[(0, 1), (4, 1)]);
    let empty = Polygon::new(LineString(vec![]), vec![]);
    let found = owners(&grid, &[MultiPolygon(vec![]), flat, MultiPolygon(vec![empty])]);
    assert_eq!(found.polygons, nothing);
    assert_eq!(found.overlaps.cells(), 0);
}

#[test]
fn coordinates_that_are_not_finite_are_all_named() {
    let grid = grid(0.0, 20.0, 2, 2, 10.0);
    let wrong = |x: f64| {
        let line = LineString::from(vec![(0.0, 0.0), (x, 5.0), (5.0, 5.0)]);
        MultiPolygon(vec![Polygon::new(line, vec![])])
    };
    let polygons = vec![
        wrong(f64::NAN),
        rectangle(&grid, 0, 0, 2, 2),
        wrong(f64::INFINITY),
    ];
    let error = PolygonIndex::new(&grid, &polygons).unwrap_err();
    assert_eq!(error, GeometryError::NotFinite { features: vec![0, 2] });
    assert_eq!(
        error.to_string(),
        "2 features have coordinates that are not finite, the first is number 0: finite coordinates are needed"
    );
}

#[test]
fn a_polygon_larger_than_the_grid_covers_it() {
    let grid = grid(0.0, 1300.0, 130, 3, 10.0);
    let index = PolygonIndex::new(&grid, &[rectangle(&grid, -900, -900, 900, 900)]).unwrap();
    assert!(
        index
            .covers(grid.window())
            .values()
            .iter()
            .all(|&covered| covered == 1)
    );
}

#[test]
fn thousands_of_polygons_on_one_cell_are_all_told() {
    let grid = grid(0.0, 50.0, 5, 9, 10.0);
    let frames = |at: i32| rectangle(&grid, 8 - at % 7, 4 - at % 4, 10 + at % 5, 6 + at % 3);
    let polygons: Vec<_> = (0..3000).map(frames).collect();
    let index = PolygonIndex::new(&grid, &polygons).unwrap();
    let cell = Window {
        row: 2,
        col: 4,
        rows: 1,
        cols: 1,
    };
    let (overlaps, mask) = index.overlaps(cell).unwrap();
    let holders: Vec<u32> = (0..3000).collect();
    assert!(overlaps.sets().eq([(holders.as_slice(), 1)]));
    assert_eq!(mask.values(), [1]);
    let edge = Window { col: 8, ..cell };
    assert!(index.overlaps(edge).is_none() && index.covers(edge).values() == [0]);
}

#[test]
fn a_million_rows_take_little_where_few_are_crossed() {
    let grid = grid(0.0, 1e6, 1_000_000, 3, 1.0);
    let polygons = [
        rectangle(&grid, -2, 1_000_000, 40, 1_000_040),
        polygon(&grid, &[(-2, 900), (-2, 950)]),
    ];
    let index = PolygonIndex::new(&grid, &polygons).unwrap();
    assert_eq!((index.first_row, index.end_row), (500_000, 500_020));
    let rows = Window {
        row: 499_999,
        col: 1,
        rows: 3,
        cols: 1,
    };
    assert_eq!(index.owners(rows).polygons, drawn(".\n0\n0"));
    let rows = Window { row: 500_019, ..rows };
    assert_eq!(index.owners(rows).polygons, drawn("0\n.\n."));
}
