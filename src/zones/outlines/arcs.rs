//! The arcs of all borders: each the course of one border between two corners
//! where three or four borders meet, or a closed course without such a corner.
//! Linked corners come in, arcs with the labels on their two sides go out.

use super::chains::Chains;
use super::error::OutlineError;
use super::rings::ZoneRings;
use super::vertex::{Arc, Corner, DIRECTIONS, NONE, Vertex};
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
    pub(super) fn from_vertices(vertices: Vec<Vertex>) -> Result<Arcs, OutlineError> {
        let mut tracer = Tracer::new(&vertices);
        for start in tracer.nodes.clone() {
            for direction in 0..DIRECTIONS {
                if vertices[start].links[direction] != NONE && !tracer.passed[start][direction] {
                    tracer.follow(start, direction);
                }
            }
        }
        for start in 0..vertices.len() {
            // The first corner of a closed arc is a north-west corner, or the
            // border would have come from above or from the left.
            if tracer.passed[start] == [false; DIRECTIONS] {
                tracer.follow(start, 0);
            }
        }
        let labels = vertices
            .iter()
            .flat_map(|vertex| vertex.labels)
            .max()
            .unwrap_or(0);
        let Tracer {
            arcs,
            courses,
            nodes,
            leaving,
            arriving,
            ..
        } = tracer;
        let node_labels: Vec<_> = nodes.iter().map(|&vertex| vertices[vertex].labels).collect();
        let nodes = nodes.iter().map(|&vertex| vertices[vertex].at).collect();
        drop(vertices);
        let zones = ZoneRings::from_arcs(&arcs, &courses, &leaving, &arriving, &node_labels, labels)?;
        Ok(Arcs {
            sides: arcs,
            courses,
            nodes,
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

    /// Number of zones: the greatest label.
    #[must_use]
    pub fn zones(&self) -> usize {
        self.zones.len()
    }
}

/// What is found while the links are followed.
struct Tracer<'a> {
    vertices: &'a [Vertex],
    node_of: Vec<u32>,
    passed: Vec<[bool; DIRECTIONS]>,
    arcs: Vec<Arc>,
    courses: Chains<Corner>,
    /// The vertex of each node.
    nodes: Vec<usize>,
    /// For each node and direction the arc, with a side, that leaves there.
    leaving: Vec<[u32; DIRECTIONS]>,
    /// For each arc walked forward and backward: the direction of its last edge.
    arriving: Vec<[usize; 2]>,
}

impl<'a> Tracer<'a> {
    fn new(vertices: &'a [Vertex]) -> Tracer<'a> {
        let mut nodes = Vec::new();
        let node_of = vertices
            .iter()
            .enumerate()
            .map(|(at, vertex)| {
                if vertex.is_node() {
                    nodes.push(at);
                    narrow(nodes.len() - 1)
                } else {
                    NONE
                }
            })
            .collect();
        Tracer {
            vertices,
            node_of,
            passed: vec![[false; DIRECTIONS]; vertices.len()],
            arcs: Vec::new(),
            courses: Chains::default(),
            leaving: vec![[NONE; DIRECTIONS]; nodes.len()],
            nodes,
            arriving: Vec::new(),
        }
    }

    /// Follows one arc from a vertex to the next node, or round to its start.
    fn follow(&mut self, start: usize, leaves: usize) {
        let arc = narrow(self.arcs.len());
        let (mut at, mut direction) = (start, leaves);
        self.courses.extend_open(self.vertices[start].at);
        loop {
            self.passed[at][direction] = true;
            at = self.vertices[at].links[direction] as usize;
            let back = (direction + 2) % DIRECTIONS;
            self.passed[at][back] = true;
            self.courses.extend_open(self.vertices[at].at);
            if self.node_of[at] != NONE || at == start {
                break;
            }
            let links = &self.vertices[at].links;
            direction = (0..DIRECTIONS)
                .find(|&onward| onward != back && links[onward] != NONE)
                .unwrap_or(back);
        }
        self.courses.close();
        let nodes = if self.node_of[start] == NONE {
            None
        } else {
            let (first, last) = (self.node_of[start], self.node_of[at]);
            self.leaving[first as usize][leaves] = 2 * arc;
            self.leaving[last as usize][(direction + 2) % DIRECTIONS] = 2 * arc + 1;
            Some((first, last))
        };
        let labels = &self.vertices[start].labels;
        self.arcs.push(Arc {
            left: labels[leaves],
            right: labels[(leaves + 1) % DIRECTIONS],
            nodes,
        });
        self.arriving.push([direction, (leaves + 2) % DIRECTIONS]);
    }
}
