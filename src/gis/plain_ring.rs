//! Polygons whose bytes and shape are plain: one ring that never meets itself. Most
//! polygons of a soil map are, and to see that takes a small part of what GEOS takes to
//! check any polygon. Whatever is not plain at sight is left to it.

use geo::kernels::RobustKernel;
use geo::{Coord, Kernel, LineString, Orientation, Polygon};

/// Pairs of edges for each edge that are looked at before a ring is given up.
const MOST_PAIRS: usize = 64;

/// Sizes of coordinates within which orientations are exact.
const EXACT: std::ops::Range<f64> = 1e-30..1e12;

/// The polygon in two dimensions of well-known bytes that hold one ring, closed, finite
/// and simple, so that the polygon is valid.
///
/// # Missing
/// Anything else, valid or not.
pub(super) fn plain_polygon(bytes: &[u8]) -> Option<Polygon<f64>> {
    let ring = only_ring(&mut Bytes(bytes))?;
    is_simple(&ring).then(|| Polygon::new(LineString(ring), Vec::new()))
}

/// Bytes that are taken off one after another, the low ones of a number first.
struct Bytes<'b>(&'b [u8]);

impl Bytes<'_> {
    fn take<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (first, rest) = self.0.split_first_chunk::<N>()?;
        self.0 = rest;
        Some(*first)
    }

    fn count(&mut self) -> Option<usize> {
        usize::try_from(u32::from_le_bytes(self.take()?)).ok()
    }

    /// The kind of a geometry, and how many numbers its corners have.
    fn kind(&mut self) -> Option<(u32, usize)> {
        const LOW_FIRST: [u8; 1] = [1];
        const HEIGHTS: u32 = 1 << 31;
        if self.take()? != LOW_FIRST {
            return None;
        }
        let kind = u32::from_le_bytes(self.take()?);
        let numbers = match (kind & HEIGHTS != 0, kind & !HEIGHTS) {
            (true, 0..1000) | (false, 1000..3000) => 3,
            (false, 0..1000) => 2,
            (false, 3000..4000) => 4,
            _ => return None,
        };
        Some(((kind & !HEIGHTS) % 1000, numbers))
    }
}

/// The corners of the only ring of a polygon, or of several of which there is one.
fn only_ring(bytes: &mut Bytes) -> Option<Vec<Coord<f64>>> {
    const POLYGON: u32 = 3;
    const SEVERAL: u32 = 6;
    let (mut kind, mut numbers) = bytes.kind()?;
    if kind == SEVERAL && bytes.count()? == 1 {
        (kind, numbers) = bytes.kind()?;
    }
    if kind != POLYGON || bytes.count()? != 1 {
        return None;
    }
    let corners = bytes.count()?;
    let number = |bytes: &mut Bytes| Some(f64::from_le_bytes(bytes.take()?));
    let whole = bytes.0.len() == corners.checked_mul(8 * numbers)?;
    let mut ring = Vec::with_capacity(if whole { corners } else { return None });
    for _ in 0..corners {
        let (x, y) = (number(bytes)?, number(bytes)?);
        for _ in 2..numbers {
            number(bytes)?;
        }
        ring.push(Coord { x, y });
    }
    Some(ring)
}

