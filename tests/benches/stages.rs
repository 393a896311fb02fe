//! Times the stages between the layers and the files, each by itself, on invented
//! ground in memory: rating, vote, regions, both phases of merging, outlines,
//! distance, road salt, the shape of the ground, the sun; beside them a plain copy, which nothing can beat.
//!
//!     cargo bench --bench stages            all of them
//!     cargo bench --bench stages -- rating  those with the word in their names

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a bench tells its numbers and ends at the first fault"
)]

mod ground;
mod shape;
mod survey;
mod timing;

use std::convert::Infallible;

use ground::as_f64;
use groundfit::grid::{Raster, Window};
use groundfit::rating::{AsRated, CellRater, RatedRow};
use groundfit::site::distance::DistanceIndex;
use groundfit::site::salt::{SaltField, decay::Decay};
use groundfit::zones::outlines::OutlineBuilder;
use groundfit::zones::{
    CellLayout, GroundShape, ListingRules, MergeRules, PhaseOne, Regions, RegionsBuilder, RunRows, Share,
    TileCounts, VoteRow, Voter, ZoneCounts, absorb, merge_zones, tell_runs,
};
use rayon::prelude::*;
use timing::Timing;

/// Cells of 0.1 ha.
const SMALLEST_CELLS: u64 = 40;
const SPECIES: [usize; 3] = [24, 60, 256];
const NOISES: [f64; 2] = [0.0, 5.0];
const REACH_M: f64 = 121.0;

fn main() {
    let timing = Timing::from_command_line();
    let side = if timing.is_trial() { 128 } else { 1024 };
    println!("{side} x {side} cells, median of some runs and half their spread");
    copy(&timing, side);
    for species in SPECIES {
        rating(&timing, side, species);
    }
    for noise in NOISES {
        zones(&timing, side, noise);
    }
    distance(&timing, side);
    road_salt(&timing, side);
    shape::terrain(&timing, side);
    shape::sun(&timing, side);
    survey::soil_survey(&timing);
}

/// Two words a cell from one place in memory to another.
fn copy(timing: &Timing, side: usize) {
    let from = vec![1u64; 2 * side * side];
    let bytes = as_f64(8 * from.len());
    let ready = || vec![0u64; from.len()];
    timing.time("plain copy", bytes, "bytes", ready, |mut to| {
        to.copy_from_slice(&from);
        to
    });
}

fn rating(timing: &Timing, side: usize, species: usize) {
    let questions = ground::questions(species);
    let rater = CellRater::new(&questions, ground::settings()).unwrap();
    let values = ground::values(side, 5.0);
    let cells = as_f64(side * side);
    let name = format!("rating, {species} species");
    timing.time(
        &name,
        cells * as_f64(species),
        "cells x species",
        || (),
        |()| rated_rows(&rater, &values, side),
    );
    let name = format!("rating whole, {species} species");
    timing.time(
        &name,
        cells * as_f64(species),
        "cells x species",
        AsRated::default,
        |mut row| {
            for at in 0..side {
                rater.rate_whole(&row_of(&values, at), side, &mut row);
            }
            row
        },
    );
}

fn rated_rows(rater: &CellRater, values: &[Raster<f32>], side: usize) -> Vec<RatedRow> {
    let rows = (0..side).into_par_iter();
    let rate = |row| {
        let mut rated = RatedRow::new(rater.words());
        rater.rate_cells(&row_of(values, row), side, &mut rated);
        rated
    };
    rows.map(rate).collect()
}

fn row_of(values: &[Raster<f32>], row: usize) -> Vec<&[f32]> {
    values.iter().map(|raster| raster.row(row)).collect()
}

/// Vote, regions, merging and outlines, each on what the one before made.
fn zones(timing: &Timing, side: usize, noise: f64) {
    let (species, cells) = (60, as_f64(side * side));
    let layout = CellLayout::new(species);
    let questions = ground::questions(species);
    let rater = CellRater::new(&questions, ground::settings()).unwrap();
    let values = ground::values(side, noise);
    let rated = rated_rows(&rater, &values, side);
    let mut voter = Voter::new(layout, side, 0);
    let voting = rated.iter().map(|rated| {
        let mut row = voter.room_for_row();
        row.fill(rated, false);
        row
    });
    let voting: Vec<VoteRow> = voting.collect();

    let name = |stage: &str| format!("{stage}, noise {noise}");
    let vote = |rows: Vec<VoteRow>| {
        let mut voter = Voter::new(layout, side, 2);
        let mut voted = voter.push_rows(rows);
        voted.extend(voter.finish());
        voted
    };
    timing.time(&name("vote, two passes"), cells, "cells", || voting.clone(), vote);
    let voted: Vec<(VoteRow, RatedRow)> = vote(voting).into_iter().zip(rated).collect();

    timing.time(
        &name("regions"),
        cells,
        "cells",
        || (),
        |()| regions_of(layout, side, &voted),
    );
    let regions = regions_of(layout, side, &voted);
    let many = as_f64(regions.len());
    timing.time(
        &name("merging, phase 1"),
        many,
        "regions",
        || (),
        |()| absorb(&regions, SMALLEST_CELLS),
    );
    let phase_one = absorb(&regions, SMALLEST_CELLS);
    let rows = regions.rows.relabelled(&phase_one.zone_of_region);

    timing.time(
        &name("counting"),
        cells,
        "cells",
        || (),
        |()| counts_of(&rater, &rows, &phase_one, &values),
    );
    let tallies = counts_of(&rater, &rows, &phase_one, &values).tallies;
    let rules = MergeRules {
        listing: ListingRules::default(),
        keep: Share::new(0.6).unwrap(),
    };
    let many = as_f64(phase_one.len());
    timing.time(
        &name("merging, phase 2"),
        many,
        "zones",
        || (),
        |()| merge_zones(&phase_one, phase_one.borders.clone(), &tallies, &rules).unwrap(),
    );
    timing.time(
        &name("outlines"),
        many,
        "zones",
        || (),
        |()| outlines(side, &rows),
    );
}

