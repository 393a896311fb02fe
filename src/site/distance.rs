//! How far each cell lies from the features of a layer. In come geometries in the
//! grid's CRS, once; out go, window by window, distances or a mask of what lies
//! within a width of them. It does not know what the features are.
//!
//! No index is asked for each cell: squares of 256, 64 and 16 cells, fixed to the
//! grid, pass on only those segments that can be nearest somewhere in them, and
//! the last ones are tried on rows of 16 cells at once. As the squares are fixed,
//! the window asked for changes nothing.

use geo::Geometry;
use pulp::Arch;
use rstar::{PointDistance, RTree};

use super::GeometryError;
use super::burn::PolygonIndex;
use super::segments::{Candidate, LANES, Parts, Segment};
use crate::grid::{Grid, Raster, Window};

/// Sides of the squares, in cells, from the coarsest to the finest.
const SQUARE_CELLS: [usize; 3] = [256, 64, LANES];

/// The features of a layer, filed for distances from cell centres.
#[derive(Debug)]
pub struct DistanceIndex {
    /// Segments in metres east and south of the grid's corner, each with the
    /// position of its feature. A point is a segment of no length.
    segments: RTree<Segment>,
    /// Insides, where the distance is 0.
    polygons: Option<PolygonIndex>,
    features: usize,
    cell_m: f64,
    reach_m: f64,
}

