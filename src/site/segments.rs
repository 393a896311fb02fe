//! Lines, points and the edges of polygons as plain segments. In come geometries
//! of any kind; out go segments in metres from the grid's corner, ready to be
//! tried on whole rows of cells. It does not know which segments matter where.

use geo::{Coord, Geometry, Polygon};
use rstar::primitives::{GeomWithData, Line};

use super::burn::Crossings;
use crate::grid::Grid;

/// Cells of a row that are reckoned at once.
pub(super) const LANES: usize = 16;

/// A segment in metres east and south of the grid's corner, with the position of
/// its feature. A point is a segment of no length.
pub(super) type Segment = GeomWithData<Line<[f64; 2]>, usize>;

/// A segment made ready for many cells.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate {
    start: [f64; 2],
    along: [f64; 2],
    /// `along` over its squared length; 0 for a point.
    share: [f64; 2],
    /// Beyond this distance the segment does not matter.
    pub(super) matters_m: f64,
    /// Square of the distance that scores 0.
    touching_m2: f64,
}

impl Candidate {
    pub(super) fn new(line: &Line<[f64; 2]>, reach_m: f64, width_m: Option<f64>) -> Candidate {
        let along = [line.to[0] - line.from[0], line.to[1] - line.from[1]];
        let length2 = along[0] * along[0] + along[1] * along[1];
        let share = if length2 > 0.0 {
            [along[0] / length2, along[1] / length2]
        } else {
            [0.0, 0.0]
        };
        Candidate {
            start: line.from,
            along,
            share,
            matters_m: width_m.unwrap_or(reach_m),
            touching_m2: width_m.map_or(0.0, |width_m| width_m * width_m),
        }
    }

    /// Squared distance from a point to the segment.
    #[inline(always)]
    pub(super) fn distance2(&self, x: f64, y: f64) -> f64 {
        let (dx, dy) = (x - self.start[0], y - self.start[1]);
        let share = dx * self.share[0] + dy * self.share[1];
        // Not `clamp`, so that whole rows can be reckoned at once.
        let share = if share > 0.0 { share } else { 0.0 };
        let share = if share < 1.0 { share } else { 1.0 };
        let (ex, ey) = (dx - share * self.along[0], dy - share * self.along[1]);
        ex * ex + ey * ey
    }

    /// Lowers the scores of a row of cells to this segment's where that is less.
    #[inline(always)]
    pub(super) fn score_row(&self, xs: &[f64; LANES], y: f64, least: &mut [f64; LANES]) {
        for (least, &x) in least.iter_mut().zip(xs) {
            let score = self.distance2(x, y) - self.touching_m2;
            *least = if score < *least { score } else { *least };
        }
    }
}

/// Segments and polygons taken from geometries of any kind.
pub(super) struct Parts<'g> {
    grid: &'g Grid,
    west: f64,
    north: f64,
    pub(super) segments: Vec<Segment>,
    /// The insides of polygons; nothing where coordinates are not finite.
    pub(super) polygons: Vec<Option<Crossings>>,
}

impl Parts<'_> {
    /// Nothing yet, to be reckoned from the grid's north-west corner.
    pub(super) fn on(grid: &Grid) -> Parts<'_> {
        let extent = grid.extent();
        Parts {
            grid,
            west: extent.west,
            north: extent.north,
            segments: Vec::new(),
            polygons: Vec::new(),
        }
    }

    /// Adds all segments and insides of one feature.
    pub(super) fn add(&mut self, geometry: &Geometry<f64>, feature: usize) {
        match geometry {
            Geometry::Point(point) => self.add_line(&[point.0], feature),
            Geometry::Line(line) => self.add_line(&[line.start, line.end], feature),
            Geometry::LineString(line) => self.add_line(&line.0, feature),
            Geometry::Polygon(polygon) => {
                self.add_polygons(std::slice::from_ref(polygon), feature);
            }
            Geometry::MultiPoint(points) => {
                for point in points {
                    self.add_line(&[point.0], feature);
                }
            }
            Geometry::MultiLineString(lines) => {
                for line in lines {
                    self.add_line(&line.0, feature);
                }
            }
            Geometry::MultiPolygon(polygons) => self.add_polygons(&polygons.0, feature),
            Geometry::GeometryCollection(members) => {
                for member in members {
                    self.add(member, feature);
                }
            }
            Geometry::Rect(rect) => self.add_polygons(&[rect.to_polygon()], feature),
            Geometry::Triangle(triangle) => {
                self.add_polygons(&[triangle.to_polygon()], feature);
            }
        }
    }

    fn add_polygons(&mut self, polygons: &[Polygon<f64>], feature: usize) {
        for ring in polygons.iter().flat_map(rings) {
            self.add_line(ring, feature);
        }
        self.polygons.push(Crossings::of(self.grid, polygons));
    }

    fn add_line(&mut self, points: &[Coord<f64>], feature: usize) {
        let local = |point: &Coord<f64>| [point.x - self.west, self.north - point.y];
        let segment = |from, to| GeomWithData::new(Line::new(from, to), feature);
        if let [point] = points {
            self.segments.push(segment(local(point), local(point)));
        }
        self.segments.extend(
            points
                .windows(2)
                .map(|pair| segment(local(&pair[0]), local(&pair[1]))),
        );
    }
}

pub(super) fn rings(polygon: &Polygon<f64>) -> impl Iterator<Item = &[Coord<f64>]> {
    std::iter::once(polygon.exterior())
        .chain(polygon.interiors())
        .map(|ring| ring.0.as_slice())
}
