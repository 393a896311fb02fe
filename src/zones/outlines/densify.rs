//! Courses of arcs in longitude and latitude: each edge is cut until a straight
//! line in longitude and latitude stays near the edge on the map. Knows no
//! coordinate system, only the function that projects.

use super::bends::Bends;
use super::chains::Chains;
use super::error::GeographicError;

/// A function that turns map coordinates into longitude and latitude in degrees.
pub(super) type Project<'a, E> = &'a dyn Fn(&mut [(f64, f64)]) -> Result<(), E>;

/// Metres in a degree, not fewer than anywhere on the earth (a degree of latitude
/// at the poles of the WGS 84 ellipsoid has 111,694 m).
pub(super) const GREATEST_DEGREE_M: f64 = 111_700.0;

/// Pieces beyond which an edge is given up.
const GREATEST_PIECES: u32 = 1 << 14;

/// Map points that are projected at once.
const POINTS_AT_ONCE: usize = 1 << 16;

/// An edge and how many pieces it is cut into.
struct Edge {
    from: (f64, f64),
    to: (f64, f64),
    pieces: u32,
    /// Longitude and latitude where it is cut.
    cuts: Vec<(f64, f64)>,
}

impl Edge {
    fn at(&self, share: f64) -> (f64, f64) {
        let along = |from: f64, to: f64| from + (to - from) * share;
        (along(self.from.0, self.to.0), along(self.from.1, self.to.1))
    }

    /// The points that try the edge with its present number of pieces: of each piece
    /// the points at a third and at two thirds, then its end. Two, because a course
    /// that bends one way and then the other passes through the middle.
    fn trial(&self) -> impl Iterator<Item = (f64, f64)> {
        let thirds = self.pieces * 3;
        (1..thirds).map(move |third| self.at(f64::from(third) / f64::from(thirds)))
    }
}

/// Longitude and latitude of each course, with the points added that keep chords
/// within `tolerance_m` metres. `bends` is made for that tolerance and remembers ground.
///
/// # Method
/// An edge is tried at its thirds, and cut in half again and again until all its
/// pieces pass. Edges that lie in a block of ground on which the projection hardly
/// bends (see [`Bends`]) pass without a trial.
pub(super) fn densified<E: std::error::Error + 'static>(
    courses: &[Vec<(f64, f64)>],
    tolerance_m: f64,
    project: Project<'_, E>,
    bends: &mut Bends,
) -> Result<Chains<(f64, f64)>, GeographicError<E>> {
    let mut done = Chains::default();
    let mut rest = courses;
    while !rest.is_empty() {
        let mut points = 0;
        let fits = rest.iter().take_while(|course| {
            points += course.len();
            points <= POINTS_AT_ONCE
        });
        let (now, later) = rest.split_at(fits.count().max(1));
        bends.look_at(now, project);
        densify_some(now, tolerance_m, project, bends, &mut done)?;
        rest = later;
    }
    Ok(done)
}

fn densify_some<E: std::error::Error + 'static>(
    courses: &[Vec<(f64, f64)>],
    tolerance_m: f64,
    project: Project<'_, E>,
    bends: &Bends,
    done: &mut Chains<(f64, f64)>,
) -> Result<(), GeographicError<E>> {
    let map: Vec<(f64, f64)> = courses.concat();
    let geographic = projected(&map, project)?;
    // Only edges that may bend, with the position of their first point.
    let mut edges = Vec::new();
    let mut ends = Vec::new();
    let mut starts = Vec::new();
    let mut at = 0;
    for course in courses {
        for pair in course.windows(2) {
            if !bends.are_small(pair[0], pair[1]) {
                edges.push(Edge {
                    from: pair[0],
                    to: pair[1],
                    pieces: 1,
                    cuts: Vec::new(),
                });
                ends.push([geographic[at], geographic[at + 1]]);
                starts.push(at);
            }
            at += 1;
        }
        at += 1;
    }
    cut_until_near(&mut edges, &ends, tolerance_m, project)?;
    let mut cut = starts.iter().zip(&edges).peekable();
    let mut at = 0;
    for course in courses {
        for _ in course {
            done.extend_open(geographic[at]);
            if let Some((_, edge)) = cut.next_if(|&(&start, _)| start == at) {
                edge.cuts.iter().for_each(|&point| done.extend_open(point));
            }
            at += 1;
        }
        done.close();
    }
    Ok(())
}

