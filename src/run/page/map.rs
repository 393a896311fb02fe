//! What is drawn on the page: zones, what lies beside them, and what lies behind them.

use super::PageParts;
use crate::error::Error;
use crate::grid::Grid;
use crate::report::{CausesData, Course, Heights, LineData, MapData, ReliefData, relief};
use crate::run::not_rated_picture::NotRatedPicture;
use crate::run::prepared::sections;
use crate::site::{Backdrop, BackdropLines, BackdropWanted, LineKind};
use crate::zones::outlines::Corner;

/// Coarse cells of the relief along the longer side.
const RELIEF_CELLS: usize = 1_000;

/// Lines are thinned to so many steps along the longer side of the site, where these are
/// wider than half a cell.
const LINE_STEPS: f64 = 4_000.0;

/// Parts of a cell in which lines are counted.
const LINE_PARTS: f64 = 10.0;

/// The map of a run.
///
/// # Errors
/// A layer behind the map can no longer be read.
pub fn map(parts: &PageParts) -> Result<MapData, Error> {
    let grid = parts.prepared.site.grid();
    let extent = grid.extent();
    let side_m = (extent.east - extent.west).max(extent.north - extent.south);
    let wanted = BackdropWanted {
        tolerance_m: (side_m / LINE_STEPS).max(grid.cell_m() / 2.0),
        most_cells: RELIEF_CELLS,
    };
    let backdrop = Backdrop::read(sections(parts.prepared.project), grid, &wanted)?;
    let borders = &parts.for_page.borders;
    Ok(MapData {
        borders: borders.courses.iter().map(|course| corners(course)).collect(),
        rings: borders.zones.clone(),
        lines: backdrop
            .lines
            .iter()
            .map(|lines| line_data(lines, grid))
            .collect(),
        relief: backdrop.heights.map(|heights| {
            let (rows, cols) = (heights.rows * heights.cell, heights.cols * heights.cell);
            ReliefData {
                picture: relief(&Heights {
                    rows: heights.rows,
                    cols: heights.cols,
                    cell_m: grid.cell_m() * whole(heights.cell),
                    values: heights.metres,
                }),
                cols: whole(cols),
                rows: whole(rows),
            }
        }),
        not_rated: parts.not_rated.map(causes),
    })
}

#[expect(clippy::cast_precision_loss, reason = "cells along the side of a grid")]
fn whole(cells: usize) -> f64 {
    cells as f64
}

fn corners(course: &[Corner]) -> Course {
    let whole = |number: u32| i32::try_from(number).unwrap_or(i32::MAX);
    let points = course.iter().map(|corner| (whole(corner.col), whole(corner.row)));
    Course(points.collect())
}

fn line_data(lines: &BackdropLines, grid: &Grid) -> LineData {
    let extent = grid.extent();
    #[expect(
        clippy::cast_possible_truncation,
        reason = "lines are cut to what lies near the grid, and a float cast saturates"
    )]
    let part = |metres: f64| (metres / grid.cell_m() * LINE_PARTS).round() as i32;
    let course = |line: &Vec<(f64, f64)>| {
        let points = line.iter();
        Course(
            points
                .map(|&(x, y)| (part(x - extent.west), part(extent.north - y)))
                .collect(),
        )
    };
    LineData {
        kind: match lines.kind {
            LineKind::Boundary => "boundary",
            LineKind::Road => "road",
            LineKind::KeepOut => "keep-out",
            LineKind::DistanceFrom => "line",
        },
        name: lines.name.clone(),
        courses: lines.lines.iter().map(course).collect(),
    }
}

fn causes(picture: &NotRatedPicture) -> CausesData {
    let length = |run: &[u8]| u32::try_from(run.len()).unwrap_or(u32::MAX);
    let runs = picture.values.chunk_by(|one, next| one == next);
    CausesData {
        cell: picture.cell,
        cols: picture.cols,
        rows: picture.rows,
        causes: picture.causes.clone(),
        runs: runs.flat_map(|run| [u32::from(run[0]), length(run)]).collect(),
    }
}
