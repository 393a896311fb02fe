//! Outlines in longitude and latitude, as whole numbers of 1e-7 degree. Simplified
//! arcs and a function that projects come in; rings that meet only where they
//! should, after rounding, go out. Knows no coordinate system.

use super::arcs::Arcs;
use super::chains::Chains;
use super::crossings::{Conflict, conflicts};
use super::densify::{Project, densified, projected};
use super::error::GeographicError;
use super::lattice::{Point, twice_area_under};
use super::simplify::SimplifiedArcs;
use super::vertex::Corner;
use crate::grid::Grid;
use crate::zones::runs::narrow;

/// Parts a degree is divided into: seven decimals, about a centimetre.
pub const DEGREE_PARTS: f64 = 1e7;

/// The share of a cell a chord may lie off its true course.
const CHORD_CELLS: f64 = 0.1;

/// A closed ring of (longitude, latitude) in 1e-7 degree, the last point equal to
/// the first.
pub type GeographicRing = Vec<[i32; 2]>;

/// The outline of one zone in longitude and latitude on the datum of the function
/// that projected it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct GeographicOutline {
    /// The outer ring, counter-clockwise.
    pub exterior: GeographicRing,
    /// The rings of its holes, clockwise.
    pub holes: Vec<GeographicRing>,
}

/// The outlines of all zones in longitude and latitude, and what it took.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GeographicOutlines {
    /// The outline of each zone, that of label 1 first.
    pub outlines: Vec<GeographicOutline>,
    /// Arcs in all.
    pub arcs: usize,
    /// Arcs that went back to their unsimplified course, because they met another
    /// after rounding.
    pub arcs_unsimplified: usize,
    /// Points of all arcs after densifying and rounding.
    pub points: usize,
}

impl SimplifiedArcs<'_> {
    /// The outlines in longitude and latitude.
    ///
    /// # Units
    /// `project` turns map coordinates (x, y) of the grid's CRS into longitude and
    /// latitude in degrees, in place. It must give the same point the same place
    /// each time.
    ///
    /// # Method
    /// Each arc is projected once, for the zones on both its sides. Its edges are
    /// cut until a straight line in longitude and latitude stays within a tenth of
    /// a cell of the edge on the map. Points are rounded to 1e-7 degree, repeated
    /// ones dropped; a node has one rounded place. Then all edges are tested
    /// exactly on whole numbers: an arc that meets another where they do not share
    /// a node, or a ring that turned over or shrank below three corners, goes back
    /// to its unsimplified course, until nothing is left to mend.
    ///
    /// # Errors
    /// What `project` says; places that are not on the earth; a site that crosses
    /// the meridian of 180 degrees or holds a pole; cells so small that rounding
    /// makes borders meet whatever is done.
    pub fn geographic<E: std::error::Error + 'static>(
        &self,
        grid: &Grid,
        project: Project<'_, E>,
    ) -> Result<GeographicOutlines, GeographicError<E>> {
        let arcs = self.original;
        let nodes: Vec<(f64, f64)> = arcs.nodes.iter().map(|&corner| on_map(grid, corner)).collect();
        let nodes: Vec<Point> = projected(&nodes, project)?.into_iter().map(rounded).collect();
        let all: Vec<usize> = (0..arcs.sides.len()).collect();
        let mut lines = vec![Vec::new(); arcs.sides.len()];
        draw(&all, arcs, &self.courses, grid, project, &nodes, &mut lines)?;
        check_one_side(&lines)?;
        let mut unsimplified = vec![false; lines.len()];
        loop {
            let found = faults(arcs, &lines);
            let Some(first) = found.first() else { break };
            let mut back: Vec<usize> = found
                .iter()
                .flat_map(|fault| [fault.arcs.0, fault.arcs.1])
                .map(|arc| arc as usize)
                .filter(|&arc| !unsimplified[arc])
                .collect();
            back.sort_unstable();
            back.dedup();
            if back.is_empty() {
                let (lon, lat) = in_degrees(first.near);
                return Err(GeographicError::StillCrossing {
                    places: found.len(),
                    lon,
                    lat,
                    cell_m: grid.cell_m(),
                });
            }
            draw(&back, arcs, &arcs.courses, grid, project, &nodes, &mut lines)?;
            for arc in back {
                unsimplified[arc] = true;
            }
        }
        // Arcs that kept all their corners did not really go back.
        let went_back =
            |&arc: &usize| unsimplified[arc] && self.courses.get(arc).len() < arcs.courses.get(arc).len();
        Ok(GeographicOutlines {
            outlines: assembled(arcs, &lines),
            arcs: lines.len(),
            arcs_unsimplified: (0..lines.len()).filter(went_back).count(),
            points: lines.iter().map(Vec::len).sum(),
        })
    }
}

