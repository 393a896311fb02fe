//! What the map of the page draws.

use serde::Serialize;

use super::outlines::{Course, Ring};

/// What is drawn. Places are cells from the north-west corner of the grid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MapData {
    /// Borders of zones, each once.
    pub borders: Vec<Course>,
    /// For each zone its rings, the exterior first, as walks along borders.
    pub rings: Vec<Vec<Ring>>,
    /// What lies beside the zones.
    pub lines: Vec<LineData>,
    /// Shaded relief.
    pub relief: Option<ReliefData>,
    /// Ground that is not rated.
    pub not_rated: Option<CausesData>,
}

/// Lines of one kind.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineData {
    /// `boundary`, `road`, `keep-out` or `line`.
    pub kind: &'static str,
    /// What the project calls it.
    pub name: String,
    /// Lines and rings in tenths of a cell.
    pub courses: Vec<Course>,
}

/// A picture of the shaded relief.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReliefData {
    /// A `data:` address.
    pub picture: String,
    /// Cells of the grid that its width spans.
    pub cols: f64,
    /// Cells of the grid that its height spans.
    pub rows: f64,
}

/// Ground that is not rated, by cause, in coarse cells.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CausesData {
    /// Cells of the grid along a side of a coarse cell.
    pub cell: usize,
    /// Coarse columns.
    pub cols: usize,
    /// Coarse rows.
    pub rows: usize,
    /// The causes.
    pub causes: Vec<String>,
    /// Value (0, or 1 more than the place of the cause) and count in turn, row by row.
    pub runs: Vec<u32>,
}
