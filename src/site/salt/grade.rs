//! How much runoff ground gets by its height over the pavement beside it. In come
//! heights; out go shares. It knows no salt.

use crate::grid::{CellIndex, Raster, Window};

/// What heights above and below the pavement do to runoff.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GradeRule {
    /// Ground so far above the pavement gets nothing.
    pub above_m: f64,
    /// Ground so far below it gets `hollow_factor` times as much.
    pub hollow_m: f64,
    /// See above.
    pub hollow_factor: f64,
}

impl GradeRule {
    /// The share of the runoff that ground gets: 1 at the pavement's height, straight
    /// lines to 0 above it and to the factor of a hollow below.
    ///
    /// # Missing
    /// Not a number stays so.
    #[must_use]
    pub fn share(&self, below_pavement_m: f64) -> f64 {
        if below_pavement_m >= 0.0 {
            let depth = (below_pavement_m / self.hollow_m).min(1.0);
            1.0 + (self.hollow_factor - 1.0) * depth
        } else if below_pavement_m < 0.0 {
            (1.0 + below_pavement_m / self.above_m).max(0.0)
        } else {
            f64::NAN
        }
    }
}

/// Heights of a window and of the ground around it.
#[derive(Debug)]
pub struct Heights<'h> {
    /// Heights in their own unit.
    pub raster: &'h Raster<f32>,
    /// The window they were read for.
    pub window: Window,
    /// Cells around the window.
    pub margin: usize,
    /// Side of a cell.
    pub cell_m: f64,
    /// Metres in a unit of height.
    pub metres_per_unit: f64,
    /// What heights do.
    pub rule: GradeRule,
}

impl Heights<'_> {
    /// The share of the runoff at a place beside a place on the pavement, both in
    /// metres from the grid's corner.
    ///
    /// # Missing
    /// Where either height is.
    #[must_use]
    pub fn share_of_runoff(&self, ground: [f64; 2], pavement: [f64; 2]) -> f64 {
        self.rule
            .share((self.height(pavement) - self.height(ground)) * self.metres_per_unit)
    }

    fn height(&self, place: [f64; 2]) -> f64 {
        #[expect(clippy::cast_possible_truncation, reason = "cells of a grid")]
        let cell = |metres: f64| (metres / self.cell_m).floor() as i64;
        let within = |metres: f64, first: usize| {
            let first = i64::try_from(first).ok()?;
            let margin = i64::try_from(self.margin).ok()?;
            usize::try_from(cell(metres) - first + margin).ok()
        };
        let cell = within(place[1], self.window.row).zip(within(place[0], self.window.col));
        cell.and_then(|(row, col)| self.raster.get(CellIndex { row, col }))
            .map_or(f64::NAN, f64::from)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RULE: GradeRule = GradeRule {
        above_m: 0.3,
        hollow_m: 1.0,
        hollow_factor: 2.0,
    };

    /// Common practice, no source: salt injury is worse below the grade of the road.
    #[test]
    fn ground_below_grade_gets_more_than_ground_above() {
        let shares = [-1.0, -0.3, -0.15, 0.0, 0.5, 1.0, 5.0].map(|below| RULE.share(below));
        assert_eq!(shares, [0.0, 0.0, 0.5, 1.0, 1.5, 2.0, 2.0]);
        assert!(RULE.share(f64::NAN).is_nan());
    }

    #[test]
    fn heights_are_those_of_the_cells_around() {
        let raster = Raster::new(3, 3, vec![9.0, 9.0, 9.0, 9.0, 10.0, 11.0, 9.0, 9.0, f32::NAN]).unwrap();
        let heights = Heights {
            raster: &raster,
            window: Window {
                row: 4,
                col: 7,
                rows: 1,
                cols: 1,
            },
            margin: 1,
            cell_m: 5.0,
            metres_per_unit: 0.5,
            rule: RULE,
        };
        let here = [7.5 * 5.0, 4.5 * 5.0];
        assert!((heights.share_of_runoff(here, [8.5 * 5.0, 4.5 * 5.0]) - 1.5).abs() < 1e-12);
        assert!(heights.share_of_runoff(here, [8.5 * 5.0, 5.5 * 5.0]).is_nan());
        assert!(heights.share_of_runoff(here, [80.0 * 5.0, 5.5 * 5.0]).is_nan());
    }
}
