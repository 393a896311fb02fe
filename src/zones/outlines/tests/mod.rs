//! Outlines of drawn and of random zone labels, held against plain counts of cells
//! and against every pair of edges.

mod drawn;
mod geographic;
mod place;
mod random;

use std::collections::{BTreeMap, BTreeSet};

use geo::{LineString, Polygon, Validation};

use super::drawing::Labels;
use super::lattice::{Point, run_along, segments_meet, twice_area_under};
use super::{Arcs, Corner, SimplifiedArcs};

/// An edge from one point to another.
type Edge = (Point, Point);

/// The rings of a zone: the exterior, then the holes.
type Rings = Vec<Vec<Point>>;

/// The rings of all zones, from the course of each arc.
fn rings_of<'a>(arcs: &Arcs, course: impl Fn(usize) -> &'a [Corner]) -> Vec<Rings> {
    let points = |ring: u32| -> Vec<Point> {
        let corners = arcs.zones.points(ring as usize, &course);
        corners.into_iter().map(Corner::point).collect()
    };
    (0..arcs.zones())
        .map(|zone| {
            let (exterior, holes) = arcs.zones.of_zone(zone);
            [exterior].iter().chain(holes).map(|&ring| points(ring)).collect()
        })
        .collect()
}

fn original_rings(arcs: &Arcs) -> Vec<Rings> {
    rings_of(arcs, |arc| arcs.course(arc))
}

fn simplified_rings(simplified: &SimplifiedArcs<'_>) -> Vec<Rings> {
    rings_of(simplified.original, |arc| simplified.course(arc))
}

fn edges(rings: &Rings) -> impl Iterator<Item = Edge> {
    rings
        .iter()
        .flat_map(|ring| ring.windows(2).map(|pair| (pair[0], pair[1])))
}

/// Cuts straight edges into edges one cell long.
fn unit_edges(rings: &Rings) -> Vec<Edge> {
    edges(rings)
        .flat_map(|(from, to)| {
            let length = (to.x - from.x).abs() + (to.y - from.y).abs();
            let (dx, dy) = ((to.x - from.x).signum(), (to.y - from.y).signum());
            (0..length).map(move |step| {
                let at = |step: i64| Point {
                    x: from.x + dx * step,
                    y: from.y + dy * step,
                };
                (at(step), at(step + 1))
            })
        })
        .collect()
}

/// The sides of a label's cells that face another label, the label on their left.
fn sides_of_cells(labels: &Labels, label: u32) -> BTreeSet<Edge> {
    let mut sides = BTreeSet::new();
    for row in 0..i64::from(labels.rows) {
        for col in 0..i64::from(labels.cols) {
            if labels.at(row, col) != label {
                continue;
            }
            let corner = |down: i64, right: i64| Point {
                x: col + right,
                y: -(row + down),
            };
            let around = [
                (labels.at(row + 1, col), corner(1, 0), corner(1, 1)),
                (labels.at(row, col + 1), corner(1, 1), corner(0, 1)),
                (labels.at(row - 1, col), corner(0, 1), corner(0, 0)),
                (labels.at(row, col - 1), corner(0, 0), corner(1, 0)),
            ];
            for (beyond, from, to) in around {
                if beyond != label {
                    sides.insert((from, to));
                }
            }
        }
    }
    sides
}

/// Outlines hold exactly the sides of the cells, and their areas are the cells'.
fn assert_true_to_cells(labels: &Labels, zones: &[Rings]) {
    let counts = labels.counts();
    assert_eq!(zones.len(), counts.len());
    for ((label, rings), count) in (1u32..).zip(zones).zip(counts) {
        let drawn = unit_edges(rings);
        let as_set: BTreeSet<Edge> = drawn.iter().copied().collect();
        assert_eq!(
            drawn.len(),
            as_set.len(),
            "an edge twice in the outline of {label}"
        );
        assert_eq!(as_set, sides_of_cells(labels, label), "the outline of {label}");
        assert_eq!(twice_area(rings), 2 * i128::from(count), "the area of {label}");
    }
}

fn twice_area(rings: &Rings) -> i128 {
    rings
        .iter()
        .map(|ring| twice_area_under(ring.iter().copied()))
        .sum()
}