impl DistanceIndex {
    /// The index of a layer's features in the grid's CRS, for distances up to a
    /// reach.
    ///
    /// # Errors
    /// A reach that is no length, coordinates that are not finite, too many
    /// polygons.
    pub fn new<'f>(
        grid: &Grid,
        features: impl IntoIterator<Item = &'f Geometry<f64>>,
        reach_m: f64,
    ) -> Result<DistanceIndex, GeometryError> {
        if reach_m.is_nan() || reach_m < 0.0 {
            return Err(GeometryError::Reach { reach_m });
        }
        let mut parts = Parts::on(grid);
        let mut count = 0;
        let mut not_finite = Vec::new();
        for (feature, geometry) in features.into_iter().enumerate() {
            count += 1;
            let first = parts.segments.len();
            parts.add(geometry, feature);
            let finite = parts.segments[first..].iter().all(|segment| {
                let line = segment.geom();
                line.from.iter().chain(&line.to).all(|number| number.is_finite())
            });
            if !finite {
                not_finite.push(feature);
            }
        }
        if !not_finite.is_empty() {
            return Err(GeometryError::NotFinite { features: not_finite });
        }
        Ok(DistanceIndex {
            segments: RTree::bulk_load(parts.segments),
            polygons: match parts.polygons {
                none if none.is_empty() => None,
                some => Some(PolygonIndex::of(some.iter().map(Option::as_ref).collect())?),
            },
            features: count,
            cell_m: grid.cell_m(),
            reach_m,
        })
    }

    /// The distance of each cell's centre from the nearest feature.
    ///
    /// # Units
    /// Metres; 0 inside polygons, infinite beyond the reach and where there are no
    /// features.
    ///
    /// # Missing
    /// Never: beyond the reach is known.
    #[must_use]
    pub fn distances(&self, window: Window) -> Raster<f32> {
        let mut distances = Raster::filled(window, f32::INFINITY);
        let reach2 = self.reach_m * self.reach_m;
        self.descend(window, &Search::Nearest, |row, col, least| {
            let line = &mut distances.row_mut(row)[col..col + least.len()];
            for (distance, &least) in line.iter_mut().zip(least) {
                if least <= reach2 {
                    *distance = as_f32(least.sqrt());
                }
            }
        });
        self.inside(window, &mut distances, 0.0);
        distances
    }

    /// 1 where the centre lies within a feature's half width and the setback of that
    /// feature's line, point or polygon, else 0. The reach plays no part.
    ///
    /// # Units
    /// Metres; one half width for each feature, in their order.
    ///
    /// # Missing
    /// Never.
    ///
    /// # Errors
    /// Not one half width for each feature, or one that with the setback is no
    /// finite length of 0 or more.
    pub fn within(
        &self,
        window: Window,
        half_widths_m: &[f64],
        setback_m: f64,
    ) -> Result<Raster<u8>, GeometryError> {
        if half_widths_m.len() != self.features {
            return Err(GeometryError::HalfWidths {
                features: self.features,
                found: half_widths_m.len(),
            });
        }
        let widths_m: Vec<f64> = half_widths_m.iter().map(|half| half + setback_m).collect();
        let wrong: Vec<usize> = (0..widths_m.len())
            .filter(|&feature| !(widths_m[feature].is_finite() && widths_m[feature] >= 0.0))
            .collect();
        if !wrong.is_empty() {
            return Err(GeometryError::HalfWidth { features: wrong });
        }
        let mut within = Raster::filled(window, 0);
        let widest_m = widths_m.iter().copied().fold(0.0, f64::max);
        let search = Search::Within {
            widths_m: &widths_m,
            widest_m,
        };
        self.descend(window, &search, |row, col, least| {
            let line = &mut within.row_mut(row)[col..col + least.len()];
            for (mark, &least) in line.iter_mut().zip(least) {
                if least <= 0.0 {
                    *mark = 1;
                }
            }
        });
        self.inside(window, &mut within, 1);
        Ok(within)
    }

    /// Writes a value wherever the centre lies in a polygon.
    fn inside<T: crate::grid::Cell>(&self, window: Window, raster: &mut Raster<T>, value: T) {
        let Some(polygons) = &self.polygons else {
            return;
        };
        let covered = polygons.covers(window);
        for (cell, &covered) in raster.values_mut().iter_mut().zip(covered.values()) {
            if covered == 1 {
                *cell = value;
            }
        }
    }

    /// Calls `each` with the least score of some cells of one row of a window, many
    /// times: row and first column from the window's corner. A score is the squared
    /// distance from a segment less the square of what counts as touching it. Cells
    /// no segment can matter to are left out.
    fn descend(&self, window: Window, search: &Search, mut each: impl FnMut(usize, usize, &[f64])) {
        let [coarse, middle, fine] = SQUARE_CELLS;
        for square in squares(window, coarse) {
            let found = self.found_near(&square, search);
            for square in squares(square.part, middle) {
                let found = square.keep(&found, self.cell_m, search);
                for square in squares(square.part, fine) {
                    let found = square.keep(&found, self.cell_m, search);
                    if !found.is_empty() {
                        self.score_rows(&square, &found, window, &mut each);
                    }
                }
            }
        }
    }

    /// What the index holds for one of the coarsest squares.
    fn found_near(&self, square: &Square, search: &Search) -> Vec<Candidate> {
        let centre = square.centre(self.cell_m);
        let half_diagonal = square.half_diagonal(self.cell_m);
        let farthest = half_diagonal
            + match search {
                Search::Within { widest_m, .. } => *widest_m,
                Search::Nearest => {
                    let Some(nearest) = self.segments.nearest_neighbor(&centre) else {
                        return Vec::new();
                    };
                    // A hair more, as the square of the root may miss what gave it.
                    let nearest = nearest.distance_2(&centre).sqrt() * (1.0 + 1e-12);
                    (nearest + half_diagonal).min(self.reach_m)
                }
            };
        self.segments
            .locate_within_distance(centre, farthest * farthest)
            .map(|segment| {
                let width_m = match search {
                    Search::Within { widths_m, .. } => Some(widths_m[segment.data]),
                    Search::Nearest => None,
                };
                Candidate::new(segment.geom(), self.reach_m, width_m)
            })
            .collect()
    }

    /// Scores of a finest square's cells, row by row.
    fn score_rows(
        &self,
        square: &Square,
        found: &[Candidate],
        window: Window,
        each: &mut impl FnMut(usize, usize, &[f64]),
    ) {
        let part = square.part;
        let xs: [f64; LANES] = std::array::from_fn(|lane| centre_m(square.col + lane, self.cell_m));
        let lanes = part.col - square.col..part.col_end() - square.col;
        for row in part.row..part.row_end() {
            let mut least = [f64::INFINITY; LANES];
            let y = centre_m(row, self.cell_m);
            Arch::new().dispatch(|| {
                for candidate in found {
                    candidate.score_row(&xs, y, &mut least);
                }
            });
            each(row - window.row, part.col - window.col, &least[lanes.clone()]);
        }
    }
}