fn on_map(grid: &Grid, corner: Corner) -> (f64, f64) {
    grid.corner_to_map(corner.row as usize, corner.col as usize)
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "longitude and latitude are checked, so the product stays below 2^31"
)]
fn rounded((lon, lat): (f64, f64)) -> Point {
    Point {
        x: (lon * DEGREE_PARTS).round() as i64,
        y: (lat * DEGREE_PARTS).round() as i64,
    }
}

#[expect(clippy::cast_precision_loss, reason = "the numbers stay below 2^31")]
fn in_degrees(point: Point) -> (f64, f64) {
    (point.x as f64 / DEGREE_PARTS, point.y as f64 / DEGREE_PARTS)
}

/// Projects and rounds the named arcs along the given courses.
fn draw<E: std::error::Error + 'static>(
    which: &[usize],
    arcs: &Arcs,
    courses: &Chains<Corner>,
    grid: &Grid,
    project: Project<'_, E>,
    nodes: &[Point],
    lines: &mut [Vec<Point>],
) -> Result<(), GeographicError<E>> {
    let course_of = |&arc: &usize| {
        courses
            .get(arc)
            .iter()
            .map(|&corner| on_map(grid, corner))
            .collect()
    };
    let map: Vec<Vec<(f64, f64)>> = which.iter().map(course_of).collect();
    let drawn = densified(&map, grid.cell_m() * CHORD_CELLS, project)?;
    for (&arc, points) in which.iter().zip(drawn.iter()) {
        let mut line: Vec<Point> = points.iter().copied().map(rounded).collect();
        if let (Some((first, last)), [start, .., end]) = (arcs.sides[arc].nodes, line.as_mut_slice()) {
            (*start, *end) = (nodes[first as usize], nodes[last as usize]);
        }
        line.dedup();
        lines[arc] = line;
    }
    Ok(())
}

/// Refuses a site that lies on both sides of the meridian of 180 degrees.
fn check_one_side<E: std::error::Error + 'static>(lines: &[Vec<Point>]) -> Result<(), GeographicError<E>> {
    let points = || lines.iter().flatten().copied();
    let ends = (
        points().min_by_key(|point| point.x),
        points().max_by_key(|point| point.x),
    );
    if let (Some(least), Some(greatest)) = ends {
        let (west, east) = (in_degrees(least).0, in_degrees(greatest).0);
        if east - west > 180.0 {
            return Err(GeographicError::Antimeridian { west, east });
        }
    }
    Ok(())
}

/// Arcs that meet where they should not; if there are none, arcs of rings that
/// turned over or have too few corners.
fn faults(arcs: &Arcs, lines: &[Vec<Point>]) -> Vec<Conflict> {
    let found = conflicts(&arcs.sides, lines);
    if !found.is_empty() {
        return found;
    }
    let mut found = Vec::new();
    for zone in 0..arcs.zones() {
        let (exterior, holes) = arcs.zones.of_zone(zone);
        let rings = [(exterior, 1)]
            .into_iter()
            .chain(holes.iter().map(|&hole| (hole, -1)));
        for (ring, turn) in rings {
            let points = arcs.zones.points(ring as usize, |arc| lines[arc].as_slice());
            if points.len() < 4 || twice_area_under(points.iter().copied()).signum() != turn {
                let near = points.first().copied().unwrap_or(Point { x: 0, y: 0 });
                found.extend(arcs.zones.arcs_of(ring as usize).map(|arc| {
                    let arc = narrow(arc);
                    Conflict {
                        arcs: (arc, arc),
                        near,
                    }
                }));
            }
        }
    }
    found
}

fn assembled(arcs: &Arcs, lines: &[Vec<Point>]) -> Vec<GeographicOutline> {
    let whole = |value: i64| i32::try_from(value).unwrap_or(i32::MAX);
    let ring = |ring: u32| -> GeographicRing {
        let points = arcs.zones.points(ring as usize, |arc| lines[arc].as_slice());
        points
            .into_iter()
            .map(|Point { x, y }| [whole(x), whole(y)])
            .collect()
    };
    (0..arcs.zones())
        .map(|zone| {
            let (exterior, holes) = arcs.zones.of_zone(zone);
            GeographicOutline {
                exterior: ring(exterior),
                holes: holes.iter().map(|&hole| ring(hole)).collect(),
            }
        })
        .collect()
}
