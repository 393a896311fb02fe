//! Where the border of one polygon crosses the rows of the grid: all that is kept of it.
//! Everything is reckoned in cells from the grid's corner, and each edge alike whichever
//! of its two neighbours draws it. Does not know which polygon it is.

use geo::Polygon;

use super::as_cells;
use crate::grid::{Extent, Grid};

/// Vertices are rounded to this fraction of a cell, crossings to a coarser one.
/// A border that one neighbour draws in two pieces and the other in one then
/// still crosses a row at one place, where it runs through a centre.
const VERTEX_STEPS: f64 = 67_108_864.0;
const CROSSING_STEPS: f64 = 4_194_304.0;

/// Where a polygon's border passes just west of a column's centre, row after row. Those
/// west of the grid count at its edge, those east of its last centre not at all.
///
/// Within one polygon the even-odd rule holds, so holes need no mark.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Crossings {
    /// Row before column, 32 bits each; no place twice.
    places: Box<[u64]>,
}

impl Crossings {
    /// The crossings of the polygons of one feature.
    ///
    /// # Missing
    /// Nothing when a coordinate is not finite.
    pub fn of<'p>(grid: &Grid, polygons: impl IntoIterator<Item = &'p Polygon<f64>>) -> Option<Crossings> {
        let cells = Cells {
            extent: grid.extent(),
            cell_m: grid.cell_m(),
            rows: grid.rows(),
            cols: grid.cols(),
        };
        let mut places = Vec::new();
        let rings = polygons
            .into_iter()
            .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
        for ring in rings {
            // Cells are about as long as edges.
            places.reserve(ring.0.len());
            let mut last = None;
            for point in ring.coords() {
                let vertex = cells.vertex(point.x, point.y)?;
                if let Some(last) = last.replace(vertex) {
                    cells.cross(last, vertex, &mut places);
                }
            }
        }
        places.sort_unstable();
        if places.windows(2).any(|pair| pair[0] == pair[1]) {
            places = odd_ones(&places).collect();
        }
        Some(Crossings {
            places: places.into_boxed_slice(),
        })
    }

    /// The first row that is crossed and the one after the last; nothing where none is.
    pub(super) fn rows(&self) -> Option<(usize, usize)> {
        Some((row_of(*self.places.first()?), row_of(*self.places.last()?) + 1))
    }

    /// Number of crossings.
    pub(super) fn len(&self) -> usize {
        self.places.len()
    }

    /// The crossings of some rows, as rows and columns.
    pub(super) fn of_rows(&self, from: usize, to: usize) -> impl Iterator<Item = (usize, u32)> {
        let first = self.places.partition_point(|&place| row_of(place) < from);
        let places = self.places[first..].iter();
        places
            .take_while(move |&&place| row_of(place) < to)
            .map(|&place| (row_of(place), col_of(place)))
    }
}

/// Places that stand an odd number of times, once each: two crossings at one place are
/// none.
fn odd_ones(sorted: &[u64]) -> impl Iterator<Item = u64> {
    let alike = sorted.chunk_by(|a, b| a == b);
    alike.filter(|alike| alike.len() % 2 == 1).map(|alike| alike[0])
}

fn row_of(place: u64) -> usize {
    (place >> 32) as usize
}

#[expect(clippy::cast_possible_truncation, reason = "the lower half is meant")]
fn col_of(place: u64) -> u32 {
    place as u32
}

/// The grid as crossings are reckoned on.
struct Cells {
    extent: Extent,
    cell_m: f64,
    rows: usize,
    cols: usize,
}

impl Cells {
    /// A point of the map; nothing where it is not finite.
    fn vertex(&self, x: f64, y: f64) -> Option<Vertex> {
        let rounded = |cells: f64| rounded(cells * VERTEX_STEPS) / VERTEX_STEPS;
        let x = rounded((x - self.extent.west) / self.cell_m);
        let y = rounded((self.extent.north - y) / self.cell_m);
        (x.is_finite() && y.is_finite()).then(|| Vertex {
            x,
            y,
            row: first_centre(y, self.rows),
        })
    }

    /// Adds the places where an edge crosses the centre lines of rows. The north end
    /// counts, the south end does not, so that two edges meeting at a vertex cross a row
    /// once. Reckoned from the edge's north end whichever way it runs, so that both
    /// polygons along it find the same number.
    fn cross(&self, one: Vertex, other: Vertex, places: &mut Vec<u64>) {
        if one.row == other.row {
            return;
        }
        let (north, south) = if one.row < other.row {
            (one, other)
        } else {
            (other, one)
        };
        if north.x.min(south.x) > as_cells(self.cols) {
            return;
        }
        for row in north.row..south.row {
            let share = (as_cells(row) + 0.5 - north.y) / (south.y - north.y);
            let crossing = north.x + share * (south.x - north.x);
            let col = first_centre(rounded(crossing * CROSSING_STEPS) / CROSSING_STEPS, self.cols);
            if col < self.cols {
                places.push((row as u64) << 32 | col as u64);
            }
        }
    }
}

/// A corner of a polygon in cells from the grid's corner.
#[derive(Clone, Copy)]
struct Vertex {
    x: f64,
    y: f64,
    /// The first row whose centre lies at it or south of it.
    row: usize,
}

/// The first row or column whose centre lies at or beyond a place, at most `limit`.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "held between 0 and the limit"
)]
fn first_centre(place: f64, limit: usize) -> usize {
    let place = (place - 0.5).clamp(0.0, as_cells(limit));
    // Rounded up without the call that it takes.
    let below = place as usize;
    below + usize::from(as_cells(below) < place)
}

/// The nearest whole number, halves away from zero: what [`f64::round`] says, without the
/// call that it takes for each vertex.
#[expect(clippy::cast_possible_truncation, reason = "looked at before")]
#[expect(clippy::cast_precision_loss, reason = "it came from such a number")]
fn rounded(number: f64) -> f64 {
    const EXACT: f64 = 4_503_599_627_370_496.0;
    if !(-EXACT < number && number < EXACT) {
        return number.round();
    }
    let whole = number as i64 as f64;
    let left = number - whole;
    // No branch, as nothing foretells it.
    whole + f64::from(i8::from(left >= 0.5) - i8::from(left <= -0.5))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::{first_centre, rounded};

    #[test]
    fn halves_go_away_from_zero_and_what_is_no_number_stays() {
        for number in [
            -2.5,
            -1.5,
            -0.5,
            -0.0,
            0.5,
            1.5,
            1e300,
            f64::INFINITY,
            4_503_599_627_370_495.5,
        ] {
            assert_eq!(rounded(number), number.round());
        }
        assert!(rounded(f64::NAN).is_nan());
    }

    proptest! {
        #[test]
        fn rounding_is_that_of_the_standard_library(number in any::<f64>(), halves in -1_000_000..1_000_000i32) {
            prop_assert!(number.is_nan() || rounded(number) == number.round());
            for number in [f64::from(halves) / 2.0, number % 1e6, number % 1e17] {
                prop_assert!(number.is_nan() || rounded(number) == number.round());
            }
        }

        #[test]
        fn first_centres_are_those_of_plain_rounding(place in -50.0..50.0, halves in -90..90i32, limit in 0..40usize) {
            let most = f64::from(u32::try_from(limit).unwrap());
            for place in [place, f64::from(halves) / 2.0] {
                let plain = (place - 0.5_f64).ceil().clamp(0.0, most);
                prop_assert_eq!(f64::from(u32::try_from(first_centre(place, limit)).unwrap()), plain);
            }
        }
    }
}
