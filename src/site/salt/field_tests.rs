use super::*;

const NEAR: Term = Term {
    per_m: 0.3,
    share: 0.75,
    reach_m: 60.0,
};
const FAR: Term = Term {
    per_m: 0.04,
    share: 0.25,
    reach_m: 400.0,
};
const RUNOFF: Term = Term {
    per_m: 0.3,
    share: 1.0,
    reach_m: 20.0,
};

fn piece(from: [f64; 2], to: [f64; 2], half_width_m: f64, spray_g_m: [f64; 2]) -> Source {
    let length_m = (to[0] - from[0]).hypot(to[1] - from[1]);
    Source {
        from,
        along: [(to[0] - from[0]) / length_m, (to[1] - from[1]) / length_m],
        length_m,
        half_width_m,
        spray_g_m,
        runoff_g_m: 1000.0,
        runoff_l_m: 500.0,
    }
}

fn field(sources: Vec<Source>, cell_m: f64) -> SaltField {
    SaltField::new(sources, cell_m, NEAR, FAR, RUNOFF)
}

fn whole(rows: usize, cols: usize) -> Window {
    Window {
        row: 0,
        col: 0,
        rows,
        cols,
    }
}

fn window(row: usize, col: usize, rows: usize, cols: usize) -> Window {
    Window { row, col, rows, cols }
}

/// The curve that a straight endless road must give back, A exp(-k x) for both terms.
fn curve(side_g_m: f64, x: f64) -> f64 {
    side_g_m * (0.75 * 0.3 * (-0.3 * x).exp() + 0.25 * 0.04 * (-0.04 * x).exp())
}

#[test]
fn a_straight_endless_road_gives_the_decay_curve_back() {
    let table = ShareTable::shared();
    let road = piece([-1e6, 0.0], [1e6, 0.0], 6.0, [9000.0, 7000.0]);
    let endless = |term: Term| Term { reach_m: 1e6, ..term };
    for x in [0.001, 0.5, 3.0, 18.288, 60.0, 200.0] {
        for (side, sign) in [(9000.0, 1.0), (7000.0, -1.0)] {
            let seen = road.seen_from(123.4, sign * (6.0 + x));
            let sum: f64 = [endless(NEAR), endless(FAR)]
                .iter()
                .map(|term| term.at(table, &seen) * road.side_g_m(&seen))
                .sum();
            assert!((sum / curve(side, x) - 1.0).abs() < 1e-9, "{x}: {sum}");
        }
    }
}

#[test]
fn splitting_a_road_changes_nothing() {
    let (from, to) = ([3.0, 40.0], [310.0, 171.0]);
    let one = field(vec![piece(from, to, 5.0, [800.0, 1200.0])], 5.0);
    let at = |share: f64| {
        [
            from[0] + share * (to[0] - from[0]),
            from[1] + share * (to[1] - from[1]),
        ]
    };
    let cuts = [0.0, 0.013, 0.2, 0.21, 0.5, 0.77, 0.9, 1.0];
    let parts = cuts.windows(2);
    let parts = parts.map(|pair| piece(at(pair[0]), at(pair[1]), 5.0, [800.0, 1200.0]));
    let many = field(parts.collect(), 5.0);
    let window = whole(64, 64);
    let (one, many) = (one.spray(window), many.spray(window));
    for (index, (&one, &many)) in one.values().iter().zip(many.values()).enumerate() {
        let off = (one - many).abs();
        assert!(off <= 1e-6 * one + 1e-7, "cell {index}: {one} {many}");
    }
}

#[test]
fn values_do_not_hang_on_how_the_grid_is_cut() {
    let roads = vec![
        piece([-50.0, 210.0], [180.0, 100.0], 6.0, [900.0, 400.0]),
        piece([180.0, 100.0], [600.0, 130.0], 6.0, [700.0, 600.0]),
    ];
    let mut backward = roads.clone();
    backward.reverse();
    let (field, backward) = (field(roads, 5.0), field(backward, 5.0));
    let all = field.spray(whole(80, 90));
    assert_eq!(all, backward.spray(whole(80, 90)));
    let (wet, part) = (field.runoff(whole(80, 90), None), window(17, 29, 31, 50));
    let (few, few_wet) = (field.spray(part), field.runoff(part, None));
    for row in 0..part.rows {
        let cols = part.col..part.col_end();
        assert_eq!(few.row(row), &all.row(part.row + row)[cols.clone()]);
        assert_eq!(
            few_wet.salt_g_m2.row(row),
            &wet.salt_g_m2.row(part.row + row)[cols]
        );
    }
}

/// What leaves the road is what lands beside it: for cells of several sizes and a road
/// that runs across them at a slant, to 1 %.
#[test]
fn the_mass_that_leaves_is_the_mass_that_lands() {
    for cell_m in [2.0, 5.0, 10.0] {
        let side_m = 1600.0;
        let (from, to) = ([700.0, 640.0], [900.0, 930.0]);
        let road = piece(from, to, 6.0, [3000.0, 1000.0]);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a small count"
        )]
        let cells = (side_m / cell_m) as usize;
        let spray = field(vec![road], cell_m).spray(whole(cells, cells));
        // The share of each cell that is no pavement, sampled more finely than the
        // field does.
        let mut landed = 0.0;
        for row in 0..cells {
            for (col, &grams) in spray.row(row).iter().enumerate() {
                let middle = [(as_f64(col) + 0.5) * cell_m, (as_f64(row) + 0.5) * cell_m];
                let near = road.seen_from(middle[0], middle[1]).distance_m() < 6.0 + cell_m;
                let bare = if near {
                    bare_share(&road, middle, cell_m)
                } else {
                    1.0
                };
                landed += f64::from(grams) * cell_m * cell_m * bare;
            }
        }
        let thrown = 4000.0 * road.length_m;
        // Behind both ends the spray that would fall on the road's own line is on
        // ground here, which adds a little.
        assert!(
            (landed / thrown - 1.0).abs() < 0.01,
            "{cell_m} m: {landed} {thrown}"
        );
    }
}

