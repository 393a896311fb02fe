//! Finds borders that meet where they should not, exactly, on whole-number points.
//! Chains of points come in, with the nodes they end at; the pairs of arcs that
//! cross, touch or run along each other go out.

use rayon::prelude::*;

use super::chains::Chains;
use super::lattice::{Point, reach_in_band, run_along, segments_meet};
use super::vertex::Arc;
use crate::zones::runs::narrow;

/// Two arcs, or twice the same, that meet where they should not, and near where.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Conflict {
    pub(super) arcs: (u32, u32),
    pub(super) near: Point,
}

/// One edge of an arc.
#[derive(Clone, Copy)]
struct Edge {
    ends: [Point; 2],
    arc: u32,
    at: u32,
}

/// The edges of all lines, numbered by their first point among all points, so that none
/// has to be held.
struct Edges<'a> {
    lines: &'a Chains<[i32; 2]>,
    /// The arc of each point.
    arcs: Vec<u32>,
}

impl<'a> Edges<'a> {
    fn new(lines: &'a Chains<[i32; 2]>) -> Edges<'a> {
        let mut arcs = Vec::with_capacity(lines.values().len());
        for (arc, line) in (0..).zip(lines.iter()) {
            arcs.resize(arcs.len() + line.len(), arc);
        }
        Edges { lines, arcs }
    }

    fn ends(&self, number: u32) -> [Point; 2] {
        let points = self.lines.values();
        [number, number + 1].map(|at| points[at as usize].into())
    }

    fn edge(&self, number: u32) -> Edge {
        let arc = self.arcs[number as usize];
        Edge {
            ends: self.ends(number),
            arc,
            at: number - narrow(self.lines.start(arc as usize)),
        }
    }

    /// The numbers of all edges.
    fn numbers(&self) -> impl Iterator<Item = u32> {
        let follows = |pair: &[u32]| pair[0] == pair[1];
        let pairs = (0..).zip(self.arcs.windows(2));
        pairs
            .filter(move |(_, pair)| follows(pair))
            .map(|(number, _)| number)
    }
}

/// Every pair of arcs with edges that meet anywhere but at an end they share, each
/// once, in order. An arc of a single point conflicts with itself.
pub(super) fn conflicts(arcs: &[Arc], lines: &Chains<[i32; 2]>) -> Vec<Conflict> {
    let mut found = Vec::new();
    for (arc, line) in (0u32..).zip(lines.iter()) {
        if let [near] = line {
            let arcs = (arc, arc);
            found.push(Conflict {
                arcs,
                near: (*near).into(),
            });
        }
    }
    let edges = Edges::new(lines);
    let last = |arc: u32| narrow(lines.get(arc as usize).len() - 1);
    let in_bucket = |bucket: &[u32]| {
        let mut found = Vec::new();
        for (place, &one) in bucket.iter().enumerate() {
            let ends = edges.ends(one);
            for &other in &bucket[place + 1..] {
                if !boxes_meet(ends, edges.ends(other)) {
                    continue;
                }
                let (one, other) = (edges.edge(one), edges.edge(other));
                if conflict(arcs, &last, &one, &other) {
                    let near = one.ends[0];
                    let arcs = (one.arc.min(other.arc), one.arc.max(other.arc));
                    found.push(Conflict { arcs, near });
                }
            }
        }
        found
    };
    let buckets = Buckets::new(&edges);
    found.par_extend(
        (0..buckets.ends.len())
            .into_par_iter()
            .with_min_len(256)
            .flat_map_iter(|number| in_bucket(buckets.of_number(number))),
    );
    found.sort_unstable();
    found.dedup_by_key(|conflict| conflict.arcs);
    found
}

fn boxes_meet([a, b]: [Point; 2], [c, d]: [Point; 2]) -> bool {
    let meet = |a: i64, b: i64, c: i64, d: i64| a.max(b) >= c.min(d) && c.max(d) >= a.min(b);
    meet(a.x, b.x, c.x, d.x) && meet(a.y, b.y, c.y, d.y)
}

/// Where an end of an edge lies in the net of arcs: equal for ends that are one.
#[derive(PartialEq, Eq)]
enum Joint {
    Node(u32),
    Within(u32, u32),
}

fn joint(arcs: &[Arc], last: &impl Fn(u32) -> u32, edge: &Edge, end: usize) -> Joint {
    let at = edge.at + narrow(end);
    match arcs[edge.arc as usize].nodes {
        Some((first, _)) if at == 0 => Joint::Node(first),
        Some((_, node)) if at == last(edge.arc) => Joint::Node(node),
        // A closed arc ends at its own start.
        None if at == last(edge.arc) => Joint::Within(edge.arc, 0),
        _ => Joint::Within(edge.arc, at),
    }
}

fn conflict(arcs: &[Arc], last: &impl Fn(u32) -> u32, one: &Edge, other: &Edge) -> bool {
    let mut shared = None;
    for mine in 0..2 {
        for theirs in 0..2 {
            if joint(arcs, last, one, mine) == joint(arcs, last, other, theirs) {
                if shared.is_some() {
                    return true; // both ends: one edge twice
                }
                shared = Some((mine, theirs));
            }
        }
    }
    match shared {
        Some((mine, theirs)) => run_along(one.ends[mine], one.ends[1 - mine], other.ends[1 - theirs]),
        None => segments_meet(one.ends, other.ends),
    }
}

/// Edges by square bucket of the plane.
struct Buckets {
    ends: Vec<u32>,
    edges: Vec<u32>,
}

impl Buckets {
    fn new(edges: &Edges) -> Buckets {
        let points = || edges.lines.values().iter().map(|&point| Point::from(point));
        let west = points().map(|point| point.x).min().unwrap_or(0);
        let east = points().map(|point| point.x).max().unwrap_or(0);
        let south = points().map(|point| point.y).min().unwrap_or(0);
        let north = points().map(|point| point.y).max().unwrap_or(0);
        let count = i128::try_from(edges.arcs.len().max(16)).unwrap_or(i128::MAX);
        // The side of a bucket is two to this power.
        let mut power = 0;
        let buckets_of = |length: i64, power: u32| i128::from((length >> power) + 1);
        while buckets_of(east - west, power) * buckets_of(north - south, power) > count {
            power += 1;
        }
        let index = |value: i64| usize::try_from(value >> power).unwrap_or(0);
        let cols = index(east - west) + 1;
        let rows = index(north - south) + 1;
        // Each edge in every bucket it may touch.
        let each = |number: u32, put: &mut dyn FnMut(usize)| {
            let ends = edges.ends(number).map(|end| Point {
                x: end.x - west,
                y: end.y - south,
            });
            let (first, last) = (index(ends[0].y.min(ends[1].y)), index(ends[0].y.max(ends[1].y)));
            if first == last {
                let (from, to) = (index(ends[0].x.min(ends[1].x)), index(ends[0].x.max(ends[1].x)));
                (from..=to).for_each(|col| put(first * cols + col));
                return;
            }
            let side = 1 << power;
            let mut low = ends[0].y.min(ends[1].y) >> power << power;
            for row in first..=last {
                if let Some((from, to)) = reach_in_band(ends, low, low + side) {
                    let to = index(to).min(cols - 1);
                    (index(from.max(0))..=to).for_each(|col| put(row * cols + col));
                }
                low += side;
            }
        };
        let mut ends = vec![0u32; rows * cols];
        for edge in edges.numbers() {
            each(edge, &mut |bucket| ends[bucket] += 1);
        }
        let mut sum = 0;
        for end in &mut ends {
            // The start for now; filling moves it to the end.
            (*end, sum) = (sum, sum + *end);
        }
        let mut sorted = vec![0; sum as usize];
        for edge in edges.numbers() {
            each(edge, &mut |bucket| {
                sorted[ends[bucket] as usize] = edge;
                ends[bucket] += 1;
            });
        }
        Buckets { ends, edges: sorted }
    }

    /// The edges of a bucket.
    fn of_number(&self, bucket: usize) -> &[u32] {
        let start = if bucket == 0 { 0 } else { self.ends[bucket - 1] };
        &self.edges[start as usize..self.ends[bucket] as usize]
    }
}
