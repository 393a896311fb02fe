//! The salt that lands in cells: pieces of road within reach, one polynomial each.
//! In come pieces of road and decays; out go grams, window by window.
//!
//! No index is asked for a cell: squares of 32 cells, fixed to the grid, find the
//! pieces that matter to them. What a piece lays down is cut to a billionth of a
//! gram and added up in whole numbers, so no order and no cutting changes anything.

use geo::{Coord, Geometry};
use rstar::RTree;
use rstar::primitives::{GeomWithData, Line};

use super::decay::Decay;
use super::grade::Heights;
use super::roads::lines_of;
use super::share_table::ShareTable;
use super::source::{Seen, Source, Term};
use crate::grid::{Grid, Raster, Window};

/// Side of the squares, in cells.
const SQUARE_CELLS: usize = 32;
/// Side of the squares within them, for which pieces are sorted out again.
const SMALL_CELLS: usize = 8;
/// Fixed-point units in a gram.
const UNITS: f64 = 1_073_741_824.0;
/// Parts of a side of a cell that a pavement's edge cuts.
const CUT_PARTS: u32 = 6;
/// So many of them in a row and in a column may go together.
const TOGETHER: u32 = 3;
/// As long as over them a term falls by no more than this share: then the middle of the
/// ground among them is off by a thousandth or so.
const NEARLY_STRAIGHT: f64 = 0.25;

type Indexed = GeomWithData<Line<[f64; 2]>, usize>;

/// Salted roads, filed for cells.
#[derive(Debug)]
pub struct SaltField {
    sources: Vec<Source>,
    index: RTree<Indexed>,
    cell_m: f64,
    near: Term,
    far: Term,
    runoff: Term,
    widest_half_m: f64,
}

/// What runs off into the cells of a window.
#[derive(Debug, Clone, PartialEq)]
pub struct Runoff {
    /// Grams of salt on a square metre and winter; missing where heights are.
    pub salt_g_m2: Raster<f32>,
    /// Litres on a square metre and year, which is millimetres.
    pub water_mm: Raster<f32>,
}

/// What pieces of road make of one point: a number a metre of road and side.
type Mass = fn(&Source, &Seen) -> f64;

impl SaltField {
    pub(super) fn new(sources: Vec<Source>, cell_m: f64, near: Term, far: Term, runoff: Term) -> SaltField {
        let line = |source: &Source| {
            let [x, y] = source.from;
            let to = [
                x + source.along[0] * source.length_m,
                y + source.along[1] * source.length_m,
            ];
            Line::new(source.from, to)
        };
        let indexed = sources.iter().enumerate();
        let indexed = indexed.map(|(number, source)| GeomWithData::new(line(source), number));
        SaltField {
            index: RTree::bulk_load(indexed.collect()),
            widest_half_m: sources
                .iter()
                .map(|source| source.half_width_m)
                .fold(0.0, f64::max),
            sources,
            cell_m,
            near,
            far,
            runoff,
        }
    }

    /// The field of lines that are all alike, and of which both sides get the same;
    /// nothing runs off.
    ///
    /// # Units
    /// `thrown_g_m`: grams of sodium chloride that a metre throws to both sides together.
    #[must_use]
    pub fn of_lines(
        grid: &Grid,
        lines: &[Geometry<f64>],
        width_m: f64,
        thrown_g_m: f64,
        decay: &Decay,
        reach_m: f64,
    ) -> SaltField {
        let extent = grid.extent();
        let local = |point: &Coord<f64>| [point.x - extent.west, extent.north - point.y];
        let mut parts = Vec::new();
        for line in lines {
            lines_of(line, &mut parts);
        }
        let pairs = parts.iter().flat_map(|line| line.windows(2));
        let sources = pairs.filter_map(|pair| {
            let piece = Source::between(local(&pair[0]), local(&pair[1]), width_m / 2.0)?;
            Some(Source {
                spray_g_m: [thrown_g_m / 2.0; 2],
                ..piece
            })
        });
        let [near, far] = Term::of_decay(decay, reach_m);
        let none = Term { reach_m: 0.0, ..near };
        SaltField::new(sources.collect(), grid.cell_m(), near, far, none)
    }

    /// How far from the pavement's edge runoff counts.
    #[must_use]
    pub fn runoff_reach_m(&self) -> f64 {
        self.runoff.reach_m
    }

    /// Half the widest pavement.
    #[must_use]
    pub fn widest_half_m(&self) -> f64 {
        self.widest_half_m
    }