/// Whether a ring is closed and no two of its edges meet but at the corner between them.
/// No is said also where that is not plain.
fn is_simple(ring: &[Coord<f64>]) -> bool {
    let exact = |number: f64| number == 0.0 || EXACT.contains(&number.abs());
    if ring.first() != ring.last() || !ring.iter().all(|at| exact(at.x) && exact(at.y)) {
        return false;
    }
    let mut corners = ring.to_vec();
    corners.dedup();
    if corners.len() < 4 {
        return false;
    }
    // Swept over the longer way, fewer edges lie beside each other.
    let span = |of: fn(&Coord<f64>) -> f64| {
        let all = corners.iter().map(of);
        all.clone().fold(f64::MIN, f64::max) - all.fold(f64::MAX, f64::min)
    };
    if span(|at| at.x) < span(|at| at.y) {
        for at in &mut corners {
            (at.x, at.y) = (at.y, at.x);
        }
    }
    let edges: Vec<Edge> = corners
        .windows(2)
        .map(|ends| Edge::new(ends[0], ends[1]))
        .collect();
    let mut order: Vec<usize> = (0..edges.len()).collect();
    order.sort_unstable_by(|&one, &other| edges[one].west.total_cmp(&edges[other].west));
    let mut beside: Vec<usize> = Vec::new();
    let mut pairs = 0;
    for one in order {
        beside.retain(|&other| edges[other].east >= edges[one].west);
        pairs += beside.len();
        if pairs > MOST_PAIRS * edges.len() {
            return false;
        }
        for &other in &beside {
            let (first, second) = (one.min(other), one.max(other));
            let plain = match second - first {
                1 => edges[first].goes_on(&edges[second]),
                gap if gap == edges.len() - 1 => edges[second].goes_on(&edges[first]),
                _ => edges[first].is_apart(&edges[second]),
            };
            if !plain {
                return false;
            }
        }
        beside.push(one);
    }
    true
}

/// An edge with the box around it.
struct Edge {
    from: Coord<f64>,
    to: Coord<f64>,
    west: f64,
    east: f64,
    low: f64,
    high: f64,
}

impl Edge {
    fn new(from: Coord<f64>, to: Coord<f64>) -> Edge {
        Edge {
            from,
            to,
            west: from.x.min(to.x),
            east: from.x.max(to.x),
            low: from.y.min(to.y),
            high: from.y.max(to.y),
        }
    }

    /// Whether the next edge meets this one only at the corner between them.
    #[expect(clippy::float_cmp, reason = "level or upright to the last bit")]
    fn goes_on(&self, next: &Edge) -> bool {
        let between = |a: f64, b: f64, c: f64| (a < b && b < c) || (a > b && b > c);
        let (a, b, c) = (self.from, self.to, next.to);
        side(a, b, c) != Orientation::Collinear
            || between(a.x, b.x, c.x)
            || (a.x == b.x && b.x == c.x && between(a.y, b.y, c.y))
    }

    /// Whether an edge lies wholly on one side of the other.
    fn is_apart(&self, other: &Edge) -> bool {
        let beside = |line: &Edge, edge: &Edge| {
            let from = side(line.from, line.to, edge.from);
            from != Orientation::Collinear && from == side(line.from, line.to, edge.to)
        };
        self.high < other.low || other.high < self.low || beside(self, other) || beside(other, self)
    }
}

fn side(from: Coord<f64>, to: Coord<f64>, at: Coord<f64>) -> Orientation {
    RobustKernel::orient2d(from, to, at)
}

#[cfg(test)]
mod tests {
    use gdal::vector::Geometry;
    use proptest::prelude::*;

    use super::*;

    fn closed(mut ring: Vec<(f64, f64)>) -> Vec<Coord<f64>> {
        ring.push(ring[0]);
        ring.into_iter().map(Coord::from).collect()
    }

    fn read(ring: &[Coord<f64>], before: &str, after: &str) -> Geometry {
        let corners: Vec<String> = ring.iter().map(|at| format!("{:?} {:?}", at.x, at.y)).collect();
        Geometry::from_wkt(&format!("{before}{}{after}", corners.join(", "))).unwrap()
    }

    fn star(shares: &[f64]) -> Vec<Coord<f64>> {
        let corners = shares.iter().zip(0u32..).map(|(share, corner)| {
            let turn = f64::from(corner) / f64::from(u32::try_from(shares.len()).unwrap());
            let angle = turn * std::f64::consts::TAU;
            (
                4e5 + 90.0 * share * angle.cos(),
                5e6 + 300.0 * share * angle.sin(),
            )
        });
        closed(corners.collect())
    }

