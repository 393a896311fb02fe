//! What a map shows beside its zones, read once more when they are drawn: lines that
//! people find their way by, and heights on coarse cells. Everything comes in the
//! grid's CRS. Layers were opened before, so what is odd about them is told already.

mod heights;
mod lines;
#[cfg(test)]
mod tests;

pub use heights::Heights;
pub use lines::{BackdropLines, LineKind};

use super::finding::Findings;
use super::{Sections, SiteError};
use crate::grid::Grid;

/// How fine a backdrop is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BackdropWanted {
    /// How far thinned lines may lie from the true ones, in metres; 0 thins nothing.
    pub tolerance_m: f64,
    /// Most coarse cells on the longer side of the heights; 1 at least.
    pub most_cells: usize,
}

/// What lies beside the zones.
#[derive(Debug, Clone, PartialEq)]
pub struct Backdrop {
    /// The boundary, roads, what is excluded, and lines that distances are from; a layer
    /// that several sections name comes once, under the first of these.
    pub lines: Vec<BackdropLines>,
    /// Heights of the ground.
    ///
    /// # Missing
    /// Where no factor is computed from an elevation.
    pub heights: Option<Heights>,
}

impl Backdrop {
    /// Reads the backdrop of a site whose layers could be opened.
    ///
    /// # Errors
    /// A layer that can no longer be opened or read.
    pub fn read(sections: Sections, grid: &Grid, wanted: &BackdropWanted) -> Result<Backdrop, SiteError> {
        let mut findings = Findings::default();
        let lines = lines::read(sections, grid, wanted.tolerance_m, &mut findings);
        let elevation = heights::open(sections, grid, &mut findings);
        if findings.has_errors() {
            return Err(SiteError::Problems {
                findings: findings.into_list(),
            });
        }
        let heights = elevation.map(|elevation| elevation.read(grid, wanted.most_cells));
        Ok(Backdrop {
            lines,
            heights: heights.transpose()?,
        })
    }
}
