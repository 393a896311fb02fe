use geo::{Contains, Coord, LineString, Point, Polygon};
use proptest::prelude::*;

use super::tests::{grid, owners, polygon, ring};
use super::*;
use crate::grid::CellIndex;

/// Two triangles for each field of a bent lattice: shared edges run through many
/// centres, and the mesh reaches past the grid.
fn mesh(
    grid: &Grid,
    fields: usize,
    bends: &[(i32, i32)],
    turns: &[(bool, usize, bool)],
) -> Vec<MultiPolygon<f64>> {
    let corner = |row: usize, col: usize| {
        let (x, y) = bends[row * (fields + 1) + col];
        (
            i32::try_from(col).unwrap() * 12 - 6 + x,
            i32::try_from(row).unwrap() * 12 - 6 + y,
        )
    };
    let mut triangles = Vec::new();
    for row in 0..fields {
        for col in 0..fields {
            let (a, b) = (corner(row, col), corner(row, col + 1));
            let (c, d) = (corner(row + 1, col + 1), corner(row + 1, col));
            let (falling, first, backward) = turns[row * fields + col];
            let pair = if falling {
                [[a, b, c], [a, c, d]]
            } else {
                [[a, b, d], [b, c, d]]
            };
            for mut triangle in pair {
                triangle.rotate_left(first);
                if backward {
                    triangle.reverse();
                }
                triangles.push(polygon(grid, &triangle));
            }
        }
    }
    triangles
}

fn window_of(grid: &Grid, shares: [f64; 4]) -> Window {
    let cut = |share: f64, whole: usize| {
        (0..whole)
            .rev()
            .find(|&at| as_cells(at) <= share * as_cells(whole))
            .unwrap_or(0)
    };
    let row = cut(shares[0], grid.rows());
    let col = cut(shares[1], grid.cols());
    Window {
        row,
        col,
        rows: 1 + cut(shares[2], grid.rows() - row),
        cols: 1 + cut(shares[3], grid.cols() - col),
    }
}

/// A star-shaped ring with its corners at given shares of the radius.
fn star(centre: (f64, f64), radius: f64, shares: &[f64]) -> LineString<f64> {
    let step = std::f64::consts::TAU / as_cells(shares.len());
    shares
        .iter()
        .enumerate()
        .map(|(corner, share)| {
            let angle = as_cells(corner) * step + 0.1234;
            (
                centre.0 + radius * share * angle.cos(),
                centre.1 + radius * share * angle.sin(),
            )
        })
        .collect()
}

fn stars() -> impl Strategy<Value = Vec<MultiPolygon<f64>>> {
    let one = (
        (0.0..500.0, 0.0..800.0),
        20.0..400.0,
        proptest::collection::vec(0.5..1.0, 3..24),
    );
    proptest::collection::vec(one, 1..5).prop_map(|stars| {
        stars
            .into_iter()
            .map(|(centre, radius, shares)| {
                let hole: Vec<f64> = shares.iter().map(|share| share * 0.4).collect();
                MultiPolygon(vec![Polygon::new(
                    star(centre, radius, &shares),
                    vec![star(centre, radius, &hole)],
                )])
            })
            .collect()
    })
}

/// Rings of any shape, many of them over each other and some far beyond the grid, with
/// corners on centres and beside them.
fn tangles() -> impl Strategy<Value = Vec<Vec<(f64, f64)>>> {
    let place = || prop_oneof![4 => (-4..44i32).prop_map(f64::from), 2 => -4.0..44.0, 1 => -900.0..900.0];
    let ring = proptest::collection::vec((place(), place()), 3..9);
    proptest::collection::vec(ring, 1..14)
}

