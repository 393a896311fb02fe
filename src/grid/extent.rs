//! A rectangle in map coordinates.

use serde::Serialize;

/// A rectangle in map coordinates, x to the east and y to the north.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Extent {
    /// Least x.
    pub west: f64,
    /// Least y.
    pub south: f64,
    /// Greatest x.
    pub east: f64,
    /// Greatest y.
    pub north: f64,
}

impl Extent {
    /// The smallest extent that holds all points, or nothing when there is none.
    pub fn around(points: impl IntoIterator<Item = (f64, f64)>) -> Option<Extent> {
        points.into_iter().fold(None, |extent, (x, y)| {
            let point = Extent {
                west: x,
                south: y,
                east: x,
                north: y,
            };
            Some(extent.map_or(point, |so_far: Extent| so_far.union(&point)))
        })
    }

    /// The smallest extent that holds both.
    #[must_use]
    pub fn union(&self, other: &Extent) -> Extent {
        Extent {
            west: self.west.min(other.west),
            south: self.south.min(other.south),
            east: self.east.max(other.east),
            north: self.north.max(other.north),
        }
    }

    /// What both cover, or nothing when they do not meet or only touch.
    #[must_use]
    pub fn intersection(&self, other: &Extent) -> Option<Extent> {
        let both = Extent {
            west: self.west.max(other.west),
            south: self.south.max(other.south),
            east: self.east.min(other.east),
            north: self.north.min(other.north),
        };
        (both.west < both.east && both.south < both.north).then_some(both)
    }

    /// The extent with `distance` added on every side.
    #[must_use]
    pub fn grown(&self, distance: f64) -> Extent {
        Extent {
            west: self.west - distance,
            south: self.south - distance,
            east: self.east + distance,
            north: self.north + distance,
        }
    }

    /// Width from west to east.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.east - self.west
    }

    /// Height from south to north.
    #[must_use]
    pub fn height(&self) -> f64 {
        self.north - self.south
    }

    /// The share of this extent that the other covers, 0 to 1.
    #[must_use]
    pub fn share_covered_by(&self, other: &Extent) -> f64 {
        let whole = self.width() * self.height();
        match self.intersection(other) {
            Some(both) if whole > 0.0 => both.width() * both.height() / whole,
            _ => 0.0,
        }
    }
}
