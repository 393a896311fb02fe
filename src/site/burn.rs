//! Which polygon owns which cell. In come the polygons of a layer in the grid's
//! CRS, once; out go, window by window, the number of the owner of each cell or
//! a mask of what is covered. It does not know what the polygons stand for.
//!
//! A polygon owns a cell when it holds its centre. A centre on a shared edge goes
//! to exactly one: to the polygon in the east, or in the south where the edge
//! runs level. Everything is worked out in cells from the grid's corner, so the
//! window asked for changes nothing.

use std::collections::BTreeMap;
use std::ops::Range;

use geo::MultiPolygon;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use super::GeometryError;
use crate::grid::{Cell, Grid, Raster, Window};

/// Stands in a raster of owners where the centre lies in two or more polygons.
pub const OVERLAP: u32 = u32::MAX - 1;

/// Edges are filed by bands of so many rows.
const BAND_ROWS: usize = 64;

/// Vertices are rounded to this fraction of a cell, crossings to a coarser one.
/// A border that one neighbour draws in two pieces and the other in one then
/// still crosses a row at one place, where it runs through a centre.
const VERTEX_STEPS: f64 = 67_108_864.0;
const CROSSING_STEPS: f64 = 4_194_304.0;

/// The polygons of a layer, filed so that a window looks only at edges that cross
/// its rows.
#[derive(Debug)]
pub struct PolygonIndex {
    /// Ring after ring, column before row, in cells from the grid's corner.
    vertices: Vec<[f64; 2]>,
    /// Polygon after polygon, each sorted by band.
    edges: Vec<FiledEdge>,
    filed: Vec<Filed>,
    boxes: RTree<GeomWithData<Rectangle<[f64; 2]>, u32>>,
    rows: usize,
}

/// Where the parts of one polygon lie in the index.
#[derive(Debug)]
struct Filed {
    first_vertex: usize,
    edges: Range<usize>,
}

/// An edge of a polygon, once for each band of rows in which it crosses one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct FiledEdge {
    band: u32,
    /// Counted from the polygon's first vertex; the edge runs to the next one.
    vertex: u32,
}

/// A polygon's border passes just west of a column's centre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Crossing {
    row: u32,
    col: u32,
    polygon: u32,
}

/// The owners of a window's cells.
#[derive(Debug, Clone, PartialEq)]
pub struct Owners {
    /// The position of the owning polygon, [`OVERLAP`] where there are several.
    ///
    /// # Missing
    /// No polygon holds the centre.
    pub polygons: Raster<u32>,
    /// Which polygons overlap, on how many cells of the window.
    pub overlaps: Overlaps,
}

/// Which polygons overlap, on how many cells.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Overlaps {
    cells_of: BTreeMap<Vec<u32>, u64>,
}

impl Overlaps {
    /// Each set of polygons that share cells, lowest numbers first, with the number
    /// of cells that lie in all of them and in no other. A cell counts once.
    pub fn sets(&self) -> impl Iterator<Item = (&[u32], u64)> {
        self.cells_of
            .iter()
            .map(|(polygons, &cells)| (polygons.as_slice(), cells))
    }

    /// Number of cells that lie in more than one polygon.
    #[must_use]
    pub fn cells(&self) -> u64 {
        self.cells_of.values().sum()
    }

    /// Counts those of another window in.
    pub fn add(&mut self, other: &Overlaps) {
        for (polygons, cells) in &other.cells_of {
            *self.cells_of.entry(polygons.clone()).or_default() += cells;
        }
    }
}

