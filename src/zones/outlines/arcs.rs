//! The arcs of all borders: each the course of one border between two corners
//! where three or four borders meet, or a closed course without such a corner.
//! Linked corners come in, arcs with the labels on their two sides go out.

use super::chains::Chains;
use super::error::OutlineError;
use super::rings::ZoneRings;
use super::vertex::{Arc, Corner, DIRECTIONS, NONE, RIGHT};
use super::vertices::Vertices;
use crate::zones::runs::narrow;

/// All borders of a site's zones as arcs in corners of the grid.
///
/// # Method
/// A node is a corner where three or four borders meet; a cross, where two cells
/// that touch only there share a label, is a node of degree four. Arcs are in the
/// order of their first node (row, then column) and of their direction there
/// (right, down, left, up); an arc is directed from the node that comes first.
/// Closed arcs without a node follow, in the order of their first corner, from
/// which they leave to the right.
#[derive(Debug, Clone, PartialEq)]
pub struct Arcs {
    pub(super) sides: Vec<Arc>,
    pub(super) courses: Chains<Corner>,
    pub(super) nodes: Vec<Corner>,
    pub(super) zones: ZoneRings,
}

impl Arcs {
    /// Follows the links between vertices from node to node, then the rest.
    pub(super) fn from_vertices(vertices: Vertices) -> Result<Arcs, OutlineError> {
        let corners = narrow(vertices.len());
        let mut tracer = Tracer::new(vertices);
        for node in 0..tracer.nodes.len() {
            let (start, row) = (tracer.nodes[node], tracer.places[node].row);
            for direction in 0..DIRECTIONS {
                if tracer.vertices.is_open(start, direction) {
                    let labels = tracer.labels[node];
                    tracer.follow(start, direction, labels, row);
                }
            }
        }
        let mut row = 0;
        for start in 0..corners {
            // The first corner of a closed arc is a north-west corner, or the
            // border would have come from above or from the left.
            if tracer.vertices.is_untouched(start) {
                row = tracer.vertices.corner(start, row).row;
                let labels = tracer.vertices.labels(start);
                tracer.follow(start, RIGHT, labels, row);
            }
        }
        let Tracer {
            vertices,
            arcs,
            courses,
            places,
            labels,
            leaving,
            arriving,
            ..
        } = tracer;
        drop(vertices);
        let most = arcs.iter().flat_map(|arc| [arc.left, arc.right]).max();
        let most = most.unwrap_or(0);
        let zones = ZoneRings::from_arcs(&arcs, &courses, &leaving, &arriving, &labels, most)?;
        Ok(Arcs {
            sides: arcs,
            courses,
            nodes: places,
            zones,
        })
    }

    /// The arcs in their order.
    #[must_use]
    pub fn arcs(&self) -> &[Arc] {
        &self.sides
    }

    /// The corners at which an arc turns, with both its ends; the last is the
    /// first again when the arc is closed.
    ///
    /// # Panics
    /// When there is no such arc.
    #[must_use]
    pub fn course(&self, arc: usize) -> &[Corner] {
        self.courses.get(arc)
    }

    /// Every corner of every border once: nodes, then what lies between them.
    pub(super) fn corners(&self) -> impl Iterator<Item = Corner> {
        let within = self
            .sides
            .iter()
            .zip(self.courses.iter())
            .flat_map(|(arc, course)| {
                // A closed arc without a node has its first corner once.
                let first = usize::from(arc.nodes.is_some());
                &course[first..course.len() - 1]
            });
        self.nodes.iter().chain(within).copied()
    }

    /// Number of zones: the greatest label.
    #[must_use]
    pub fn zones(&self) -> usize {
        self.zones.len()
    }
}

/// What is found while the links are followed.
struct Tracer {
    vertices: Vertices,
    arcs: Vec<Arc>,
    courses: Chains<Corner>,
    /// The vertex of each node.
    nodes: Vec<u32>,
    /// Where each node lies.
    places: Vec<Corner>,
    /// The labels around each node.
    labels: Vec<[u32; DIRECTIONS]>,
    /// For each node and direction the arc, with a side, that leaves there.
    leaving: Vec<[u32; DIRECTIONS]>,
    /// For each arc walked forward and backward: the direction of its last edge.
    arriving: Vec<[u8; 2]>,
}

impl Tracer {
    fn new(vertices: Vertices) -> Tracer {
        let (nodes, labels): (Vec<u32>, Vec<_>) = vertices.nodes().copied().unzip();
        let mut row = 0;
        let place = |&node: &u32| {
            let place = vertices.corner(node, row);
            row = place.row;
            place
        };
        let places = nodes.iter().map(place).collect();
        // Each link gives a corner, and each arc one more.
        let of_node = |&node: &u32| (0..DIRECTIONS).filter(|&d| vertices.is_open(node, d)).count();
        let ends: usize = nodes.iter().map(of_node).sum();
        Tracer {
            courses: Chains::with_capacity(ends / 2, vertices.links() + ends / 2),
            vertices,
            arcs: Vec::with_capacity(ends / 2),
            leaving: vec![[NONE; DIRECTIONS]; nodes.len()],
            arriving: Vec::with_capacity(ends / 2),
            nodes,
            places,
            labels,
        }
    }

    /// Follows one arc from a vertex to the next node, or round to its start, from which
    /// it leaves in a direction.
    fn follow(&mut self, start: u32, leaves: usize, labels: [u32; DIRECTIONS], row: u32) {
        let arc = narrow(self.arcs.len());
        let (mut at, mut direction) = (start, leaves);
        let mut place = self.vertices.corner(start, row);
        self.courses.extend_open(place);
        loop {
            self.vertices.mark(at, direction);
            at = self.vertices.next(at, direction);
            let back = (direction + 2) % DIRECTIONS;
            self.vertices.mark(at, back);
            place = self.vertices.corner(at, place.row);
            self.courses.extend_open(place);
            if self.vertices.is_node(at) || at == start {
                break;
            }
            direction = self.vertices.onward(at, back);
        }
        self.courses.close();
        let node = |vertex: u32| self.nodes.binary_search(&vertex).ok().map(narrow);
        let nodes = node(start).zip(node(at));
        if let Some((first, last)) = nodes {
            self.leaving[first as usize][leaves] = 2 * arc;
            self.leaving[last as usize][(direction + 2) % DIRECTIONS] = 2 * arc + 1;
        }
        self.arcs.push(Arc {
            left: labels[leaves],
            right: labels[(leaves + 1) % DIRECTIONS],
            nodes,
        });
        let heading = |direction: usize| u8::try_from(direction).unwrap_or(0);
        self.arriving
            .push([heading(direction), heading((leaves + 2) % DIRECTIONS)]);
    }
}
