use super::*;
use crate::zones::outlines::{OutlineBuilder, OutlineError};

fn drawn(text: &str) -> (Labels, Vec<Rings>) {
    let labels = Labels::drawn(text);
    for tolerance in [0.0, 0.8, 1.0, 2.5, 100.0] {
        assert_outlines(&labels, tolerance);
    }
    let rings = original_rings(&labels.arcs());
    (labels, rings)
}

#[test]
fn a_single_cell_is_a_square_of_four_corners() {
    let (labels, zones) = drawn("...\n.1.\n...");
    assert_eq!(zones[0][0].len(), 5);
    let arcs = labels.arcs();
    assert_eq!(arcs.arcs().len(), 1);
    assert_eq!(arcs.arcs()[0].nodes, None);
    // It starts at its first corner and leaves to the right, the zone on the right.
    assert_eq!(arcs.course(0)[0], Corner { row: 1, col: 1 });
    assert_eq!(arcs.course(0)[1], Corner { row: 1, col: 2 });
    assert_eq!((arcs.arcs()[0].left, arcs.arcs()[0].right), (0, 1));
}

#[test]
fn a_zone_that_fills_the_grid_has_the_grids_four_corners() {
    let (labels, zones) = drawn("111\n111");
    assert_eq!(zones[0].len(), 1);
    let grid = labels.grid(1000.0, 2000.0, 10.0);
    let arcs = labels.arcs();
    let outline = &arcs.simplified(&grid, 0.0).outlines(&grid)[0];
    let corners = [
        (1000.0, 2000.0),
        (1030.0, 2000.0),
        (1030.0, 2020.0),
        (1000.0, 2020.0),
    ];
    assert!(corners.iter().all(|corner| outline.exterior.contains(corner)));
    assert_eq!(outline.exterior.len(), 5);
}

#[test]
fn a_ring_has_a_hole_and_a_zone_within_fills_it() {
    let (_, zones) = drawn("11111\n12221\n12321\n12221\n11111");
    assert_eq!(zones[0].len(), 2);
    assert_eq!(zones[1].len(), 2);
    assert_eq!(zones[2].len(), 1);
    let hole: BTreeSet<_> = zones[1][1].iter().collect();
    assert_eq!(hole, zones[2][0].iter().collect());
}

#[test]
fn cells_that_touch_at_a_corner_within_one_zone_part_a_hole_from_the_outside() {
    // Zone 1 closes round the 2 only by a corner: the exterior must not pass it twice.
    let (_, zones) = drawn("111\n121\n311");
    assert_eq!(zones[0].len(), 2);
    let (_, zones) = drawn("1111\n12.1\n1.11\n1111");
    assert_eq!(zones[0].len(), 2, "one hole of three cells");
}

#[test]
fn holes_that_touch_at_a_corner_stay_two() {
    let (_, zones) = drawn("1111\n1211\n1131\n1111");
    assert_eq!(zones[0].len(), 3);
    // A ring of holes round a cell of the zone's own would cut it in two, so the
    // cell within is another zone.
    let (_, zones) = drawn("11111\n11.11\n1.2.1\n11.11\n11111");
    assert_eq!(zones[0].len(), 2, "one hole of all five cells");
}

#[test]
fn a_checkerboard_of_single_cells_is_as_many_zones() {
    let labels = Labels::drawn("1212\n2121\n1212").flooded();
    assert_eq!(labels.counts(), vec![1; 12]);
    assert_outlines(&labels, 1.0);
}

#[test]
fn a_zone_touches_the_hole_of_another_at_both_ends() {
    drawn("1111111\n1.....1\n1.22211\n1.21111\n1.....1\n1111111");
    drawn("111111\n122.11\n1.2211\n11.221\n111..1\n111111");
}

#[test]
fn unrated_cells_at_a_cross_leave_two_zones_apart() {
    drawn("1.\n.2");
    drawn(".1\n2.");
    drawn("12\n34");
}

/// A square with a border that descends in steps one cell high and `length` long.
fn flight(size: u32, length: u32) -> Labels {
    let label = |row: u32, col: u32| if col <= row * length { 1 } else { 2 };
    let values = (0..size).flat_map(|row| (0..size * length).map(move |col| label(row, col)));
    Labels {
        rows: size,
        cols: size * length,
        values: values.collect(),
    }
}

