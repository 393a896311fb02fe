//! Simplifies arcs by area without moving a node and without letting two borders
//! cross. Arcs come in, arcs with fewer corners go out, with what each zone gained
//! or lost.

use std::collections::HashSet;

use rayon::prelude::*;

use super::arcs::Arcs;
use super::chains::Chains;
use super::corner_queue::CornerQueue;
use super::lattice::twice_area;
use super::standing::{FAR, Standing};
use super::vertex::{Arc, Corner};
use super::vertex_index::VertexIndex;
use super::zone_outlines::{Courses, outline_on_map};
use crate::grid::Grid;
use crate::zones::Outline;
use crate::zones::runs::narrow;

/// A zone loses or gains at most this part of its area: one in fifty.
const GREATEST_CHANGE: i128 = 50;

/// Corners that would change a zone's area by more than this part, one in a hundred,
/// wait for others of the same triangle area.
const SOUGHT_CHANGE: i128 = 100;

/// An arc's balance may reach this many of the greatest triangles before corners
/// that would add to it wait for others of the same area.
const BALANCE_TRIANGLES: i128 = 4;

/// The area of one zone before and after simplifying, on the map's plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneAreaChange {
    /// Area of its cells.
    pub area_before_m2: f64,
    /// Area of its simplified outline.
    pub area_after_m2: f64,
}

/// Arcs with fewer corners, and the arcs they come from.
#[derive(Debug, Clone, PartialEq)]
pub struct SimplifiedArcs<'a> {
    pub(super) original: &'a Arcs,
    pub(super) courses: Chains<Corner>,
    cell_m: f64,
    /// For each label twice the area it gained, in cells; label 0 first.
    twice_gained: Vec<i128>,
}

impl Arcs {
    /// The arcs with the corners left out that matter least.
    ///
    /// # Units
    /// `simplify_m` in metres; nothing is left out unless it is above 0.
    ///
    /// # Method
    /// Visvalingam and Whyatt 1993, "Line generalisation by repeated elimination of
    /// points": again and again the corner goes whose triangle with its two
    /// neighbours has the least area, as long as that is at most `simplify_m`
    /// squared. With a tolerance of one cell, steps one cell high and up to two
    /// cells long become straight.
    ///
    /// A corner stays when another corner of any border lies in its triangle, when
    /// the new edge would equal another arc, when a closed arc would keep fewer
    /// than three corners, or when a zone would gain or lose more than a fiftieth
    /// of its cells. Nodes and the first corner of a closed arc stay. No two borders
    /// can then come to cross, and no zone can vanish.
    ///
    /// Among corners of one area, those looked at least often go first, so that a
    /// flight of steps loses every other corner and becomes straight. Where an arc
    /// has given much to one side, or a zone has changed by more than a hundredth,
    /// those that give back go first, so that zones do not shrink on the whole. Then
    /// the order of arcs and of corners along them decides.
    #[must_use]
    pub fn simplified(&self, grid: &Grid, simplify_m: f64) -> SimplifiedArcs<'_> {
        let mut simplifier = Simplifier::new(self, twice_area_limit(simplify_m / grid.cell_m()));
        if simplifier.limit > 0 {
            simplifier.run();
        }
        let kept = simplifier.corners.iter().filter(|corner| corner.is_kept());
        let mut courses = Chains::with_capacity(self.sides.len(), kept.count());
        for arc in 0..self.sides.len() {
            let start = self.courses.start(arc);
            for (at, &corner) in (start..).zip(self.courses.get(arc)) {
                if simplifier.corners[at].is_kept() {
                    courses.extend_open(corner);
                }
            }
            courses.close();
        }
        SimplifiedArcs {
            original: self,
            courses,
            cell_m: grid.cell_m(),
            twice_gained: simplifier.twice_gained,
        }
    }
}

/// Twice the greatest area in cells at which a corner goes.
#[expect(
    clippy::cast_possible_truncation,
    reason = "cut to a range that whole numbers hold; a tolerance beyond it takes all corners alike"
)]
fn twice_area_limit(tolerance_cells: f64) -> i128 {
    if tolerance_cells.is_nan() || tolerance_cells <= 0.0 {
        return 0;
    }
    // A hair more, so that 0.3 m over 0.1 m counts as three cells.
    (2.0 * tolerance_cells * tolerance_cells * (1.0 + 1e-9)).min(1e15) as i128
}

