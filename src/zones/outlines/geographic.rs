//! Outlines in longitude and latitude, as whole numbers of 1e-7 degree. Simplified
//! arcs and a function that projects come in; rings that meet only where they
//! should, after rounding, go out. Knows no coordinate system.

use rayon::prelude::*;

use super::arcs::Arcs;
use super::chains::Chains;
use super::crossings::{Conflict, conflicts};
use super::densify::densified;
use super::error::GeographicError;
use super::lattice::{Point, twice_area_under};
use super::simplify::SimplifiedArcs;
use super::vertex::{Arc, Corner};
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
    /// `new_project` gives a function that turns map coordinates (x, y) of the grid's
    /// CRS into longitude and latitude in degrees, in place: one for each thread. All
    /// must give the same point the same place each time.
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
    /// What `new_project` and its functions say; places that are not on the earth; a site that crosses
    /// the meridian of 180 degrees or holds a pole; cells so small that rounding
    /// makes borders meet whatever is done.
    pub fn geographic<E, P>(
        &self,
        grid: &Grid,
        new_project: &(impl Fn() -> Result<P, E> + Sync),
    ) -> Result<GeographicOutlines, GeographicError<E>>
    where
        E: std::error::Error + Send + 'static,
        P: Fn(&mut [(f64, f64)]) -> Result<(), E>,
    {
        let arcs = self.original;
        let all: Vec<usize> = (0..arcs.sides.len()).collect();
        let mut lines = drawn(&all, &self.courses, grid, new_project)?;
        let nodes = places_of_nodes(arcs, &lines);
        for (arc, line) in arcs.sides.iter().zip(&mut lines) {
            tie(arc, &nodes, line);
        }
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
            let redrawn = drawn(&back, &arcs.courses, grid, new_project)?;
            for (arc, mut line) in back.into_iter().zip(redrawn) {
                tie(&arcs.sides[arc], &nodes, &mut line);
                lines[arc] = line;
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

/// Corners below which arcs are not spread over threads.
const FEW_CORNERS: usize = 1 << 12;

/// The named arcs along the given courses, projected and rounded, a share on each
/// thread.
fn drawn<E, P>(
    which: &[usize],
    courses: &Chains<Corner>,
    grid: &Grid,
    new_project: &(impl Fn() -> Result<P, E> + Sync),
) -> Result<Vec<Vec<Point>>, GeographicError<E>>
where
    E: std::error::Error + Send + 'static,
    P: Fn(&mut [(f64, f64)]) -> Result<(), E>,
{
    let corners: usize = which.iter().map(|&arc| courses.get(arc).len()).sum();
    let parts = (corners / FEW_CORNERS).clamp(1, rayon::current_num_threads());
    let mut shares: Vec<&[usize]> = Vec::new();
    let (mut rest, mut left) = (which, corners);
    for part in 0..parts {
        let mut taken = 0;
        let share = left / (parts - part);
        let count = rest.iter().take_while(|&&arc| {
            let fits = taken < share || part + 1 == parts;
            taken += if fits { courses.get(arc).len() } else { 0 };
            fits
        });
        let (now, later) = rest.split_at(count.count());
        shares.push(now);
        (rest, left) = (later, left - taken);
    }
    let drawn: Vec<Vec<Vec<Point>>> = shares
        .into_par_iter()
        .with_max_len(1)
        .map(|share| {
            let project = new_project().map_err(|source| GeographicError::Project { source })?;
            let course_of = |&arc: &usize| {
                let course = courses.get(arc).iter();
                course.map(|&corner| on_map(grid, corner)).collect()
            };
            let map: Vec<Vec<(f64, f64)>> = share.iter().map(course_of).collect();
            let points = densified(&map, grid.cell_m() * CHORD_CELLS, &project)?;
            Ok(points
                .iter()
                .map(|points| points.iter().copied().map(rounded).collect())
                .collect())
        })
        .collect::<Result<_, GeographicError<E>>>()?;
    Ok(drawn.into_iter().flatten().collect())
}

/// The place of each node: where the first arc that ends there has it.
fn places_of_nodes(arcs: &Arcs, lines: &[Vec<Point>]) -> Vec<Point> {
    let mut places = vec![None; arcs.nodes.len()];
    for (arc, line) in arcs.sides.iter().zip(lines) {
        if let (Some((first, last)), [start, .., end]) = (arc.nodes, line.as_slice()) {
            places[first as usize].get_or_insert(*start);
            places[last as usize].get_or_insert(*end);
        }
    }
    // Every node has an arc.
    let nowhere = Point { x: 0, y: 0 };
    places.into_iter().map(|place| place.unwrap_or(nowhere)).collect()
}

/// Ties the ends of a line to its nodes and drops repeated points.
fn tie(arc: &Arc, nodes: &[Point], line: &mut Vec<Point>) {
    if let (Some((first, last)), [start, .., end]) = (arc.nodes, line.as_mut_slice()) {
        (*start, *end) = (nodes[first as usize], nodes[last as usize]);
    }
    line.dedup();
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
    let of_zone = |zone: usize| {
        let (exterior, holes) = arcs.zones.of_zone(zone);
        let rings = [(exterior, 1)]
            .into_iter()
            .chain(holes.iter().map(|&hole| (hole, -1)));
        let mut found = Vec::new();
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
        found
    };
    let found: Vec<Vec<Conflict>> = (0..arcs.zones()).into_par_iter().map(of_zone).collect();
    found.into_iter().flatten().collect()
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
        .into_par_iter()
        .map(|zone| {
            let (exterior, holes) = arcs.zones.of_zone(zone);
            GeographicOutline {
                exterior: ring(exterior),
                holes: holes.iter().map(|&hole| ring(hole)).collect(),
            }
        })
        .collect()
}