#[test]
fn a_flight_of_one_cell_steps_becomes_straight_at_a_tolerance_of_one_cell() {
    for length in [1, 2] {
        let labels = flight(16, length);
        let arcs = labels.arcs();
        let between = arcs
            .arcs()
            .iter()
            .position(|arc| arc.left.min(arc.right) == 1)
            .unwrap();
        let course = |tolerance_cells: f64| {
            let grid = labels.grid(0.0, 0.0, 5.0);
            arcs.simplified(&grid, tolerance_cells * 5.0)
                .course(between)
                .to_vec()
        };
        let right_angles = |course: &[Corner]| {
            let square = |corners: &&[Corner]| {
                let [a, b, c] = [0, 1, 2].map(|at| corners[at].point());
                (b.x - a.x) * (c.x - b.x) + (b.y - a.y) * (c.y - b.y) == 0
            };
            course.windows(3).filter(square).count()
        };
        let before = course(0.0);
        assert_eq!(right_angles(&before), before.len() - 2);
        let after = course(1.0);
        assert_eq!(right_angles(&after), 0, "steps of {length}: {after:?}");
        // It changes sides now and then, so that no zone gains on the whole.
        assert!(after.len() * 3 < before.len(), "steps of {length}: {after:?}");
        assert_eq!(course(0.7), before, "less does nothing");
    }
}

#[test]
fn a_long_flight_of_steps_gives_to_both_sides() {
    let labels = flight(300, 1);
    let arcs = labels.arcs();
    let simplified = arcs.simplified(&labels.grid(0.0, 0.0, 1.0), 1.0);
    let (before, after) = simplified.corner_counts();
    assert!(after * 10 < before, "{before} corners became {after}");
    for change in simplified.area_changes() {
        // One side alone would gain half a cell for each of the 300 steps.
        assert!(
            (change.area_after_m2 - change.area_before_m2).abs() < 10.0,
            "{change:?}"
        );
    }
}

#[test]
fn straight_edges_that_would_fall_together_stay_apart() {
    // Two arcs join the same two nodes above and below zone 3.
    let labels = Labels::drawn("1111111\n1133311\n2233322\n2222222");
    assert_outlines(&labels, 50.0);
}

#[test]
fn rows_that_are_wrong_are_refused_with_what_is_wrong() {
    let mut builder = OutlineBuilder::new(2, 4);
    let refused = builder.push_row(&[(2, 1), (2, 3), (4, 1)]).unwrap_err();
    assert_eq!(
        refused.to_string(),
        "row 0 of the zone labels: a run ends at column 2 after one that ends at 2; ends must rise"
    );
    let refused = builder.push_row(&[(3, 1)]).unwrap_err();
    assert_eq!(
        refused.to_string(),
        "row 0 of the zone labels: the runs end at column 3; the grid has 4 columns"
    );
    builder.push_row(&[(4, 1)]).unwrap();
    let refused = builder.finish().unwrap_err();
    assert_eq!(
        refused.to_string(),
        "1 row of zone labels came in; the grid has 2 rows"
    );
    let mut builder = OutlineBuilder::new(1, 1);
    builder.push_row(&[(1, 1)]).unwrap();
    assert!(matches!(
        builder.push_row(&[(1, 1)]),
        Err(OutlineError::RowCount { .. })
    ));
}

#[test]
fn labels_in_pieces_or_without_a_cell_are_all_named() {
    let mut builder = OutlineBuilder::new(1, 5);
    builder
        .push_row(&[(1, 1), (2, 3), (3, 1), (4, 0), (5, 1)])
        .unwrap();
    assert_eq!(
        builder.finish().unwrap_err().to_string(),
        "each zone label from 1 up must be one set of cells joined by their sides: label 1 has 3 pieces, label 2 has 0 pieces"
    );
}

#[test]
fn a_grid_without_rated_cells_has_no_outlines() {
    let labels = Labels::drawn("...\n...");
    assert_eq!(labels.arcs().zones(), 0);
    assert!(labels.arcs().arcs().is_empty());
}
