//! The outlines of zones, held as neighbours share them: each border once, on the grid and
//! in longitude and latitude. Rings are made when somebody asks for them.

use super::arcs::Arcs;
use super::chains::Chains;
use super::geographic::{GeographicLines, GeographicOutline};
use super::rings::ZoneRings;
use super::vertex::Corner;
use crate::grid::Grid;
use crate::zones::Outline;

/// The borders of all zones, and the walks along them that bound each.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneOutlines {
    rings: ZoneRings,
    courses: Chains<Corner>,
    lines: Chains<[i32; 2]>,
}

/// What is left of borders on the grid.
#[derive(Debug, Clone, PartialEq)]
pub struct Courses(pub(super) Chains<Corner>);

impl ZoneOutlines {
    /// The outlines of zones whose borders are these on the grid and in longitude and
    /// latitude.
    #[must_use]
    pub fn new(arcs: Arcs, courses: Courses, lines: GeographicLines) -> ZoneOutlines {
        ZoneOutlines {
            rings: arcs.zones,
            courses: courses.0,
            lines: lines.lines,
        }
    }

    /// Number of zones.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rings.len()
    }

    /// Whether there are no zones.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The outline of a zone in map coordinates; that of label `n` at `n - 1`.
    ///
    /// # Panics
    /// When there is no such zone.
    #[must_use]
    pub fn on_map(&self, zone: usize, grid: &Grid) -> Outline {
        outline_on_map(&self.rings, &self.courses, zone, grid)
    }

    /// The outline of a zone in longitude and latitude; that of label `n` at `n - 1`.
    ///
    /// # Panics
    /// When there is no such zone.
    #[must_use]
    pub fn geographic(&self, zone: usize) -> GeographicOutline {
        let (exterior, holes) = self.rings.of_zone(zone);
        let ring = |ring: u32| self.rings.points(ring as usize, |arc| self.lines.get(arc));
        GeographicOutline {
            exterior: ring(exterior),
            holes: holes.iter().map(|&hole| ring(hole)).collect(),
        }
    }

    /// Least and greatest longitude and latitude: west, south, east, north in 1e-7
    /// degree; nothing where there are no zones.
    #[must_use]
    pub fn bounds(&self) -> Option<[i32; 4]> {
        self.lines.values().iter().fold(None, |bounds, &[lon, lat]| {
            let [west, south, east, north] = bounds.unwrap_or([lon, lat, lon, lat]);
            Some([west.min(lon), south.min(lat), east.max(lon), north.max(lat)])
        })
    }
}

/// The rings of a zone along the courses of borders.
pub(super) fn outline_on_map(
    rings: &ZoneRings,
    courses: &Chains<Corner>,
    zone: usize,
    grid: &Grid,
) -> Outline {
    let on_map = |ring: u32| {
        let corners = rings.points(ring as usize, |arc| courses.get(arc)).into_iter();
        corners
            .map(|corner| grid.corner_to_map(corner.row as usize, corner.col as usize))
            .collect()
    };
    let (exterior, holes) = rings.of_zone(zone);
    Outline {
        exterior: on_map(exterior),
        holes: holes.iter().map(|&hole| on_map(hole)).collect(),
    }
}