/// Whether a ring, in half cells, holds a cell's centre: whether an odd number of its
/// edges passes at or west of it.
fn holds(grid: &Grid, ring: &LineString<f64>, row: usize, col: usize) -> bool {
    let extent = grid.extent();
    let rounded = |number: f64, steps: f64| (number * steps).round() / steps;
    let cells = |number: f64| rounded(number / grid.cell_m(), 67_108_864.0);
    let vertex = |at: &Coord<f64>| (cells(at.x - extent.west), cells(extent.north - at.y));
    let (x, y) = (as_cells(col) + 0.5, as_cells(row) + 0.5);
    let passes = ring.lines().filter(|edge| {
        let (mut north, mut south) = (vertex(&edge.start), vertex(&edge.end));
        if south.1 <= north.1 {
            (north, south) = (south, north);
        }
        let crosses = north.1 <= y && y < south.1;
        let at = north.0 + (y - north.1) / (south.1 - north.1) * (south.0 - north.0);
        crosses && rounded(at, 4_194_304.0) <= x
    });
    passes.count() % 2 == 1
}

const FIELDS: usize = 6;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn a_mesh_owns_every_cell_exactly_once(
        bends in proptest::collection::vec((-2..=2, -2..=2), (FIELDS + 1) * (FIELDS + 1)),
        turns in proptest::collection::vec((any::<bool>(), 0..3usize, any::<bool>()), FIELDS * FIELDS),
        cell_m in prop_oneof![Just(5.0), Just(0.7), Just(1.0 / 3.0), Just(12.34)],
        west in -8e5..8e5,
        north in 0.0..9e6,
    ) {
        // Half cells -8 to 70 hold the mesh, so the grid's 0 to 60 lie inside.
        let grid = grid(west, north, 28, 28, cell_m);
        prop_assert_eq!((grid.rows(), grid.cols()), (28, 28));
        let found = owners(&grid, &mesh(&grid, FIELDS, &bends, &turns));
        prop_assert_eq!(found.overlaps.cells(), 0);
        prop_assert!(found.polygons.values().iter().all(|owner| !owner.is_missing()));
    }

    #[test]
    fn a_border_drawn_in_pieces_by_one_neighbour_leaves_no_gap(
        top in 0..40i32,
        bottom in 0..40i32,
        cuts in proptest::collection::vec(0.0..1.0, 1..4),
        cell_m in prop_oneof![Just(5.0), Just(0.7), Just(12.34)],
        west in -8e5..8e5,
    ) {
        // The border runs from centre to centre, and its pieces meet at places that
        // no binary number says exactly.
        let grid = grid(west, 4.5e6, 20, 20, cell_m);
        let border = ring(&grid, &[(top, -1), (bottom, 41)]);
        let (a, b) = (border.0[0], border.0[1]);
        let mut cuts = cuts;
        cuts.sort_by(f64::total_cmp);
        let frame = ring(&grid, &[(-90, -1), (-90, 41), (90, -1), (90, 41)]);
        let left = LineString(vec![frame.0[0], a, b, frame.0[1]]);
        let mut right = vec![a];
        right.extend(cuts.iter().map(|&cut| a + (b - a) * cut));
        right.extend([b, frame.0[3], frame.0[2]]);
        let polygons = [left, LineString(right)].map(|ring| MultiPolygon(vec![Polygon::new(ring, vec![])]));
        let found = owners(&grid, &polygons);
        prop_assert_eq!(found.overlaps.cells(), 0);
        prop_assert!(found.polygons.values().iter().all(|owner| !owner.is_missing()));
    }

    #[test]
    fn owners_are_those_that_contain_the_centre(polygons in stars()) {
        let grid = grid(0.0, 800.0, 80, 50, 10.0);
        let found = owners(&grid, &polygons);
        let mut overlaps = Overlaps::default();
        for row in 0..grid.rows() {
            for col in 0..grid.cols() {
                let (x, y) = grid.cell_to_map(CellIndex { row, col });
                let holders: Vec<u32> = (0..polygons.len())
                    .filter(|&number| polygons[number].contains(&Point::new(x, y)))
                    .map(index_u32)
                    .collect();
                let owner = match holders.as_slice() {
                    [] => u32::MISSING,
                    [owner] => *owner,
                    _ => OVERLAP,
                };
                prop_assert_eq!(found.polygons.row(row)[col], owner);
                if owner == OVERLAP {
                    *overlaps.cells_of.entry(holders).or_default() += 1;
                }
            }
        }
        prop_assert_eq!(found.overlaps, overlaps);
    }

    #[test]
    fn any_window_tells_the_same_as_the_whole_grid(
        polygons in stars(),
        shares in proptest::array::uniform4(0.0..1.0),
    ) {
        let grid = grid(0.0, 800.0, 160, 100, 5.0);
        let window = window_of(&grid, shares);
        let index = PolygonIndex::new(&grid, &polygons).unwrap();
        let (whole, part) = (index.owners(grid.window()), index.owners(window));
        let covered = index.covers(window);
        let cols = window.col..window.col_end();
        for row in 0..window.rows {
            let owners = part.polygons.row(row);
            prop_assert_eq!(owners, &whole.polygons.row(window.row + row)[cols.clone()]);
            for (owner, &covered) in owners.iter().zip(covered.row(row)) {
                prop_assert_eq!(covered == 1, !owner.is_missing());
            }
        }
        let overlapping = part.polygons.values().iter().filter(|&&owner| owner == OVERLAP).count();
        prop_assert_eq!(part.overlaps.cells(), overlapping as u64);
    }

    #[test]
    fn runs_are_those_of_a_plain_test_of_each_centre_for_any_cut(
        tangles in tangles(),
        cuts in proptest::array::uniform2(proptest::collection::vec(0..20usize, 0..4)),
        crossings_a_band in 1..60usize,
        cell_m in prop_oneof![Just(5.0), Just(0.7), Just(12.34)],
        west in -8e5..8e5,
    ) {
        let grid = grid(west, 4.5e6, 20, 20, cell_m);
        let (extent, step) = (grid.extent(), cell_m / 2.0);
        let place = |&(x, y): &(f64, f64)| (extent.west + x * step, extent.north - y * step);
        let ring = |halves: &Vec<(f64, f64)>| Polygon::new(halves.iter().map(place).collect(), vec![]);
        let polygons: Vec<Polygon<f64>> = tangles.iter().map(ring).collect();
        let crossings: Vec<_> =
            polygons.iter().map(|polygon| Crossings::of(&grid, [polygon]).unwrap()).collect();
        let index = PolygonIndex::in_bands(crossings.iter().map(Some).collect(), crossings_a_band).unwrap();
        let [rows, cols] = cuts.map(|mut cuts| {
            cuts.extend([0, 20]);
            cuts.sort_unstable();
            cuts
        });
        for (rows, cols) in rows.windows(2).flat_map(|rows| cols.windows(2).map(move |cols| (rows, cols))) {
            let window = Window {
                row: rows[0],
                col: cols[0],
                rows: rows[1] - rows[0],
                cols: cols[1] - cols[0],
            };
            let (found, covered, shared) = (index.owners(window), index.covers(window), index.overlaps(window));
            let mut overlaps = Overlaps::default();
            for (row, col) in (0..window.rows).flat_map(|row| (0..window.cols).map(move |col| (row, col))) {
                let holders: Vec<u32> = (0..polygons.len())
                    .filter(|&at| holds(&grid, polygons[at].exterior(), window.row + row, window.col + col))
                    .map(index_u32)
                    .collect();
                let owner = match holders.as_slice() {
                    [] => u32::MISSING,
                    [owner] => *owner,
                    several => {
                        overlaps.count(several, 1);
                        OVERLAP
                    }
                };
                prop_assert_eq!(found.polygons.row(row)[col], owner);
                prop_assert_eq!(covered.row(row)[col] == 1, !holders.is_empty());
                let marked = shared.as_ref().is_some_and(|(_, mask)| mask.row(row)[col] == 1);
                prop_assert_eq!(marked, owner == OVERLAP);
            }
            prop_assert_eq!(&found.overlaps, &overlaps);
            prop_assert_eq!(shared.map(|(overlaps, _)| overlaps).unwrap_or_default(), overlaps);
        }
    }

    #[test]
    fn the_overlaps_of_parts_add_up_to_those_of_the_whole(polygons in stars()) {
        let grid = grid(0.0, 800.0, 80, 50, 10.0);
        let index = PolygonIndex::new(&grid, &polygons).unwrap();
        let whole = grid.window();
        let mut sum = index.owners(Window { rows: 33, ..whole }).overlaps;
        sum.add(&index.owners(Window { row: 33, rows: whole.rows - 33, ..whole }).overlaps);
        prop_assert_eq!(sum, index.owners(whole).overlaps);
    }
}
