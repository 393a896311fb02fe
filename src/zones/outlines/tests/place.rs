use std::collections::BTreeSet;

use crate::grid::{CellIndex, Crs, Extent, Grid};
use crate::zones::outlines::drawing::Labels;
use crate::zones::outlines::{AnchorFinder, stable_id};

fn anchors(labels: &Labels, split: bool) -> Vec<Option<CellIndex>> {
    let mut finder = AnchorFinder::new(labels.cols);
    for runs in labels.runs(split) {
        finder.push_row(&runs).unwrap();
    }
    finder.finish()
}

fn grid(west: f64, south: f64, cell_m: f64, cells: f64) -> Grid {
    let extent = Extent {
        west,
        south,
        east: west + cells * cell_m,
        north: south + cells * cell_m,
    };
    let crs = Crs {
        wkt: String::new(),
        name: "plane".to_owned(),
        code: None,
    };
    Grid::covering(&extent, cell_m, crs).unwrap()
}

#[test]
fn the_anchor_is_the_middle_of_the_longest_run() {
    let labels = Labels::drawn("1.2222\n111.22\n.4.444\n5.....");
    let at = |row, col| Some(CellIndex { row, col });
    let expected = vec![at(1, 1), at(0, 3), None, at(2, 4), at(3, 0)];
    assert_eq!(anchors(&labels, false), expected);
    assert_eq!(anchors(&labels, true), expected, "however the runs are cut");
}

#[test]
fn of_equal_runs_the_northmost_then_the_westmost_counts() {
    let labels = Labels::drawn("11.11\n11111\n2..22\n22222");
    assert_eq!(anchors(&labels, false)[0], Some(CellIndex { row: 1, col: 2 }));
    let labels = Labels::drawn("11.11\n1...1\n11.11");
    assert_eq!(anchors(&labels, false)[0], Some(CellIndex { row: 0, col: 0 }));
}

#[test]
fn ids_are_short_and_tell_the_place() {
    let id = |grid: &Grid, row, col| stable_id(grid, CellIndex { row, col });
    assert_eq!(
        id(&grid(512_300.0, 4_871_000.0, 5.0, 10.0), 4, 8),
        "e512340n4871030"
    );
    assert_eq!(id(&grid(-1000.0, -2000.0, 5.0, 10.0), 0, 0), "w1000s1950");
    assert_eq!(id(&grid(0.0, 0.0, 2.5, 4.0), 3, 3), "e7n2");
    assert_eq!(id(&grid(0.0, 0.0, 0.25, 8.0), 7, 3), "e0.7n0.2");
    assert_eq!(id(&grid(0.0, 0.0, 0.1, 8.0), 5, 3), "e0.3n0.3");
}

#[test]
fn no_two_cells_share_an_id() {
    for cell_m in [0.03, 0.1, 0.25, 0.3, 0.7, 1.0, 1.1, 1.5, 2.5, 3.3] {
        for (west, south) in [(-20.0 * cell_m, -20.0 * cell_m), (512_000.0, 4_871_000.0)] {
            let grid = grid(west, south, cell_m, 40.0);
            let ids: BTreeSet<String> = (0..grid.rows())
                .flat_map(|row| (0..grid.cols()).map(move |col| CellIndex { row, col }))
                .map(|cell| stable_id(&grid, cell))
                .collect();
            assert_eq!(
                ids.len(),
                grid.cells(),
                "cells of {cell_m} m from {west}, {south}"
            );
        }
    }
}

#[test]
fn a_larger_grid_gives_the_same_ground_the_same_id() {
    for cell_m in [0.3, 5.0, 7.1] {
        let small = grid(1000.0 * cell_m, 2000.0 * cell_m, cell_m, 10.0);
        let large = grid(990.0 * cell_m, 1990.0 * cell_m, cell_m, 40.0);
        let (x, y) = small.cell_to_map(CellIndex { row: 2, col: 3 });
        let there = large.map_to_cell(x, y).unwrap();
        assert_eq!(
            stable_id(&small, CellIndex { row: 2, col: 3 }),
            stable_id(&large, there)
        );
    }
}
