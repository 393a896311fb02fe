//! Exact questions about points with whole-number coordinates: turns, triangles,
//! segments that meet. x runs to the east, y to the north. Coordinates stay below
//! 2^32, so that every product fits.

/// A point with whole-number coordinates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Point {
    /// To the east.
    pub(super) x: i64,
    /// To the north.
    pub(super) y: i64,
}

impl From<[i32; 2]> for Point {
    fn from([x, y]: [i32; 2]) -> Point {
        Point {
            x: x.into(),
            y: y.into(),
        }
    }
}

/// Twice the signed area of the triangle a, b, c: above 0 when it turns left.
pub(super) fn twice_area(a: Point, b: Point, c: Point) -> i128 {
    i128::from(b.x - a.x) * i128::from(c.y - a.y) - i128::from(b.y - a.y) * i128::from(c.x - a.x)
}

/// Twice the signed area between the x axis and a chain; for a closed chain twice
/// the area it holds, above 0 when it runs counter-clockwise.
pub(super) fn twice_area_under(points: impl IntoIterator<Item = Point>) -> i128 {
    let mut points = points.into_iter();
    let Some(mut before) = points.next() else { return 0 };
    let mut sum = 0;
    for point in points {
        sum += i128::from(before.x) * i128::from(point.y) - i128::from(before.y) * i128::from(point.x);
        before = point;
    }
    sum
}

/// Whether a point lies in a triangle or on its border.
pub(super) fn in_closed_triangle(point: Point, [a, b, c]: [Point; 3]) -> bool {
    let turns = [
        twice_area(a, b, point),
        twice_area(b, c, point),
        twice_area(c, a, point),
    ];
    // All zero only when the triangle is flat: then the box decides.
    let within = |low: i64, value: i64, high: i64| (low..=high).contains(&value);
    within(a.x.min(b.x).min(c.x), point.x, a.x.max(b.x).max(c.x))
        && within(a.y.min(b.y).min(c.y), point.y, a.y.max(b.y).max(c.y))
        && (turns.iter().all(|&turn| turn >= 0) || turns.iter().all(|&turn| turn <= 0))
}

/// Whether two segments without a shared end have any point in common.
pub(super) fn segments_meet([a, b]: [Point; 2], [c, d]: [Point; 2]) -> bool {
    let apart = |a: i64, b: i64, c: i64, d: i64| a.max(b) < c.min(d) || c.max(d) < a.min(b);
    if apart(a.x, b.x, c.x, d.x) || apart(a.y, b.y, c.y, d.y) {
        return false;
    }
    let divides = |a: Point, b: Point, c: Point, d: Point| {
        twice_area(a, b, c).signum() * twice_area(a, b, d).signum() <= 0
    };
    divides(a, b, c, d) && divides(c, d, a, b)
}

/// Whether two segments that share the end `shared` run along each other.
pub(super) fn run_along(shared: Point, one: Point, other: Point) -> bool {
    let along = i128::from(one.x - shared.x) * i128::from(other.x - shared.x)
        + i128::from(one.y - shared.y) * i128::from(other.y - shared.y);
    twice_area(shared, one, other) == 0 && along > 0
}

/// The least and greatest x of the part of a segment with y in `low..=high`,
/// rounded outward, or nothing when no part lies there.
pub(super) fn reach_in_band([a, b]: [Point; 2], low: i64, high: i64) -> Option<(i64, i64)> {
    let (lower, upper) = if a.y <= b.y { (a, b) } else { (b, a) };
    if upper.y < low || lower.y > high {
        return None;
    }
    let at = |y: i64| -> (i64, i64) {
        if y == lower.y {
            return (lower.x, lower.x);
        }
        if y == upper.y {
            return (upper.x, upper.x);
        }
        let run = i128::from(upper.x - lower.x) * i128::from(y - lower.y);
        let steps = i128::from(upper.y - lower.y);
        let down = i64::try_from(run.div_euclid(steps)).unwrap_or(0) + lower.x;
        (down, down + 1)
    };
    if lower.y == upper.y {
        return Some((lower.x.min(upper.x), lower.x.max(upper.x)));
    }
    let (first, second) = (at(lower.y.max(low)), at(upper.y.min(high)));
    Some((first.0.min(second.0), first.1.max(second.1)))
}