/// What is asked of the features.
enum Search<'a> {
    /// The nearest of all.
    Nearest,
    /// Any that is nearer than its own width.
    Within { widths_m: &'a [f64], widest_m: f64 },
}

/// A square of cells fixed to the grid, and the part of it that is asked for.
struct Square {
    row: usize,
    col: usize,
    side: usize,
    part: Window,
}

/// The fixed squares that a window meets.
fn squares(window: Window, side: usize) -> impl Iterator<Item = Square> {
    let starts = move |from: usize, to: usize| (from - from % side..to).step_by(side);
    starts(window.row, window.row_end()).flat_map(move |row| {
        starts(window.col, window.col_end()).map(move |col| {
            let (part_row, part_col) = (row.max(window.row), col.max(window.col));
            Square {
                row,
                col,
                side,
                part: Window {
                    row: part_row,
                    col: part_col,
                    rows: window.row_end().min(row + side) - part_row,
                    cols: window.col_end().min(col + side) - part_col,
                },
            }
        })
    })
}

impl Square {
    fn centre(&self, cell_m: f64) -> [f64; 2] {
        let half = cells_m(self.side, cell_m) / 2.0;
        [cells_m(self.col, cell_m) + half, cells_m(self.row, cell_m) + half]
    }

    /// From the centre to a corner: farther than any cell's centre by most of a
    /// cell, which is more than rounding can make up.
    fn half_diagonal(&self, cell_m: f64) -> f64 {
        cells_m(self.side, cell_m) / 2.0 * std::f64::consts::SQRT_2
    }

    /// The candidates that can matter to a cell of the square. With the nearest to
    /// the square's centre at n and the half diagonal h, no cell is farther than
    /// n + h from it, so none beyond n + 2h from the centre is nearest to any.
    fn keep(&self, candidates: &[Candidate], cell_m: f64, search: &Search) -> Vec<Candidate> {
        let centre = self.centre(cell_m);
        let half_diagonal = self.half_diagonal(cell_m);
        let distances: Vec<f64> = candidates
            .iter()
            .map(|candidate| candidate.distance2(centre[0], centre[1]).sqrt())
            .collect();
        let farthest = match search {
            Search::Nearest => distances.iter().copied().fold(f64::INFINITY, f64::min) + 2.0 * half_diagonal,
            Search::Within { .. } => f64::INFINITY,
        };
        candidates
            .iter()
            .zip(&distances)
            .filter(|&(candidate, &distance)| {
                distance <= farthest && distance <= candidate.matters_m + half_diagonal
            })
            .map(|(candidate, _)| *candidate)
            .collect()
    }
}

/// Metres from the grid's edge to the centre of a row or column.
#[expect(clippy::cast_precision_loss, reason = "rows and columns stay below 1,000,000")]
fn centre_m(index: usize, cell_m: f64) -> f64 {
    (index as f64 + 0.5) * cell_m
}

/// The length of so many cells.
#[expect(clippy::cast_precision_loss, reason = "rows and columns stay below 1,000,000")]
fn cells_m(cells: usize, cell_m: f64) -> f64 {
    cells as f64 * cell_m
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "rounding to the nearest f32 is meant"
)]
fn as_f32(value: f64) -> f32 {
    value as f32
}

#[cfg(test)]
#[path = "distance_tests.rs"]
mod tests;