    #[test]
    fn shapes_that_meet_themselves_are_not_plain() {
        let ring = |corners: &[(f64, f64)]| is_simple(&closed(corners.to_vec()));
        let square = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)];
        assert!(ring(&square));
        // A corner on a straight edge, and one that stands twice.
        assert!(ring(&[
            (0.0, 0.0),
            (2.0, 0.0),
            (2.0, 0.0),
            (4.0, 0.0),
            (4.0, 4.0)
        ]));
        // A bow, a spike, a touch, a flat one.
        assert!(!ring(&[(0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 4.0)]));
        assert!(!ring(&[
            (0.0, 0.0),
            (4.0, 0.0),
            (4.0, 4.0),
            (4.0, 0.0),
            (0.0, -4.0)
        ]));
        assert!(!ring(&[
            (0.0, 0.0),
            (4.0, 0.0),
            (4.0, 4.0),
            (2.0, 0.0),
            (0.0, 4.0)
        ]));
        assert!(!ring(&[(0.0, 0.0), (4.0, 0.0)]));
        let open: Vec<Coord<f64>> = square.into_iter().map(Coord::from).collect();
        assert!(!is_simple(&open));
        assert!(!ring(&[(0.0, 0.0), (f64::NAN, 0.0), (4.0, 4.0)]));
    }

    #[test]
    fn only_one_ring_is_plain() {
        let square = closed(vec![(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]);
        let plain = |read: &Geometry| plain_polygon(&read.wkb().unwrap());
        let expected = Some(Polygon::new(LineString(square.clone()), Vec::new()));
        assert_eq!(plain(&read(&square, "POLYGON ((", "))")), expected);
        assert_eq!(plain(&read(&square, "MULTIPOLYGON (((", ")))")), expected);
        let hole = "), (1 1, 2 1, 2 2, 1 1))";
        assert_eq!(plain(&read(&square, "POLYGON ((", hole)), None);
        let second = ")), ((7 7, 8 7, 8 8, 7 7)))";
        assert_eq!(plain(&read(&square, "MULTIPOLYGON (((", second)), None);
        for text in [
            "POLYGON Z ((0 0 9, 4 0 9, 4 4 9, 0 4 9, 0 0 9))",
            "POLYGON ZM ((0 0 9 1, 4 0 9 1, 4 4 9 1, 0 4 9 1, 0 0 9 1))",
            "POLYGON M ((0 0 9, 4 0 9, 4 4 9, 0 4 9, 0 0 9))",
        ] {
            assert_eq!(plain(&Geometry::from_wkt(text).unwrap()), expected, "{text}");
        }
        for text in ["POLYGON EMPTY", "LINESTRING (0 0, 4 0, 4 4, 0 0)", "POINT (1 2)"] {
            assert_eq!(plain(&Geometry::from_wkt(text).unwrap()), None, "{text}");
        }
        let bytes = read(&square, "POLYGON ((", "))").wkb().unwrap();
        for end in 0..bytes.len() {
            assert_eq!(plain_polygon(&bytes[..end]), None);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]

        #[test]
        fn what_is_plain_is_valid(corners in proptest::collection::vec((0..6i32, 0..6i32), 3..9), bend in -1e-9..1e-9) {
            let at = |(number, &(x, y)): (usize, &(i32, i32))| {
                let bend = if number == 1 { bend } else { 0.0 };
                (4e5 + f64::from(x) / 3.0 + bend, 5e6 + f64::from(y) / 3.0)
            };
            let ring = closed(corners.iter().enumerate().map(at).collect());
            if is_simple(&ring) {
                prop_assert!(read(&ring, "POLYGON ((", "))").is_valid());
            }
        }

        #[test]
        fn stars_are_plain(shares in proptest::collection::vec(0.3..1.0, 4..200)) {
            prop_assert!(is_simple(&star(&shares)));
        }
    }
}
