//! Whether two regions share a border, a corner included.

use geo::{CoordsIter, Distance, Euclidean, Line, LinesIter, MultiPolygon, Point};

use super::regions::Region;
use crate::grid::Extent;

/// Whether two regions come as near as `within_m`, or overlap.
///
/// # Method
/// Two outlines that do not cross are nearest at a vertex of one of them, so vertices of
/// each are held against the edges of the other, where both extents reach.
pub(super) fn adjoin(one: &Region, other: &Region, within_m: f64) -> bool {
    let Some(shared) = one
        .extent
        .grown(within_m)
        .intersection(&other.extent.grown(within_m))
    else {
        return false;
    };
    let shared = shared.grown(within_m);
    meets(one, other, &shared, within_m) || meets(other, one, &shared, within_m)
}

fn meets(one: &Region, other: &Region, shared: &Extent, within_m: f64) -> bool {
    let edges: Vec<Line<f64>> = other
        .polygons
        .iter()
        .flat_map(LinesIter::lines_iter)
        .filter(|edge| reaches(edge, shared))
        .collect();
    let points = one.polygons.iter().flat_map(CoordsIter::coords_iter);
    points
        .filter(|point| holds(shared, point.x, point.y))
        .any(|point| {
            let near = |edge: &Line<f64>| Euclidean.distance(&Point(point), edge) <= within_m;
            other.holds([point.x, point.y]) || edges.iter().any(near)
        })
}

fn holds(extent: &Extent, x: f64, y: f64) -> bool {
    (extent.west..=extent.east).contains(&x) && (extent.south..=extent.north).contains(&y)
}

fn reaches(edge: &Line<f64>, extent: &Extent) -> bool {
    let (start, end) = (edge.start, edge.end);
    start.x.min(end.x) <= extent.east
        && start.x.max(end.x) >= extent.west
        && start.y.min(end.y) <= extent.north
        && start.y.max(end.y) >= extent.south
}

/// What a polygon covers; nothing where it has no points.
pub(super) fn extent_of(polygon: &MultiPolygon<f64>) -> Option<Extent> {
    Extent::around(polygon.coords_iter().map(|point| (point.x, point.y)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Rect, coord};

    fn square(west: f64, south: f64, side: f64) -> Region {
        let corner = coord! { x: west, y: south };
        let far = coord! { x: west + side, y: south + side };
        let polygon = MultiPolygon::new(vec![Rect::new(corner, far).to_polygon()]);
        Region {
            key: String::new(),
            extent: extent_of(&polygon).unwrap(),
            polygons: vec![polygon],
        }
    }

    #[test]
    fn a_border_a_corner_and_a_sliver_adjoin_and_a_gap_does_not() {
        let one = square(0.0, 0.0, 1_000.0);
        for (west, south, side, expected) in [
            (1_000.0, 0.0, 1_000.0, true),
            (1_000.0, 300.0, 100.0, true),
            (1_000.0, 1_000.0, 500.0, true),
            (1_008.0, 0.0, 1_000.0, true),
            (1_012.0, 0.0, 1_000.0, false),
            (400.0, 400.0, 10.0, true),
            (1_008.0, 1_008.0, 500.0, false),
        ] {
            let other = square(west, south, side);
            assert_eq!(adjoin(&one, &other, 10.0), expected, "{west} {south} {side}");
            assert_eq!(adjoin(&other, &one, 10.0), expected, "{west} {south} {side}");
        }
    }
}