/// Rings are closed, simple and rightly turned; an edge is passed once each way at
/// most; every edge between two zones is passed both ways; no two edges meet but at
/// their ends; polygons are valid.
fn assert_sound(zones: &[Rings], edges_to_unrated: usize) {
    let mut passed: BTreeMap<Edge, u32> = BTreeMap::new();
    for (zone, rings) in zones.iter().enumerate() {
        for (at, ring) in rings.iter().enumerate() {
            assert_eq!(ring.first(), ring.last(), "closed");
            assert!(ring.len() >= 4, "zone {zone}: ring {ring:?}");
            let area = twice_area_under(ring.iter().copied());
            assert_eq!(
                area.signum(),
                if at == 0 { 1 } else { -1 },
                "zone {zone}: {ring:?}"
            );
            let corners: BTreeSet<&Point> = ring.iter().collect();
            assert_eq!(
                corners.len(),
                ring.len() - 1,
                "zone {zone}: ring meets itself {ring:?}"
            );
        }
        assert!(twice_area(rings) > 0);
        assert_valid(rings);
        for edge in edges(rings) {
            *passed.entry(edge).or_default() += 1;
        }
    }
    assert!(
        passed.values().all(|&count| count == 1),
        "an edge passed twice one way"
    );
    let alone = passed
        .keys()
        .filter(|&&(from, to)| !passed.contains_key(&(to, from)))
        .count();
    assert_eq!(alone, edges_to_unrated, "edges with a zone on one side only");
    let once: Vec<Edge> = passed
        .keys()
        .copied()
        .filter(|&(from, to)| from < to || !passed.contains_key(&(to, from)))
        .collect();
    for (at, one) in once.iter().enumerate() {
        for other in &once[at + 1..] {
            assert!(!meet_wrongly(*one, *other), "{one:?} meets {other:?}");
        }
    }
}

/// Whether two different edges meet anywhere but at an end of both.
fn meet_wrongly(one: Edge, other: Edge) -> bool {
    let (a, b) = one;
    let (c, d) = other;
    for (shared, mine) in [(a, b), (b, a)] {
        for (end, theirs) in [(c, d), (d, c)] {
            if shared == end {
                return mine == theirs || run_along(shared, mine, theirs);
            }
        }
    }
    segments_meet([a, b], [c, d])
}

fn assert_valid(rings: &Rings) {
    #[expect(clippy::cast_precision_loss, reason = "small numbers")]
    let line = |ring: &Vec<Point>| -> LineString<f64> {
        ring.iter()
            .map(|point| (point.x as f64, point.y as f64))
            .collect()
    };
    let polygon = Polygon::new(line(&rings[0]), rings[1..].iter().map(line).collect());
    assert!(polygon.is_valid(), "{:?}: {rings:?}", polygon.validation_errors());
}

/// Edges of arcs that have a zone on one side only.
fn edges_to_unrated<P>(arcs: &Arcs, course: impl Fn(usize) -> P) -> usize
where
    P: IntoIterator,
    P::IntoIter: ExactSizeIterator,
{
    let to_unrated = arcs
        .arcs()
        .iter()
        .enumerate()
        .filter(|(_, arc)| arc.left == 0 || arc.right == 0);
    to_unrated.map(|(at, _)| course(at).into_iter().len() - 1).sum()
}

/// Everything that holds of labels before and after simplifying.
fn assert_outlines(labels: &Labels, tolerance_cells: f64) {
    let arcs = labels.arcs();
    let before = original_rings(&arcs);
    assert_true_to_cells(labels, &before);
    assert_sound(&before, edges_to_unrated(&arcs, |arc| arcs.course(arc)));
    let grid = labels.grid(300.0, -200.0, 10.0);
    let simplified = arcs.simplified(&grid, tolerance_cells * 10.0);
    let after = simplified_rings(&simplified);
    assert_sound(&after, edges_to_unrated(&arcs, |arc| simplified.course(arc)));
    for ((rings, change), count) in after.iter().zip(simplified.area_changes()).zip(labels.counts()) {
        #[expect(clippy::cast_precision_loss, reason = "small numbers")]
        let (cells_m2, after_m2) = (count as f64 * 100.0, twice_area(rings) as f64 * 50.0);
        assert_eq!(change.area_before_m2, cells_m2);
        assert_eq!(change.area_after_m2, after_m2);
        assert!((after_m2 - cells_m2).abs() <= cells_m2 / 50.0);
    }
}
