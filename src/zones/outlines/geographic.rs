//! Outlines in longitude and latitude, as whole numbers of 1e-7 degree. Simplified
//! arcs and a function that projects come in; rings that meet only where they
//! should, after rounding, go out. Knows no coordinate system.

use rayon::prelude::*;

use super::arcs::Arcs;
use super::bends::Bends;
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

/// The borders of all zones in longitude and latitude, each once, and what it took.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GeographicLines {
    /// For each arc its points in 1e-7 degree.
    pub(super) lines: Chains<[i32; 2]>,
    /// Arcs that went back to their unsimplified course, because they met another
    /// after rounding.
    pub arcs_unsimplified: usize,
}

impl GeographicLines {
    /// Arcs in all.
    #[must_use]
    pub fn arcs(&self) -> usize {
        self.lines.len()
    }
}

impl SimplifiedArcs<'_> {
    /// The borders in longitude and latitude.
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
    ) -> Result<GeographicLines, GeographicError<E>>
    where
        E: std::error::Error + Send + 'static,
        P: Fn(&mut [(f64, f64)]) -> Result<(), E>,
    {
        let arcs = self.original;
        let all: Vec<usize> = (0..arcs.sides.len()).collect();
        let shares = drawn(&all, &self.courses, grid, new_project)?;
        drop(all);
        let nodes = places_of_nodes(arcs, &shares);
        let points = shares.iter().map(|share| share.values().len()).sum();
        let mut lines = Chains::with_capacity(arcs.sides.len(), points);
        let mut sides = arcs.sides.iter();
        // Each share goes as soon as its lines are tied.
        for share in shares {
            for (line, arc) in share.iter().zip(&mut sides) {
                tie(arc, &nodes, line, &mut lines);
            }
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
            let shares = drawn(&back, &arcs.courses, grid, new_project)?;
            let mut redrawn = back.iter().zip(shares.iter().flat_map(Chains::iter)).peekable();
            let mut mended = Chains::with_capacity(lines.len(), lines.values().len());
            for (arc, line) in lines.iter().enumerate() {
                match redrawn.next_if(|&(&back, _)| back == arc) {
                    Some((_, line)) => tie(&arcs.sides[arc], &nodes, line, &mut mended),
                    None => mended.push(line.iter().copied()),
                }
            }
            for arc in back {
                unsimplified[arc] = true;
            }
            lines = mended;
        }
        // Arcs that kept all their corners did not really go back.
        let went_back =
            |&arc: &usize| unsimplified[arc] && self.courses.get(arc).len() < arcs.courses.get(arc).len();
        Ok(GeographicLines {
            arcs_unsimplified: (0..lines.len()).filter(went_back).count(),
            lines,
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
fn rounded((lon, lat): (f64, f64)) -> [i32; 2] {
    [
        (lon * DEGREE_PARTS).round() as i32,
        (lat * DEGREE_PARTS).round() as i32,
    ]
}

fn in_degrees(point: Point) -> (f64, f64) {
    let degrees = |parts: i64| i32::try_from(parts).map_or(f64::NAN, f64::from) / DEGREE_PARTS;
    (degrees(point.x), degrees(point.y))
}

/// Arcs that a thread projects before it rounds them.
const ARCS_AT_ONCE: usize = 1 << 13;

/// Corners below which arcs are not spread over threads.
const FEW_CORNERS: usize = 1 << 12;

/// The named arcs along the given courses, projected and rounded, a share on each
/// thread.
fn drawn<E, P>(
    which: &[usize],
    courses: &Chains<Corner>,
    grid: &Grid,
    new_project: &(impl Fn() -> Result<P, E> + Sync),
) -> Result<Vec<Chains<[i32; 2]>>, GeographicError<E>>
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
    shares
        .into_par_iter()
        .with_max_len(1)
        .map(|share| {
            let project = new_project().map_err(|source| GeographicError::Project { source })?;
            let tolerance_m = grid.cell_m() * CHORD_CELLS;
            // Few edges are cut, so that room for the corners is room for nearly all points.
            let corners = share.iter().map(|&arc| courses.get(arc).len()).sum();
            let mut lines = Chains::with_capacity(share.len(), corners);
            let mut bends = Bends::new(tolerance_m);
            // What is projected at once takes several times the room of what comes out.
            for some in share.chunks(ARCS_AT_ONCE) {
                let course_of = |&arc: &usize| {
                    let course = courses.get(arc).iter();
                    course.map(|&corner| on_map(grid, corner)).collect()
                };
                let map: Vec<Vec<(f64, f64)>> = some.iter().map(course_of).collect();
                let points = densified(&map, tolerance_m, &project, &mut bends)?;
                for line in points.iter() {
                    lines.push(line.iter().copied().map(rounded));
                }
            }
            Ok(lines)
        })
        .collect()
}

/// The place of each node: where the first arc that ends there has it.
fn places_of_nodes(arcs: &Arcs, shares: &[Chains<[i32; 2]>]) -> Vec<[i32; 2]> {
    let mut places = vec![None; arcs.nodes.len()];
    for (arc, line) in arcs.sides.iter().zip(shares.iter().flat_map(Chains::iter)) {
        if let (Some((first, last)), [start, .., end]) = (arc.nodes, line) {
            places[first as usize].get_or_insert(*start);
            places[last as usize].get_or_insert(*end);
        }
    }
    // Every node has an arc.
    places.into_iter().map(Option::unwrap_or_default).collect()
}

/// Adds a line whose ends are tied to its nodes, without repeated points.
fn tie(arc: &Arc, nodes: &[[i32; 2]], line: &[[i32; 2]], lines: &mut Chains<[i32; 2]>) {
    let ends = arc.nodes.filter(|_| line.len() > 1);
    let ends = ends.map(|(first, last)| (nodes[first as usize], nodes[last as usize]));
    let end = line.len().saturating_sub(1);
    let mut before = None;
    for (at, &point) in line.iter().enumerate() {
        let point = match ends {
            Some((first, _)) if at == 0 => first,
            Some((_, last)) if at == end => last,
            _ => point,
        };
        if before != Some(point) {
            lines.extend_open(point);
        }
        before = Some(point);
    }
    lines.close();
}

/// Refuses a site that lies on both sides of the meridian of 180 degrees.
fn check_one_side<E: std::error::Error + 'static>(
    lines: &Chains<[i32; 2]>,
) -> Result<(), GeographicError<E>> {
    let longitudes = || {
        lines
            .values()
            .iter()
            .map(|&[lon, _]| f64::from(lon) / DEGREE_PARTS)
    };
    let (west, east) = (
        longitudes().fold(f64::INFINITY, f64::min),
        longitudes().fold(f64::NEG_INFINITY, f64::max),
    );
    if east - west > 180.0 {
        return Err(GeographicError::Antimeridian { west, east });
    }
    Ok(())
}

/// Arcs that meet where they should not; if there are none, arcs of rings that
/// turned over or have too few corners.
fn faults(arcs: &Arcs, lines: &Chains<[i32; 2]>) -> Vec<Conflict> {
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
            let points = arcs.zones.points(ring as usize, |arc| lines.get(arc));
            let turned = twice_area_under(points.iter().copied().map(Point::from)).signum();
            if points.len() < 4 || turned != turn {
                let near = points.first().copied().unwrap_or_default().into();
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