    /// The mean deposit of spray on the ground of each cell that is not pavement.
    ///
    /// # Units
    /// Grams of sodium chloride on a square metre and winter.
    ///
    /// # Missing
    /// Never: 0 beyond the reach.
    #[must_use]
    pub fn spray(&self, window: Window) -> Raster<f32> {
        let table = ShareTable::shared();
        let mut grams = Raster::filled(window, 0.0);
        self.each_square(window, self.near.reach_m.max(self.far.reach_m), |part, found| {
            for part in squares(part, SMALL_CELLS) {
                let far = self.those_within(part, found, self.far.reach_m);
                let near = self.those_within(part, &far, self.near.reach_m.max(2.0 * self.cell_m));
                for (row, col) in cells_of(part) {
                    let cell = self.cell(row, col, &near);
                    let mean =
                        |term, those: &[&Source]| cell.mean(table, term, those, &near, Source::side_g_m);
                    let sum = mean(&self.near, &near) + mean(&self.far, &far);
                    grams.row_mut(row - window.row)[col - window.col] = as_f32(sum);
                }
            }
        });
        grams
    }

    /// What runs off the pavement into each cell.
    ///
    /// # Missing
    /// Where the height of the ground or of the pavement is.
    #[must_use]
    pub fn runoff(&self, window: Window, heights: Option<&Heights>) -> Runoff {
        let table = ShareTable::shared();
        let mut runoff = Runoff {
            salt_g_m2: Raster::filled(window, 0.0),
            water_mm: Raster::filled(window, 0.0),
        };
        self.each_square(window, self.runoff.reach_m, |part, found| {
            for part in squares(part, SMALL_CELLS) {
                let found = &self.those_within(part, found, self.runoff.reach_m);
                for (row, col) in cells_of(part).filter(|_| !found.is_empty()) {
                    let cell = self.cell(row, col, found);
                    let mean = |mass: Mass| cell.mean(table, &self.runoff, found, found, mass);
                    let grams = mean(|source, _| source.runoff_g_m);
                    let litres = mean(|source, _| source.runoff_l_m);
                    if grams <= 0.0 && litres <= 0.0 {
                        continue;
                    }
                    let share = match (heights, cell.nearest(found)) {
                        (Some(heights), Some(pavement)) => {
                            heights.share_of_runoff([cell.x, cell.y], pavement)
                        }
                        _ => 1.0,
                    };
                    let (row, col) = (row - window.row, col - window.col);
                    runoff.salt_g_m2.row_mut(row)[col] = as_f32(grams * share);
                    runoff.water_mm.row_mut(row)[col] = as_f32(litres * share);
                }
            }
        });
        runoff
    }

    /// Calls `each` with the parts of a window and the pieces within reach of them.
    fn each_square(&self, window: Window, reach_m: f64, mut each: impl FnMut(Window, &[&Source])) {
        for part in squares(window, SQUARE_CELLS) {
            let found = self.found(part, reach_m);
            if !found.is_empty() {
                each(part, &found);
            }
        }
    }

    /// The pieces that reach the fixed square a part lies in, in their order.
    fn found(&self, part: Window, reach_m: f64) -> Vec<&Source> {
        let side_m = as_f64(SQUARE_CELLS) * self.cell_m;
        let middle = |index: usize| (as_f64(index / SQUARE_CELLS) + 0.5) * side_m;
        let farthest = reach_m + self.widest_half_m + side_m * std::f64::consts::FRAC_1_SQRT_2;
        let centre = [middle(part.col), middle(part.row)];
        let found = self.index.locate_within_distance(centre, farthest * farthest);
        let mut numbers: Vec<usize> = found.map(|line| line.data).collect();
        numbers.sort_unstable();
        numbers.into_iter().map(|number| &self.sources[number]).collect()
    }

    /// Those of some pieces that reach a part of a square.
    fn those_within<'s>(&self, part: Window, found: &[&'s Source], reach_m: f64) -> Vec<&'s Source> {
        let middle = |index: usize, count: usize| (as_f64(index) + as_f64(count) / 2.0) * self.cell_m;
        let (x, y) = (middle(part.col, part.cols), middle(part.row, part.rows));
        let half_diagonal = as_f64(part.cols).hypot(as_f64(part.rows)) / 2.0 * self.cell_m;
        let reaches = |source: &&&Source| {
            source.seen_from(x, y).distance_m() <= reach_m + source.half_width_m + half_diagonal
        };
        found.iter().filter(reaches).copied().collect()
    }

    /// A cell, and whether a pavement may cut it.
    fn cell(&self, row: usize, col: usize, near: &[&Source]) -> CellSquare {
        let middle = |index: usize| (as_f64(index) + 0.5) * self.cell_m;
        let mut cell = CellSquare {
            x: middle(col),
            y: middle(row),
            side_m: self.cell_m,
            cut: false,
        };
        let half_diagonal = self.cell_m * std::f64::consts::FRAC_1_SQRT_2;
        cell.cut = near.iter().any(|source| {
            source.seen_from(cell.x, cell.y).distance_m() < source.half_width_m + half_diagonal
        });
        cell
    }
}

/// A cell to be averaged over.
struct CellSquare {
    x: f64,
    y: f64,
    side_m: f64,
    /// A pavement's edge may run through it.
    cut: bool,
}