impl SimplifiedArcs<'_> {
    /// The outline of each zone in map coordinates, that of label 1 first.
    #[must_use]
    pub fn outlines(&self, grid: &Grid) -> Vec<Outline> {
        (0..self.original.zones())
            .into_par_iter()
            .map(|zone| outline_on_map(&self.original.zones, &self.courses, zone, grid))
            .collect()
    }

    /// What is left of the borders.
    #[must_use]
    pub fn into_courses(self) -> Courses {
        Courses(self.courses)
    }

    /// What each zone gained or lost, that of label 1 first.
    #[must_use]
    #[expect(
        clippy::cast_precision_loss,
        reason = "areas below 2^53 cells are exact, and no grid has more than 10^12"
    )]
    pub fn area_changes(&self) -> Vec<ZoneAreaChange> {
        let cell_m2 = self.cell_m * self.cell_m;
        let gained = self.twice_gained.iter().skip(1);
        let before = self.original.zones.twice_cells();
        before
            .iter()
            .zip(gained)
            .map(|(&before, &gained)| ZoneAreaChange {
                area_before_m2: before as f64 / 2.0 * cell_m2,
                area_after_m2: (before + gained) as f64 / 2.0 * cell_m2,
            })
            .collect()
    }

    /// Number of corners before and after, nodes counted once for each arc.
    #[must_use]
    pub fn corner_counts(&self) -> (usize, usize) {
        (self.original.courses.values().len(), self.courses.values().len())
    }

    /// The corners an arc keeps, with both its ends.
    ///
    /// # Panics
    /// When there is no such arc.
    #[must_use]
    pub fn course(&self, arc: usize) -> &[Corner] {
        self.courses.get(arc)
    }
}

/// Every so many corners it is noted to which arc they belong.
const NOTED: usize = 32;

struct Simplifier<'a> {
    arcs: &'a Arcs,
    limit: i128,
    corners: Vec<Standing>,
    /// Corners each arc still has, both ends counted.
    remaining: Vec<u32>,
    /// For each arc twice the area its left side gained.
    balance: Vec<i128>,
    twice_gained: Vec<i128>,
    /// Node pairs that one straight edge joins already.
    straight: HashSet<(u32, u32)>,
    index: VertexIndex,
    queue: CornerQueue,
    /// The arc of every so many corners.
    arc_near: Vec<u32>,
}

