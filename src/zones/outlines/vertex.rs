//! The words of the lattice on which borders run: corners of the grid, the vertices
//! at which borders are settled, and the arcs between them.

use super::lattice::Point;

/// Directions along the grid's lines, clockwise: right, down, left, up.
pub(super) const DIRECTIONS: usize = 4;
pub(super) const RIGHT: usize = 0;
pub(super) const DOWN: usize = 1;
pub(super) const LEFT: usize = 2;
pub(super) const UP: usize = 3;

/// A link that leads nowhere.
pub(super) const NONE: u32 = u32::MAX;

/// A corner of the grid: the north-west corner of the cell of that row and column,
/// or one past the last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Corner {
    /// Rows from the north edge.
    pub row: u32,
    /// Columns from the west edge.
    pub col: u32,
}

impl Corner {
    /// The corner as a point, x to the east and y to the north.
    pub(super) fn point(self) -> Point {
        Point {
            x: i64::from(self.col),
            y: -i64::from(self.row),
        }
    }
}

/// One arc: which zones lie beside it and where it ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Arc {
    /// Label on the left, seen along the arc.
    pub left: u32,
    /// Label on the right.
    pub right: u32,
    /// The nodes it runs between, by number; nothing for a closed arc without one.
    pub nodes: Option<(u32, u32)>,
}

impl Arc {
    /// Whether it ends where it starts.
    pub(super) fn is_closed(&self) -> bool {
        self.nodes.is_none_or(|(first, last)| first == last)
    }
}
