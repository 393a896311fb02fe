//! The areas of cells on the ground in whole square millimetres, so that sums
//! come out the same whatever their order.

/// The areas of the cells of a grid, by runs within a row.
///
/// # Method
/// The distortion of the plane is known at every `step`-th row and column and
/// runs straight between. The area from the row's start to a column is rounded
/// to square millimetres once; a run is the difference of two such areas, so that
/// runs which touch add up exactly.
#[derive(Debug, Clone, PartialEq)]
pub struct CellAreas {
    rows: usize,
    cols: usize,
    cell_mm2: f64,
    step: usize,
    /// Area on the ground over area on the plane, row by row of the lattice.
    densities: Vec<f64>,
}

impl CellAreas {
    /// Areas from the distortion at the corners of every `step`-th cell: rows and
    /// columns are divided by `step`, rounded up, and one more.
    /// Nothing when there are not as many, or one is not above 0.
    #[must_use]
    pub fn new(rows: usize, cols: usize, cell_m: f64, step: usize, densities: Vec<f64>) -> Option<CellAreas> {
        if step == 0 || cell_m.partial_cmp(&0.0) != Some(std::cmp::Ordering::Greater) {
            return None;
        }
        let wanted = (rows.div_ceil(step) + 1) * (cols.div_ceil(step) + 1);
        let sound = densities
            .iter()
            .all(|density| density.is_finite() && *density > 0.0);
        (densities.len() == wanted && sound).then_some(CellAreas {
            rows,
            cols,
            cell_mm2: cell_m * cell_m * 1e6,
            step,
            densities,
        })
    }

    /// The areas of one row, ready for many runs.
    ///
    /// # Panics
    /// When the row is outside.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "indices stay below 1,000,000")]
    pub fn row(&self, row: usize) -> RowAreas {
        assert!(row < self.rows, "row {row} of {}", self.rows);
        let width = self.cols.div_ceil(self.step) + 1;
        let above = row / self.step;
        let share = ((row % self.step) as f64 + 0.5) / self.step as f64;
        let line = |row: usize| &self.densities[row * width..(row + 1) * width];
        let nodes: Vec<f64> = line(above)
            .iter()
            .zip(line(above + 1))
            .map(|(north, south)| north + (south - north) * share)
            .collect();
        let step = self.step as f64;
        let mut before = 0.0;
        let starts = nodes.windows(2).map(|pair| {
            let start = before;
            before += f64::midpoint(pair[0], pair[1]) * step;
            start
        });
        RowAreas {
            starts: starts.collect(),
            nodes,
            cols: self.cols,
            step: self.step,
            cell_mm2: self.cell_mm2,
        }
    }

    /// The area of the cells `from..to` of one row in square millimetres. For
    /// many runs of a row [`CellAreas::row`] is faster.
    ///
    /// # Panics
    /// When the run is outside.
    #[must_use]
    pub fn run_mm2(&self, row: usize, from: usize, to: usize) -> u64 {
        self.row(row).run_mm2(from, to)
    }
}

/// The areas of the cells of one row.
#[derive(Debug, Clone, PartialEq)]
pub struct RowAreas {
    /// Cells' worth of ground before each column of the lattice.
    starts: Vec<f64>,
    nodes: Vec<f64>,
    cols: usize,
    step: usize,
    cell_mm2: f64,
}

impl RowAreas {
    /// The area of the cells `from..to` in square millimetres.
    ///
    /// # Panics
    /// When the run is outside or runs backward.
    #[must_use]
    pub fn run_mm2(&self, from: usize, to: usize) -> u64 {
        assert!(
            from <= to && to <= self.cols,
            "cells {from} to {to} of {}",
            self.cols
        );
        self.before_mm2(to) - self.before_mm2(from)
    }

    /// The area of all cells before a column.
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a row of the whole earth has 1.6e19 square millimetres, below 2^64"
    )]
    fn before_mm2(&self, col: usize) -> u64 {
        // The last column may close a piece instead of opening one.
        let piece = (col / self.step).min(self.starts.len().saturating_sub(1));
        let Some(start) = self.starts.get(piece) else {
            return 0;
        };
        let along = (col - piece * self.step) as f64;
        let (west, east) = (self.nodes[piece], self.nodes[piece + 1]);
        let cells = start + along * (west + (east - west) * along / (2.0 * self.step as f64));
        (cells * self.cell_mm2).round() as u64
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn even_ground_has_even_cells() {
        let areas = CellAreas::new(3, 5, 2.0, 2, vec![1.0; 12]).unwrap();
        assert_eq!(areas.run_mm2(2, 0, 5), 5 * 4_000_000);
        assert_eq!(areas.run_mm2(0, 1, 2), 4_000_000);
        assert_eq!(areas.run_mm2(0, 5, 5), 0);
    }

    #[test]
    fn distortion_runs_straight_between_the_places_it_is_known() {
        // 1 at the west edge, 2 at the east edge of a row of four cells.
        let areas = CellAreas::new(1, 4, 1.0, 4, vec![1.0, 2.0, 1.0, 2.0]).unwrap();
        let cells: Vec<u64> = (0..4).map(|col| areas.run_mm2(0, col, col + 1)).collect();
        assert_eq!(cells, [1_125_000, 1_375_000, 1_625_000, 1_875_000]);
    }

    #[test]
    fn what_is_no_area_is_refused() {
        assert_eq!(CellAreas::new(1, 1, 1.0, 1, vec![1.0; 3]), None);
        assert_eq!(CellAreas::new(1, 1, 1.0, 0, vec![1.0; 4]), None);
        assert_eq!(CellAreas::new(1, 1, f64::NAN, 1, vec![1.0; 4]), None);
        assert_eq!(CellAreas::new(1, 1, 1.0, 1, vec![1.0, 1.0, 0.0, 1.0]), None);
    }

    proptest! {
        #[test]
        fn runs_add_up_exactly(
            densities in proptest::collection::vec(0.2..3.0f64, 2 * 4),
            cell_m in 0.1..100.0f64,
            mut cuts in proptest::collection::vec(0usize..=150, 3),
        ) {
            let areas = CellAreas::new(60, 150, cell_m, 64, densities).unwrap();
            cuts.sort_unstable();
            for row in [0, 31, 59] {
                let whole = areas.run_mm2(row, cuts[0], cuts[2]);
                let parts = areas.run_mm2(row, cuts[0], cuts[1]) + areas.run_mm2(row, cuts[1], cuts[2]);
                prop_assert_eq!(whole, parts);
                let cells: u64 = (0..150).map(|col| areas.run_mm2(row, col, col + 1)).sum();
                prop_assert_eq!(cells, areas.run_mm2(row, 0, 150));
            }
        }
    }
}