/// Doubles the pieces of each edge until all its chords are near enough.
fn cut_until_near<E: std::error::Error + 'static>(
    edges: &mut [Edge],
    ends: &[[(f64, f64); 2]],
    tolerance_m: f64,
    project: Project<'_, E>,
) -> Result<(), GeographicError<E>> {
    let mut open: Vec<usize> = (0..edges.len()).collect();
    while !open.is_empty() {
        let trials: Vec<(f64, f64)> = open.iter().flat_map(|&edge| edges[edge].trial()).collect();
        let trials = projected(&trials, project)?;
        let mut trials = trials.as_slice();
        let mut still_open = Vec::new();
        for number in open {
            let edge = &mut edges[number];
            let (trial, later) = trials.split_at(edge.pieces as usize * 3 - 1);
            trials = later;
            let [from, to] = ends[number];
            let points: Vec<(f64, f64)> = [from]
                .into_iter()
                .chain(trial.iter().copied())
                .chain([to])
                .collect();
            // Of a plain bend the thirds show eight ninths.
            let off_m = points
                .chunks_exact(3)
                .zip(points[3..].iter().step_by(3))
                .flat_map(|(piece, &end)| [1, 2].map(|third| distance_m(piece[third], piece[0], end)))
                .fold(0.0, f64::max)
                * 9.0
                / 8.0;
            if off_m <= tolerance_m {
                edge.cuts = trial.iter().copied().skip(2).step_by(3).collect();
            } else if edge.pieces >= GREATEST_PIECES {
                let (x, y) = edge.from;
                let pieces = edge.pieces;
                return Err(GeographicError::NotSmooth {
                    x,
                    y,
                    tolerance_m,
                    pieces,
                });
            } else {
                edge.pieces *= 2;
                still_open.push(number);
            }
        }
        open = still_open;
    }
    Ok(())
}

/// Distance in metres of a point from the chord between two others, all in degrees,
/// at most a little too large.
fn distance_m(point: (f64, f64), from: (f64, f64), to: (f64, f64)) -> f64 {
    // The least latitude has the longest degrees of longitude.
    let narrowing = from.1.abs().min(to.1.abs()).min(point.1.abs()).to_radians().cos();
    let plane = |(lon, lat): (f64, f64)| {
        (
            (lon - from.0) * narrowing * GREATEST_DEGREE_M,
            (lat - from.1) * GREATEST_DEGREE_M,
        )
    };
    let (point, to) = (plane(point), plane(to));
    let length_squared = to.0 * to.0 + to.1 * to.1;
    let share = if length_squared > 0.0 {
        ((point.0 * to.0 + point.1 * to.1) / length_squared).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (point.0 - share * to.0).hypot(point.1 - share * to.1)
}

/// Projects points and checks that they lie on the earth, on one side of the
/// meridian of 180 degrees.
pub(super) fn projected<E: std::error::Error + 'static>(
    map: &[(f64, f64)],
    project: Project<'_, E>,
) -> Result<Vec<(f64, f64)>, GeographicError<E>> {
    let mut points = map.to_vec();
    project(&mut points).map_err(|source| GeographicError::Project { source })?;
    let (mut west, mut east) = (f64::INFINITY, f64::NEG_INFINITY);
    for (&(x, y), &(lon, lat)) in map.iter().zip(&points) {
        if !((-180.0..=180.0).contains(&lon) && (-90.0..=90.0).contains(&lat)) {
            return Err(GeographicError::NotOnEarth { x, y, lon, lat });
        }
        west = west.min(lon);
        east = east.max(lon);
    }
    if east - west > 180.0 {
        return Err(GeographicError::Antimeridian { west, east });
    }
    Ok(points)
}