impl PolygonIndex {
    /// The index of a layer's polygons in the grid's CRS; their positions become
    /// the numbers in [`Owners`].
    ///
    /// Within one polygon the even-odd rule holds, so holes need no mark.
    ///
    /// # Errors
    /// Coordinates that are not finite, more polygons or vertices than can be
    /// numbered.
    pub fn new(grid: &Grid, polygons: Vec<MultiPolygon<f64>>) -> Result<PolygonIndex, GeometryError> {
        let most = OVERLAP as usize;
        if polygons.len() > most {
            return Err(too_many("polygons", polygons.len(), most));
        }
        let mut index = PolygonIndex {
            vertices: Vec::new(),
            edges: Vec::new(),
            filed: Vec::with_capacity(polygons.len()),
            boxes: RTree::new(),
            rows: grid.rows(),
        };
        let mut boxes = Vec::new();
        let mut not_finite = Vec::new();
        for (number, polygon) in polygons.into_iter().enumerate() {
            let first_vertex = index.vertices.len();
            let ring_ends = index.add_vertices(grid, &polygon);
            let vertices = &index.vertices[first_vertex..];
            if !vertices.iter().flatten().all(|number| number.is_finite()) {
                not_finite.push(number);
                index.vertices.truncate(first_vertex);
                continue;
            }
            if u32::try_from(vertices.len()).is_err() {
                return Err(too_many(
                    "vertices of one polygon",
                    vertices.len(),
                    u32::MAX as usize,
                ));
            }
            let first_edge = index.edges.len();
            index.file_edges(first_vertex, &ring_ends);
            let edges = first_edge..index.edges.len();
            if !edges.is_empty() {
                let around = AABB::from_points(&index.vertices[first_vertex..]);
                let corners = Rectangle::from_corners(around.lower(), around.upper());
                boxes.push(GeomWithData::new(corners, index_u32(number)));
            }
            index.filed.push(Filed { first_vertex, edges });
        }
        if !not_finite.is_empty() {
            return Err(GeometryError::NotFinite { features: not_finite });
        }
        index.vertices.shrink_to_fit();
        index.edges.shrink_to_fit();
        index.boxes = RTree::bulk_load(boxes);
        Ok(index)
    }

    /// The owner of each cell of a window.
    #[must_use]
    pub fn owners(&self, window: Window) -> Owners {
        let mut polygons = Raster::filled(window, u32::MISSING);
        let mut overlaps = Overlaps::default();
        self.runs(window, |row, cols, holders| {
            let owner = match holders {
                [owner] => *owner,
                several => {
                    match overlaps.cells_of.get_mut(several) {
                        Some(cells) => *cells += cols.len() as u64,
                        None => {
                            overlaps.cells_of.insert(several.to_vec(), cols.len() as u64);
                        }
                    }
                    OVERLAP
                }
            };
            polygons.row_mut(row)[cols].fill(owner);
        });
        Owners { polygons, overlaps }
    }

    /// 1 where the centre lies in any polygon, one or several, else 0.
    ///
    /// # Missing
    /// Never.
    #[must_use]
    pub fn covers(&self, window: Window) -> Raster<u8> {
        let mut covered = Raster::filled(window, 0);
        self.runs(window, |row, cols, _| covered.row_mut(row)[cols].fill(1));
        covered
    }