impl CellSquare {
    /// The mean of a term over the cell's ground beside the pavement; over all of it
    /// where it has none.
    fn mean(
        &self,
        table: &ShareTable,
        term: &Term,
        sources: &[&Source],
        pavements: &[&Source],
        mass: Mass,
    ) -> f64 {
        let at = |x: f64, y: f64| sum_at(table, term, sources, mass, x, y);
        let parts = term.parts_of_side(self.side_m);
        if !self.cut && parts == 1 {
            return as_grams(at(self.x, self.y)) * term.square_factor(self.side_m);
        }
        let parts = if self.cut { CUT_PARTS * parts } else { parts };
        let part_m = self.side_m / f64::from(parts);
        let middle = |index: u32| (f64::from(index) + 0.5) * part_m - self.side_m / 2.0;
        // Where the term is nearly straight over some parts, one place stands for them.
        let together = if self.cut && term.per_m * part_m * f64::from(TOGETHER) <= NEARLY_STRAIGHT {
            TOGETHER
        } else {
            1
        };
        let (mut sum, mut count) = (0i64, 0i64);
        for first_row in (0..parts).step_by(together as usize) {
            for first_col in (0..parts).step_by(together as usize) {
                let (mut x_sum, mut y_sum, mut beside) = (0.0, 0.0, 0u32);
                for row in first_row..first_row + together {
                    for col in first_col..first_col + together {
                        let (x, y) = (self.x + middle(col), self.y + middle(row));
                        if !(self.cut && is_pavement(pavements, x, y)) {
                            (x_sum, y_sum, beside) = (x_sum + x, y_sum + y, beside + 1);
                        }
                    }
                }
                if beside > 0 {
                    let many = f64::from(beside);
                    sum += at(x_sum / many, y_sum / many) * i64::from(beside);
                    count += i64::from(beside);
                }
            }
        }
        if count == 0 {
            return as_grams(at(self.x, self.y));
        }
        #[expect(clippy::cast_precision_loss, reason = "a mean")]
        let mean = as_grams(sum) / count as f64;
        mean * term.square_factor(part_m)
    }

    /// The nearest point of the road, from the grid's corner.
    fn nearest(&self, sources: &[&Source]) -> Option<[f64; 2]> {
        let mut nearest: Option<(f64, [f64; 2])> = None;
        for source in sources {
            let seen = source.seen_from(self.x, self.y);
            let distance = seen.distance_m() - source.half_width_m;
            if nearest.is_none_or(|(least, _)| distance < least) {
                let along = seen.nearest_along_m(source.length_m);
                let [x, y] = source.from;
                nearest = Some((
                    distance,
                    [x + source.along[0] * along, y + source.along[1] * along],
                ));
            }
        }
        nearest.map(|(_, point)| point)
    }
}

/// The sum over pieces at a point, in fixed point.
#[expect(
    clippy::cast_possible_truncation,
    reason = "up to a million grams stay far below the limit"
)]
fn sum_at(table: &ShareTable, term: &Term, sources: &[&Source], mass: Mass, x: f64, y: f64) -> i64 {
    let one = |source: &&Source| {
        let seen = source.seen_from(x, y);
        (term.at(table, &seen) * mass(source, &seen) * UNITS) as i64
    };
    sources.iter().map(one).sum()
}

fn is_pavement(sources: &[&Source], x: f64, y: f64) -> bool {
    let half2 = |source: &Source| source.half_width_m * source.half_width_m;
    let holds = |source: &&Source| source.seen_from(x, y).distance2() < half2(source);
    sources.iter().any(holds)
}

/// The parts of a window that lie in one fixed square of a size each.
fn squares(window: Window, side: usize) -> impl Iterator<Item = Window> {
    let starts = move |from: usize, to: usize| (from - from % side..to).step_by(side);
    starts(window.row, window.row_end()).flat_map(move |row| {
        starts(window.col, window.col_end()).map(move |col| {
            let (first_row, first_col) = (row.max(window.row), col.max(window.col));
            Window {
                row: first_row,
                col: first_col,
                rows: window.row_end().min(row + side) - first_row,
                cols: window.col_end().min(col + side) - first_col,
            }
        })
    })
}

fn cells_of(part: Window) -> impl Iterator<Item = (usize, usize)> {
    (part.row..part.row_end()).flat_map(move |row| (part.col..part.col_end()).map(move |col| (row, col)))
}

#[expect(clippy::cast_precision_loss, reason = "sums stay below 2^53 units")]
fn as_grams(units: i64) -> f64 {
    units as f64 / UNITS
}

#[expect(clippy::cast_precision_loss, reason = "rows and columns stay below 1,000,000")]
fn as_f64(count: usize) -> f64 {
    count as f64
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "values are held in single precision"
)]
fn as_f32(value: f64) -> f32 {
    value as f32
}

#[cfg(test)]
#[path = "field_tests.rs"]
mod tests;