fn bare_share(road: &Source, middle: [f64; 2], cell_m: f64) -> f64 {
    let steps = 40;
    let mut bare = 0;
    for row in 0..steps {
        for col in 0..steps {
            let part = |index: i32| ((f64::from(index) + 0.5) / f64::from(steps) - 0.5) * cell_m;
            let seen = road.seen_from(middle[0] + part(col), middle[1] + part(row));
            bare += i32::from(seen.distance_m() >= 6.0);
        }
    }
    f64::from(bare) / f64::from(steps * steps)
}

/// Cells hold means, not values at their centres: against the integral of the curve.
#[test]
fn cells_hold_means() {
    for (cell_m, cells) in [(5.0, 40), (10.0, 20), (30.0, 8)] {
        // The pavement ends on the border of a row.
        let road = piece([-4e3, 0.0], [4e3, 0.0], cell_m, [5000.0, 5000.0]);
        let field = SaltField::new(vec![road], cell_m, NEAR, Term { reach_m: 2e3, ..FAR }, RUNOFF);
        let spray = field.spray(whole(cells, 1));
        for row in 1..cells.min(12) {
            let (from, to) = (as_f64(row - 1) * cell_m, as_f64(row) * cell_m);
            let steps = 20_000;
            let step = (to - from) / f64::from(steps);
            let sum: f64 = (0..steps)
                .map(|index| curve(5000.0, from + (f64::from(index) + 0.5) * step))
                .sum();
            let mean = sum * step / cell_m;
            let found = f64::from(spray.row(row)[0]);
            assert!(
                (found / mean - 1.0).abs() < 0.005,
                "{cell_m} m, row {row}: {found} {mean}"
            );
        }
    }
}

/// Common practice, no source: salt injury is worse in the lee of the road, and
/// worst within 60 ft (18.3 m), as planting guides say.
#[test]
fn the_lee_gets_more_than_the_windward_side_and_60_ft_more_than_the_rest() {
    let road = piece([0.0, 400.0], [1000.0, 400.0], 5.0, [650.0, 350.0]);
    let spray = field(vec![road], 5.0).spray(whole(160, 200));
    let at = |row: usize| spray.row(row)[100];
    for off in [3, 10, 25] {
        // Positive across is south of a road that runs east.
        assert!(at(80 + off) > 1.5 * at(79 - off), "{off}");
    }
    let near: f32 = (81..85).map(at).sum();
    let beyond: f32 = (85..160).map(at).sum();
    assert!(near > beyond, "{near} {beyond}");
}

#[test]
fn hollows_get_more_runoff_and_banks_none() {
    let road = piece([0.0, 100.0], [200.0, 100.0], 5.0, [0.0, 0.0]);
    let field = field(vec![road], 5.0);
    let window = whole(40, 40);
    let margin = 8;
    // The pavement lies at 10 m, the ground south of it 1 m lower, north 1 m higher.
    let mut heights = Raster::filled(whole(40 + 2 * margin, 40 + 2 * margin), 10.0f32);
    for row in 0..heights.rows() {
        let value = match row {
            south if south > margin + 20 => 9.0,
            north if north < margin + 19 => 11.0,
            _ => 10.0,
        };
        heights.row_mut(row).fill(value);
    }
    let heights = Heights {
        raster: &heights,
        window,
        margin,
        cell_m: 5.0,
        metres_per_unit: 1.0,
        rule: super::super::grade::GradeRule {
            above_m: 0.3,
            hollow_m: 1.0,
            hollow_factor: 2.0,
        },
    };
    let (flat, graded) = (field.runoff(window, None), field.runoff(window, Some(&heights)));
    let at = |runoff: &Runoff, row: usize| runoff.salt_g_m2.row(row)[20];
    assert!((at(&flat, 22) - at(&flat, 17)).abs() < 1e-3 * at(&flat, 22));
    assert!((at(&graded, 22) / at(&flat, 22) - 2.0).abs() < 1e-3);
    assert_eq!(at(&graded, 17), 0.0);
    assert!((graded.water_mm.row(22)[20] / at(&graded, 22) - 0.5).abs() < 1e-3);
}

#[test]
fn beyond_the_reach_there_is_nothing() {
    let road = piece([0.0, 10.0], [100.0, 10.0], 5.0, [500.0, 500.0]);
    let short = Term { reach_m: 50.0, ..FAR };
    let spray = SaltField::new(vec![road], 5.0, NEAR, short, RUNOFF).spray(whole(40, 4));
    assert!(spray.row(10)[0] > 0.0);
    assert_eq!(spray.row(16)[0], 0.0);
    assert_eq!(field(Vec::new(), 5.0).spray(whole(3, 3)).values(), [0.0; 9]);
}