    /// Adds a polygon's rings, and gives where each of them ends.
    fn add_vertices(&mut self, grid: &Grid, polygon: &MultiPolygon<f64>) -> Vec<usize> {
        let extent = grid.extent();
        let cell_m = grid.cell_m();
        let rounded = |cells: f64| (cells * VERTEX_STEPS).round() / VERTEX_STEPS;
        let rings = polygon
            .iter()
            .flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()));
        rings
            .map(|ring| {
                self.vertices.extend(ring.coords().map(|point| {
                    [
                        rounded((point.x - extent.west) / cell_m),
                        rounded((extent.north - point.y) / cell_m),
                    ]
                }));
                self.vertices.len()
            })
            .collect()
    }

    /// Files the edges of the rings that follow `first_vertex` by bands of rows.
    /// Edges that cross no row of the grid are left out.
    fn file_edges(&mut self, first_vertex: usize, ring_ends: &[usize]) {
        let first_edge = self.edges.len();
        let mut ring_start = first_vertex;
        for &ring_end in ring_ends {
            for vertex in ring_start..ring_end.saturating_sub(1) {
                let rows = crossed_rows(&self.vertices[vertex..=vertex + 1], self.rows);
                if rows.is_empty() {
                    continue;
                }
                let bands = rows.start / BAND_ROWS..=(rows.end - 1) / BAND_ROWS;
                self.edges.extend(bands.map(|band| FiledEdge {
                    band: index_u32(band),
                    vertex: index_u32(vertex - first_vertex),
                }));
            }
            ring_start = ring_end;
        }
        self.edges[first_edge..].sort_unstable();
    }

    /// Calls `each` for every run of cells of a window that lie in the same polygons,
    /// at least one: row and columns from the window's corner, and the polygons,
    /// lowest number first.
    fn runs(&self, window: Window, mut each: impl FnMut(usize, Range<usize>, &[u32])) {
        let mut holders: Vec<u32> = Vec::new();
        for line in self.crossings(window).chunk_by(|a, b| a.row == b.row) {
            let row = line[0].row as usize;
            let mut from = 0;
            holders.clear();
            for crossing in line {
                let to = crossing.col as usize;
                if to > from && !holders.is_empty() {
                    each(row, from..to, &holders);
                }
                from = to;
                match holders.binary_search(&crossing.polygon) {
                    Ok(inside) => {
                        holders.remove(inside);
                    }
                    Err(outside) => holders.insert(outside, crossing.polygon),
                }
            }
            if !holders.is_empty() {
                each(row, from..window.cols, &holders);
            }
        }
    }

    /// All crossings of a window's rows, in order. Those west of the window count
    /// at its edge, those east of its last centre not at all.
    fn crossings(&self, window: Window) -> Vec<Crossing> {
        let mut crossings = Vec::new();
        if window.cells() == 0 {
            return crossings;
        }
        let searched = AABB::from_corners(
            [as_cells(window.col), as_cells(window.row)],
            [as_cells(window.col_end()), as_cells(window.row_end())],
        );
        let bands = window.row / BAND_ROWS..=(window.row_end() - 1) / BAND_ROWS;
        for found in self.boxes.locate_in_envelope_intersecting(&searched) {
            let polygon = found.data;
            let filed = &self.filed[polygon as usize];
            let edges = &self.edges[filed.edges.clone()];
            let first = edges.partition_point(|edge| (edge.band as usize) < *bands.start());
            let meeting = edges[first..]
                .iter()
                .take_while(|edge| edge.band as usize <= *bands.end());
            for edge in meeting {
                let vertex = filed.first_vertex + edge.vertex as usize;
                let ends = &self.vertices[vertex..=vertex + 1];
                let band_row = edge.band as usize * BAND_ROWS;
                let rows = crossed_rows(ends, self.rows);
                let start = rows.start.max(band_row).max(window.row);
                let end = rows.end.min(band_row + BAND_ROWS).min(window.row_end());
                for row in start..end {
                    let col = crossed_col(ends, row, window.col_end()).max(window.col);
                    if col < window.col_end() {
                        crossings.push(Crossing {
                            row: index_u32(row - window.row),
                            col: index_u32(col - window.col),
                            polygon,
                        });
                    }
                }
            }
        }
        crossings.sort_unstable();
        crossings
    }
}

/// The rows whose centre line an edge crosses. The north end counts, the south
/// end does not, so that two edges meeting at a vertex cross a row once.
fn crossed_rows(ends: &[[f64; 2]], rows: usize) -> Range<usize> {
    let (a, b) = (ends[0][1], ends[1][1]);
    first_centre(a.min(b), rows)..first_centre(a.max(b), rows)
}

/// The first column whose centre lies at or east of where an edge crosses a row,
/// at most `limit`. Reckoned from the edge's north end whichever way it runs, so
/// that both polygons along it find the same number.
fn crossed_col(ends: &[[f64; 2]], row: usize, limit: usize) -> usize {
    let (north, south) = if ends[0][1] < ends[1][1] {
        (ends[0], ends[1])
    } else {
        (ends[1], ends[0])
    };
    if north[0].min(south[0]) > as_cells(limit) {
        return limit;
    }
    let share = (as_cells(row) + 0.5 - north[1]) / (south[1] - north[1]);
    let crossing = north[0] + share * (south[0] - north[0]);
    first_centre((crossing * CROSSING_STEPS).round() / CROSSING_STEPS, limit)
}

/// The first row or column whose centre lies at or beyond a place, at most `limit`.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "held between 0 and the limit"
)]
fn first_centre(place: f64, limit: usize) -> usize {
    (place - 0.5).ceil().clamp(0.0, as_cells(limit)) as usize
}

#[expect(clippy::cast_precision_loss, reason = "rows and columns stay below 1,000,000")]
fn as_cells(index: usize) -> f64 {
    index as f64
}

/// Rows, columns, polygons and vertices of one polygon, all checked to be fewer.
#[expect(
    clippy::cast_possible_truncation,
    reason = "a grid has at most 1,000,000 rows; polygons and vertices are counted before"
)]
fn index_u32(index: usize) -> u32 {
    index as u32
}

fn too_many(what: &'static str, found: usize, most: usize) -> GeometryError {
    GeometryError::TooMany { what, found, most }
}

#[cfg(test)]
#[path = "burn_tests.rs"]
mod tests;

#[cfg(test)]
#[path = "burn_properties.rs"]
mod properties;