fn regions_of(layout: CellLayout, side: usize, rows: &[(VoteRow, RatedRow)]) -> Regions {
    let mut builder = RegionsBuilder::new(layout, side, side).unwrap();
    builder
        .push_rows(rows, |(voted, rated), runs| tell_runs(voted, rated, runs))
        .unwrap();
    builder.finish().unwrap()
}

fn counts_of(rater: &CellRater, rows: &RunRows, phase_one: &PhaseOne, values: &[Raster<f32>]) -> ZoneCounts {
    let numbers = rater.ground_counts();
    let shape = GroundShape {
        measured: vec![false, true, true, false, true],
        questions: numbers.len(),
        species: 60,
    };
    let mut counts = ZoneCounts::new(&shape, phase_one.len());
    let mut tile = TileCounts::new(&shape, &numbers);
    let mut cells = AsRated::default();
    for row in 0..rows.rows() {
        let values = row_of(values, row);
        rater.rate_whole(&values, rows.cols() as usize, &mut cells);
        let mut counted = tile.row(&cells, &values);
        let mut from = 0;
        for &(end, zone) in rows.row(row) {
            let to = end as usize;
            if zone > 0 {
                counted.add_run(zone, 0, from..to);
            }
            from = to;
        }
    }
    for zone in tile.finish() {
        counts.add(&zone);
    }
    counts
}

/// Arcs, simplified, on the map and in degrees of a plane that is near enough.
fn outlines(side: usize, rows: &RunRows) -> usize {
    let grid = ground::grid(side);
    let size = u32::try_from(side).unwrap();
    let mut builder = OutlineBuilder::new(size, size);
    for row in 0..rows.rows() {
        builder.push_row(rows.row(row)).unwrap();
    }
    let arcs = builder.finish().unwrap();
    let simplified = arcs.simplified(&grid, grid.cell_m());
    let to_degrees = |points: &mut [(f64, f64)]| -> Result<(), Infallible> {
        for (x, y) in points {
            (*x, *y) = ((*x - 500_000.0) / 78_850.0 - 93.0, *y / 111_320.0);
        }
        Ok(())
    };
    let geographic = simplified.geographic(&grid, &|| Ok(to_degrees)).unwrap();
    simplified.outlines(&grid).len() + geographic.arcs()
}

fn distance(timing: &Timing, side: usize) {
    let grid = ground::grid(side);
    let cells = as_f64(side * side);
    for roads in [2, 13, 130] {
        let features = ground::winding_roads(side, roads);
        let index = DistanceIndex::new(&grid, &features, REACH_M).unwrap();
        let window = Window {
            row: 0,
            col: 0,
            rows: side,
            cols: side,
        };
        let name = format!("distance, {roads} roads, one thread");
        timing.time(&name, cells, "cells", || (), |()| index.distances(window));
    }
}

/// Spray in cells of which some, most and all lie within reach of a road.
fn road_salt(timing: &Timing, side: usize) {
    let grid = ground::grid(side);
    let cells = as_f64(side * side);
    let decay = Decay {
        near_share: 0.75,
        near_per_m: 0.3,
        far_per_m: 0.04,
    };
    for roads in [2, 13, 130] {
        let features = ground::winding_roads(side, roads);
        let field = SaltField::of_lines(&grid, &features, 12.0, 8_000.0, &decay, 130.0);
        let window = Window {
            row: 0,
            col: 0,
            rows: side,
            cols: side,
        };
        let reached = field.spray(window);
        let reached = reached.values().iter().filter(|&&grams| grams > 0.0).count();
        let name = format!(
            "salt spray, {roads} roads, {:.0} % in reach",
            as_f64(reached) / cells * 100.0
        );
        timing.time(&name, cells, "cells", || (), |()| field.spray(window));
    }
}
