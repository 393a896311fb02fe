//! Seams between survey areas: where polygons of two surveys meet, and whether the
//! soils on both sides agree. In come polygons with their survey area and what was
//! found in them; out go counts and areas.

use std::collections::BTreeSet;

use geo::{Area, BoundingRect, Line, LinesIter, MultiPolygon, Rect};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// Borders that come as near as this meet: two surveys seldom draw one line alike.
const MEET_M: f64 = 1.0;

/// A polygon at a seam.
#[derive(Debug, Clone, Copy)]
pub struct Piece<'a> {
    /// Its outline in metres.
    pub polygon: &'a MultiPolygon<f64>,
    /// The survey area it belongs to.
    pub survey_area: &'a str,
    /// What its ground counts as: drainage, by the reading of the project.
    ///
    /// # Missing
    /// Not told.
    pub class: Option<u16>,
}

/// What there is at the seams.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Seams {
    /// The survey areas, in order.
    pub survey_areas: Vec<String>,
    /// Pairs of polygons that meet across a seam.
    pub pairs: usize,
    /// Of these, those of different classes.
    pub different: usize,
    /// Area of the polygons in such pairs, m2.
    pub different_m2: f64,
}

/// Looks at all seams.
pub fn seams(pieces: &[Piece]) -> Seams {
    let names: BTreeSet<&str> = pieces.iter().map(|piece| piece.survey_area).collect();
    let mut found = Seams {
        survey_areas: names.into_iter().map(str::to_owned).collect(),
        ..Seams::default()
    };
    if found.survey_areas.len() < 2 {
        return found;
    }
    let boxes: Vec<Option<Rect<f64>>> = pieces.iter().map(|piece| piece.polygon.bounding_rect()).collect();
    let filed = boxes.iter().enumerate().filter_map(|(number, around)| {
        let around = around.as_ref()?;
        let corners =
            Rectangle::from_corners([around.min().x, around.min().y], [around.max().x, around.max().y]);
        Some(GeomWithData::new(corners, number))
    });
    let tree = RTree::bulk_load(filed.collect());
    let mut apart: BTreeSet<usize> = BTreeSet::new();
    for (number, around) in boxes.iter().enumerate() {
        let Some(around) = around else { continue };
        let near = AABB::from_corners(
            [around.min().x - MEET_M, around.min().y - MEET_M],
            [around.max().x + MEET_M, around.max().y + MEET_M],
        );
        for other in tree
            .locate_in_envelope_intersecting(&near)
            .map(|filed| filed.data)
        {
            let (one, two) = (pieces[number], pieces[other]);
            if other <= number || one.survey_area == two.survey_area || !meet(one.polygon, two.polygon) {
                continue;
            }
            found.pairs += 1;
            if one.class != two.class {
                found.different += 1;
                apart.extend([number, other]);
            }
        }
    }
    found.different_m2 = apart
        .iter()
        .map(|&number| pieces[number].polygon.unsigned_area())
        .sum();
    found
}

fn meet(one: &MultiPolygon<f64>, two: &MultiPolygon<f64>) -> bool {
    let near = |polygon: &MultiPolygon<f64>, around: Option<Rect<f64>>| -> Vec<Line<f64>> {
        let Some(around) = around else { return Vec::new() };
        let outside = |line: &Line<f64>| {
            line.start.x.max(line.end.x) < around.min().x - MEET_M
                || line.start.x.min(line.end.x) > around.max().x + MEET_M
                || line.start.y.max(line.end.y) < around.min().y - MEET_M
                || line.start.y.min(line.end.y) > around.max().y + MEET_M
        };
        polygon.lines_iter().filter(|line| !outside(line)).collect()
    };
    let of_one = near(one, two.bounding_rect());
    let of_two = near(two, one.bounding_rect());
    // Lines that cross have no end near each other, but polygons that overlap by more
    // than slips have some such pair of lines as well.
    of_one.iter().any(|line| {
        of_two.iter().any(|other| {
            let ends = |of: &Line<f64>, to: &Line<f64>| {
                distance2(of.start, to).min(distance2(of.end, to)) <= MEET_M * MEET_M
            };
            ends(line, other) || ends(other, line)
        })
    })
}

fn distance2(point: geo::Coord<f64>, line: &Line<f64>) -> f64 {
    let along = line.end - line.start;
    let from = point - line.start;
    let length2 = along.x * along.x + along.y * along.y;
    let share = if length2 > 0.0 {
        ((from.x * along.x + from.y * along.y) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let (x, y) = (from.x - share * along.x, from.y - share * along.y);
    x * x + y * y
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(west: f64, south: f64) -> MultiPolygon<f64> {
        let rect = Rect::new((west, south), (west + 100.0, south + 100.0));
        MultiPolygon::new(vec![rect.to_polygon()])
    }

    #[test]
    fn pairs_that_meet_across_a_seam_are_counted_and_those_that_differ_have_an_area() {
        let polygons = [
            square(0.0, 0.0),
            // Meets the first, drawn half a metre off.
            square(100.5, 10.0),
            // Of the first one's own survey.
            square(0.0, 100.0),
            // Too far.
            square(300.0, 0.0),
        ];
        let piece = |number: usize, survey_area, class| Piece {
            polygon: &polygons[number],
            survey_area,
            class,
        };
        let all = [
            piece(0, "AA001", Some(2)),
            piece(1, "AA002", Some(4)),
            piece(2, "AA001", Some(5)),
            piece(3, "AA002", Some(4)),
        ];
        let found = seams(&all);
        assert_eq!(found.survey_areas, ["AA001", "AA002"]);
        assert_eq!((found.pairs, found.different), (2, 2));
        assert_eq!(found.different_m2, 30_000.0);
        let agreeing = seams(&[piece(0, "AA001", Some(2)), piece(1, "AA002", Some(2))]);
        assert_eq!(
            (agreeing.pairs, agreeing.different, agreeing.different_m2),
            (1, 0, 0.0)
        );
        assert_eq!(seams(&all[..1]).pairs, 0);
    }
}
