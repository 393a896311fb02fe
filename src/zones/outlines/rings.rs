//! The rings of each zone as walks along arcs. Arcs and what leaves each node come
//! in; for each zone one exterior and its holes go out, as arcs with a direction,
//! so that the same walks serve simplified and projected arcs.

use super::chains::Chains;
use super::error::OutlineError;
use super::lattice::twice_area_under;
use super::vertex::{Arc, Corner, DIRECTIONS, NONE};
use crate::zones::runs::narrow;

/// The rings of all zones.
///
/// # Method
/// A ring is walked with its zone on the left. At a cross the right-most turn is
/// taken: it passes from one of the two cells that touch there to the other, so
/// that no ring meets a corner twice. A 4-connected zone then has one simple
/// exterior, counter-clockwise, and clockwise holes that may touch it or each
/// other at corners.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ZoneRings {
    /// For each ring its arcs in order: twice the arc's number, plus one when it
    /// is walked backward.
    rings: Chains<u32>,
    /// For each zone the exterior, then its holes, by number of the ring.
    zones: Chains<u32>,
    /// For each zone twice its area in cells, before anything is simplified.
    twice_cells: Vec<i128>,
}

impl ZoneRings {
    /// Walks all rings.
    pub(super) fn from_arcs(
        arcs: &[Arc],
        courses: &Chains<Corner>,
        leaving: &[[u32; DIRECTIONS]],
        arriving: &[[u8; 2]],
        node_labels: &[[u32; DIRECTIONS]],
        labels: u32,
    ) -> Result<ZoneRings, OutlineError> {
        let next_side = |side: u32, label: u32| -> u32 {
            let (arc, backward) = (side as usize / 2, side as usize % 2);
            let Some((first, last)) = arcs[arc].nodes else {
                return side;
            };
            let node = if backward == 1 { first } else { last } as usize;
            let heading = usize::from(arriving[arc][backward]);
            [heading + 1, heading, heading + 3]
                .into_iter()
                .map(|direction| direction % DIRECTIONS)
                .find(|&direction| leaving[node][direction] != NONE && node_labels[node][direction] == label)
                .map_or(side, |direction| leaving[node][direction])
        };
        let twice_areas: Vec<i128> = courses
            .iter()
            .map(|course| twice_area_under(course.iter().map(|corner| corner.point())))
            .collect();
        let mut rings = Chains::default();
        // Zone, whether it is a hole, and number of each ring.
        let mut kinds: Vec<(usize, bool, u32)> = Vec::new();
        let mut twice_cells = vec![0; labels as usize];
        let mut passed = vec![false; arcs.len() * 2];
        for (arc, &Arc { left, right, .. }) in arcs.iter().enumerate() {
            for (backward, label) in [left, right].into_iter().enumerate() {
                if label == 0 || passed[2 * arc + backward] {
                    continue;
                }
                let mut side = narrow(2 * arc + backward);
                let mut twice_area = 0;
                while !passed[side as usize] {
                    passed[side as usize] = true;
                    rings.extend_open(side);
                    let forward = twice_areas[side as usize / 2];
                    twice_area += if side.is_multiple_of(2) { forward } else { -forward };
                    side = next_side(side, label);
                }
                rings.close();
                let zone = label as usize - 1;
                let ring = narrow(rings.len() - 1);
                kinds.push((zone, twice_area <= 0, ring));
                twice_cells[zone] += twice_area;
            }
        }
        let mut exteriors = vec![0; labels as usize];
        for (zone, ..) in kinds.iter().filter(|(_, is_hole, _)| !is_hole) {
            exteriors[*zone] += 1;
        }
        let pieces: Vec<(u32, usize)> = (1..=labels)
            .zip(exteriors)
            .filter(|&(_, exteriors)| exteriors != 1)
            .collect();
        if !pieces.is_empty() {
            return Err(OutlineError::NotOnePiece { pieces });
        }
        // Zone by zone the exterior first, then the holes as they were found.
        kinds.sort_unstable();
        let mut zones = Chains::with_capacity(labels as usize, kinds.len());
        for of_zone in kinds.chunk_by(|one, other| one.0 == other.0) {
            zones.push(of_zone.iter().map(|&(_, _, ring)| ring));
        }
        Ok(ZoneRings {
            rings,
            zones,
            twice_cells,
        })
    }

    /// Number of zones.
    pub(super) fn len(&self) -> usize {
        self.zones.len()
    }

    /// Twice the area in cells of each zone, before anything is simplified.
    pub(super) fn twice_cells(&self) -> &[i128] {
        &self.twice_cells
    }

    /// The rings of a zone by number: its exterior, then its holes.
    pub(super) fn of_zone(&self, zone: usize) -> (u32, &[u32]) {
        let rings = self.zones.get(zone);
        (rings[0], &rings[1..])
    }

    /// The arcs of a ring in the order of the walk, each with its side: twice the arc's
    /// number, plus one when it is walked backward.
    pub(super) fn sides_of(&self, ring: usize) -> &[u32] {
        self.rings.get(ring)
    }

    /// The arcs of a ring, in the order of the walk.
    pub(super) fn arcs_of(&self, ring: usize) -> impl Iterator<Item = usize> {
        self.sides_of(ring).iter().map(|&side| side as usize / 2)
    }

    /// The points of a ring, closed, from the points of each arc.
    pub(super) fn points<'a, P: Copy + 'a>(&self, ring: usize, course: impl Fn(usize) -> &'a [P]) -> Vec<P> {
        let mut points: Vec<P> = Vec::new();
        for &side in self.rings.get(ring) {
            let arc = course(side as usize / 2);
            // The last point of an arc is the first of the next.
            let kept = arc.len().saturating_sub(1);
            if side.is_multiple_of(2) {
                points.extend(&arc[..kept]);
            } else {
                points.extend(arc.iter().rev().take(kept));
            }
        }
        points.extend(points.first().copied());
        points
    }
}
