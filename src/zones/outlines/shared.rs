//! Borders as neighbours share them, each once, with the walks along them that bound
//! the zones: for drawings, which need not say a border twice.

use super::simplify::SimplifiedArcs;
use super::vertex::Corner;

/// All borders once, and the rings of each zone as walks along them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SharedBorders {
    /// The corners of each border, both its ends included.
    pub courses: Vec<Vec<Corner>>,
    /// For each zone its rings, the exterior first; a ring is a list of borders in the
    /// order of the walk: twice the border's number, plus one where it is walked backward.
    pub zones: Vec<Vec<Vec<u32>>>,
}

impl SimplifiedArcs<'_> {
    /// The borders that are left, shared.
    #[must_use]
    pub fn shared_borders(&self) -> SharedBorders {
        let rings = &self.original.zones;
        let zone = |zone: usize| {
            let (exterior, holes) = rings.of_zone(zone);
            let all = [exterior].into_iter().chain(holes.iter().copied());
            all.map(|ring| rings.sides_of(ring as usize).to_vec()).collect()
        };
        SharedBorders {
            courses: self.courses.iter().map(<[Corner]>::to_vec).collect(),
            zones: (0..rings.len()).map(zone).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::{Crs, Extent, Grid};
    use crate::zones::outlines::OutlineBuilder;

    fn ring_of(borders: &SharedBorders, ring: &[u32]) -> Vec<Corner> {
        let mut corners = Vec::new();
        for side in ring {
            let mut course = borders.courses[*side as usize / 2].clone();
            if side % 2 == 1 {
                course.reverse();
            }
            course.pop();
            corners.extend(course);
        }
        corners.extend(corners.first().copied());
        corners
    }

    #[test]
    fn walks_along_shared_borders_are_the_outlines() {
        let crs = Crs {
            wkt: String::new(),
            name: "plane".into(),
            code: None,
        };
        let extent = Extent {
            west: 0.0,
            south: 0.0,
            east: 40.0,
            north: 30.0,
        };
        let grid = Grid::covering(&extent, 10.0, crs).unwrap();
        let mut builder = OutlineBuilder::new(3, 4);
        builder.push_row(&[(4, 1)]).unwrap();
        builder.push_row(&[(1, 1), (2, 2), (4, 1)]).unwrap();
        builder.push_row(&[(1, 1), (4, 3)]).unwrap();
        let arcs = builder.finish().unwrap();
        let simplified = arcs.simplified(&grid, 0.0);
        let borders = simplified.shared_borders();
        for (rings, outline) in borders.zones.iter().zip(simplified.outlines(&grid)) {
            let on_map = |ring: &Vec<u32>| -> Vec<(f64, f64)> {
                let corners = ring_of(&borders, ring).into_iter();
                corners
                    .map(|corner| grid.corner_to_map(corner.row as usize, corner.col as usize))
                    .collect()
            };
            let drawn: Vec<_> = rings.iter().map(on_map).collect();
            assert_eq!(drawn[0], outline.exterior);
            assert_eq!(drawn[1..], outline.holes);
        }
        // The border between zones 1 and 2 is there once.
        let walked = |zone: usize| borders.zones[zone].iter().flatten().map(|side| side / 2);
        assert!(walked(0).any(|border| walked(1).any(|other| other == border)));
    }
}