impl<'a> Simplifier<'a> {
    fn new(arcs: &'a Arcs, limit: i128) -> Simplifier<'a> {
        let mut corners = Vec::with_capacity(arcs.courses.values().len());
        let mut arc_near = Vec::with_capacity(corners.capacity() / NOTED + 1);
        let mut straight = HashSet::new();
        for (number, course) in (0u32..).zip(arcs.courses.iter()) {
            for at in 0..course.len() {
                if corners.len().is_multiple_of(NOTED) {
                    arc_near.push(number);
                }
                corners.push(Standing {
                    back: u16::from(at > 0),
                    forth: u16::from(at + 1 < course.len()),
                    looks: 0,
                });
            }
            let nodes = arcs.sides[number as usize].nodes;
            if let Some(nodes) = nodes.filter(|_| course.len() == 2) {
                straight.insert(sorted(nodes));
            }
        }
        Simplifier {
            arcs,
            limit,
            corners,
            remaining: arcs.courses.iter().map(|course| narrow(course.len())).collect(),
            balance: vec![0; arcs.sides.len()],
            twice_gained: vec![0; arcs.zones() + 1],
            straight,
            index: if limit > 0 {
                VertexIndex::new(|| arcs.corners())
            } else {
                VertexIndex::new(std::iter::empty)
            },
            queue: CornerQueue::default(),
            arc_near,
        }
    }

    /// Takes corners out until none can go any more.
    fn run(&mut self) {
        for corner in 0..narrow(self.corners.len()) {
            self.look_at(corner);
        }
        let mut refused = Vec::new();
        loop {
            let mut any_went = false;
            while let Some((area, looks, corner)) = self.queue.take() {
                let standing = &self.corners[corner as usize];
                if !standing.is_kept() || standing.looks() != looks {
                    continue;
                }
                let has_waited = standing.has_waited();
                let Some((before, after)) = self.neighbours(corner) else {
                    continue;
                };
                let three = [before, corner, after];
                let gain = self.gain_of_left(three);
                let arc = self.arc_of(corner);
                if !has_waited && self.would_unbalance(arc, gain) {
                    self.corners[corner as usize].looks |= Standing::WAITED;
                    self.put(corner, area);
                } else if self.may_go(three, arc, gain) {
                    self.take_out(three, arc, gain);
                    any_went = true;
                } else {
                    refused.push(corner);
                }
            }
            // What stood in the way may have gone since.
            if !any_went || refused.is_empty() {
                return;
            }
            for corner in refused.drain(..) {
                if self.corners[corner as usize].is_kept() {
                    self.look_at(corner);
                }
            }
        }
    }

    fn place(&self, corner: u32) -> Corner {
        self.arcs.courses.values()[corner as usize]
    }

    /// The corner before and the one after that are still there; nothing for an end of an
    /// arc.
    fn neighbours(&self, corner: u32) -> Option<(u32, u32)> {
        let Standing { back, forth, .. } = self.corners[corner as usize];
        if back == 0 || forth == 0 {
            return None;
        }
        let (back, forth) = (u32::from(back), u32::from(forth));
        let (mut before, mut after) = (corner - back, corner + forth);
        // Both ends of an arc stay, so there is one to be found.
        while back == FAR && !self.corners[before as usize].is_kept() {
            before -= 1;
        }
        while forth == FAR && !self.corners[after as usize].is_kept() {
            after += 1;
        }
        Some((before, after))
    }

    fn arc_of(&self, corner: u32) -> u32 {
        let mut arc = self.arc_near[corner as usize / NOTED];
        while self.arcs.courses.end(arc as usize) <= corner as usize {
            arc += 1;
        }
        arc
    }

    /// Twice the area the left side of the arc gains when the corner goes.
    fn gain_of_left(&self, corners: [u32; 3]) -> i128 {
        let [before, here, after] = corners.map(|corner| self.place(corner).point());
        // A corner at which the arc turns left stands out to the right.
        -twice_area(before, here, after)
    }

    fn put(&mut self, corner: u32, area: u64) {
        let standing = &mut self.corners[corner as usize];
        standing.looks += 1;
        self.queue.put(area, standing.looks(), corner);
    }

    fn look_at(&mut self, corner: u32) {
        let Some((before, after)) = self.neighbours(corner) else {
            return;
        };
        self.corners[corner as usize].looks &= !Standing::WAITED;
        let area = self.gain_of_left([before, corner, after]).abs();
        match u64::try_from(area) {
            Ok(few) if area <= self.limit => self.put(corner, few),
            // Whatever lies in the queue for it is outdated.
            _ => self.corners[corner as usize].looks += 1,
        }
    }

    /// Whether an arc or a zone beside it would be led further from its true area
    /// than it should while others can lead it back.
    fn would_unbalance(&self, arc: u32, gain: i128) -> bool {
        let Arc { left, right, .. } = self.arcs.sides[arc as usize];
        let leads_off = |before: i128, gain: i128, bound: i128| {
            let after = (before + gain).abs();
            after > before.abs() && after > bound
        };
        let zone_leads_off = |label: u32, gain: i128| {
            label > 0
                && leads_off(
                    self.twice_gained[label as usize],
                    gain,
                    self.arcs.zones.twice_cells()[label as usize - 1] / SOUGHT_CHANGE,
                )
        };
        leads_off(self.balance[arc as usize], gain, BALANCE_TRIANGLES * self.limit)
            || zone_leads_off(left, gain)
            || zone_leads_off(right, -gain)
    }

    fn may_go(&self, three: [u32; 3], arc: u32, gain: i128) -> bool {
        let remaining = self.remaining[arc as usize];
        let arc = &self.arcs.sides[arc as usize];
        if arc.is_closed() {
            if remaining <= 4 {
                return false;
            }
        } else if remaining == 3
            && arc
                .nodes
                .is_some_and(|nodes| self.straight.contains(&sorted(nodes)))
        {
            return false;
        }
        let keeps_its_area = |label: u32, gain: i128| {
            if label == 0 {
                return true;
            }
            let before = self.twice_gained[label as usize];
            let after = before + gain;
            let cells = self.arcs.zones.twice_cells()[label as usize - 1];
            after.abs() <= before.abs() || after.abs() * GREATEST_CHANGE <= cells
        };
        if !(keeps_its_area(arc.left, gain) && keeps_its_area(arc.right, -gain)) {
            return false;
        }
        // In a flat triangle nothing can lie that does not lie on an edge already.
        gain == 0 || !self.index.any_in_triangle(three.map(|corner| self.place(corner)))
    }

    fn take_out(&mut self, [before, corner, after]: [u32; 3], arc: u32, gain: i128) {
        self.corners[corner as usize].looks |= Standing::GONE;
        let steps = u16::try_from((after - before).min(FAR)).unwrap_or(u16::MAX);
        self.corners[before as usize].forth = steps;
        self.corners[after as usize].back = steps;
        self.index.remove(self.place(corner));
        let Some(&sides) = self.arcs.sides.get(arc as usize) else {
            return;
        };
        self.remaining[arc as usize] -= 1;
        if let (2, Some(nodes)) = (self.remaining[arc as usize], sides.nodes) {
            self.straight.insert(sorted(nodes));
        }
        self.balance[arc as usize] += gain;
        self.twice_gained[sides.left as usize] += gain;
        self.twice_gained[sides.right as usize] -= gain;
        self.look_at(before);
        self.look_at(after);
    }
}

fn sorted((one, other): (u32, u32)) -> (u32, u32) {
    (one.min(other), one.max(other))
}
