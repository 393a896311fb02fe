//! Borders of zones as the page draws them.

use crate::grid::Grid;
use crate::zones::outlines::{Arcs, SharedBorders, SimplifiedArcs};

/// Borders as a page shows them.
pub struct PageBorders {
    /// Each border once.
    pub borders: SharedBorders,
    /// By how many metres they are simplified.
    pub simplify_m: f64,
}

/// Corners of borders that a page shows smoothly.
const MOST_CORNERS: usize = 600_000;

/// How often the tolerance is doubled to come down to as many; what is left then is kept.
const DOUBLINGS: i32 = 6;

impl PageBorders {
    /// The borders of the files, or where these have too many corners, simplified further.
    pub fn of(arcs: &Arcs, simplified: &SimplifiedArcs, grid: &Grid, simplify_m: f64) -> PageBorders {
        if simplified.corner_counts().1 <= MOST_CORNERS {
            return PageBorders {
                borders: simplified.shared_borders(),
                simplify_m,
            };
        }
        let mut simplify_m = simplify_m.max(grid.cell_m());
        let mut coarser = arcs.simplified(grid, simplify_m);
        for _ in 0..DOUBLINGS {
            if coarser.corner_counts().1 <= MOST_CORNERS {
                break;
            }
            simplify_m *= 2.0;
            coarser = arcs.simplified(grid, simplify_m);
        }
        PageBorders {
            borders: coarser.shared_borders(),
            simplify_m,
        }
    }
}
