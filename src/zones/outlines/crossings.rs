//! Finds borders that meet where they should not, exactly, on whole-number points.
//! Chains of points come in, with the nodes they end at; the pairs of arcs that
//! cross, touch or run along each other go out.

use rayon::prelude::*;

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

/// Every pair of arcs with edges that meet anywhere but at an end they share, each
/// once, in order. An arc of a single point conflicts with itself.
pub(super) fn conflicts(arcs: &[Arc], lines: &[Vec<Point>]) -> Vec<Conflict> {
    let mut edges = Vec::new();
    let mut found = Vec::new();
    for (arc, line) in (0u32..).zip(lines) {
        for (at, ends) in (0u32..).zip(line.windows(2)) {
            let ends = [ends[0], ends[1]];
            edges.push(Edge { ends, arc, at });
        }
        if let [near] = line.as_slice() {
            let arcs = (arc, arc);
            found.push(Conflict { arcs, near: *near });
        }
    }
    let last = |arc: u32| narrow(lines[arc as usize].len() - 1);
    let in_bucket = |bucket: &[u32]| {
        let mut found = Vec::new();
        for (place, &one) in bucket.iter().enumerate() {
            let one = &edges[one as usize];
            for &other in &bucket[place + 1..] {
                let other = &edges[other as usize];
                if boxes_meet(one, other) && conflict(arcs, &last, one, other) {
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

fn boxes_meet(one: &Edge, other: &Edge) -> bool {
    let meet = |a: i64, b: i64, c: i64, d: i64| a.max(b) >= c.min(d) && c.max(d) >= a.min(b);
    let ([a, b], [c, d]) = (one.ends, other.ends);
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
    ends: Vec<usize>,
    edges: Vec<u32>,
}

impl Buckets {
    fn new(edges: &[Edge]) -> Buckets {
        let points = || edges.iter().flat_map(|edge| edge.ends);
        let west = points().map(|point| point.x).min().unwrap_or(0);
        let east = points().map(|point| point.x).max().unwrap_or(0);
        let south = points().map(|point| point.y).min().unwrap_or(0);
        let north = points().map(|point| point.y).max().unwrap_or(0);
        let count = i128::try_from(edges.len().max(16)).unwrap_or(i128::MAX);
        let mut side = 1i64;
        let buckets_of = |length: i64, side: i64| i128::from(length / side + 1);
        while buckets_of(east - west, side) * buckets_of(north - south, side) > count {
            side *= 2;
        }
        let index = |value: i64| usize::try_from(value / side).unwrap_or(0);
        let cols = index(east - west) + 1;
        let rows = index(north - south) + 1;
        // Each edge in every bucket it may touch.
        let each = |edge: &Edge, put: &mut dyn FnMut(usize)| {
            let ends = edge.ends.map(|end| Point {
                x: end.x - west,
                y: end.y - south,
            });
            let (first, last) = (index(ends[0].y.min(ends[1].y)), index(ends[0].y.max(ends[1].y)));
            let mut low = ends[0].y.min(ends[1].y) / side * side;
            for row in first..=last {
                if let Some((from, to)) = reach_in_band(ends, low, low + side) {
                    let to = index(to).min(cols - 1);
                    (index(from.max(0))..=to).for_each(|col| put(row * cols + col));
                }
                low += side;
            }
        };
        let mut ends = vec![0; rows * cols];
        for edge in edges {
            each(edge, &mut |bucket| ends[bucket] += 1);
        }
        let mut sum = 0;
        for end in &mut ends {
            // The start for now; filling moves it to the end.
            (*end, sum) = (sum, sum + *end);
        }
        let mut sorted = vec![0; sum];
        for (number, edge) in (0u32..).zip(edges) {
            each(edge, &mut |bucket| {
                sorted[ends[bucket]] = number;
                ends[bucket] += 1;
            });
        }
        Buckets { ends, edges: sorted }
    }

    /// The edges of a bucket.
    fn of_number(&self, bucket: usize) -> &[u32] {
        let start = if bucket == 0 { 0 } else { self.ends[bucket - 1] };
        &self.edges[start..self.ends[bucket]]
    }
}
