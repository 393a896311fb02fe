//! The straight way from cells of a raster to coordinates and back. Pure.

use crate::grid::Extent;

/// From columns and rows, counted from the first cell's outer corner, to x and y.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Affine {
    forward: [f64; 6],
    back: [f64; 6],
}

impl Affine {
    /// From GDAL's six numbers; nothing when they do not span a plane.
    pub fn new(forward: [f64; 6]) -> Option<Affine> {
        let [x, x_col, x_row, y, y_col, y_row] = forward;
        let spanned = x_col * y_row - x_row * y_col;
        if !forward.iter().all(|number| number.is_finite()) || spanned == 0.0 || !spanned.is_finite() {
            return None;
        }
        let (col_x, col_y) = (y_row / spanned, -x_row / spanned);
        let (row_x, row_y) = (-y_col / spanned, x_col / spanned);
        Some(Affine {
            forward,
            back: [x, y, col_x, col_y, row_x, row_y],
        })
    }

    /// The north-up grid of an extent.
    #[expect(clippy::cast_precision_loss, reason = "counts of cells stay far below 2^52")]
    pub fn of_extent(extent: &Extent, rows: usize, cols: usize) -> Option<Affine> {
        let (cell_x, cell_y) = (extent.width() / cols as f64, extent.height() / rows as f64);
        Affine::new([extent.west, cell_x, 0.0, extent.north, 0.0, -cell_y])
    }

    /// GDAL's six numbers.
    pub fn numbers(&self) -> [f64; 6] {
        self.forward
    }

    /// Coordinates of a place among the cells.
    pub fn to_map(self, col: f64, row: f64) -> (f64, f64) {
        let [x, x_col, x_row, y, y_col, y_row] = self.forward;
        (x + col * x_col + row * x_row, y + col * y_col + row * y_row)
    }

    /// The place among the cells of coordinates.
    pub fn to_cell(self, x: f64, y: f64) -> (f64, f64) {
        let [from_x, from_y, col_x, col_y, row_x, row_y] = self.back;
        // The offset is taken first, so that no digits are lost.
        let (dx, dy) = (x - from_x, y - from_y);
        (dx * col_x + dy * col_y, dx * row_x + dy * row_y)
    }

    /// Width of a cell.
    pub fn cell_x(&self) -> f64 {
        self.forward[1].hypot(self.forward[4])
    }

    /// Height of a cell.
    pub fn cell_y(&self) -> f64 {
        self.forward[2].hypot(self.forward[5])
    }

    /// Whether rows and columns run aslant to the axes.
    pub fn rotated(&self) -> bool {
        self.forward[2] != 0.0 || self.forward[4] != 0.0
    }

    /// What so many cells cover.
    #[expect(clippy::cast_precision_loss, reason = "counts of cells stay far below 2^52")]
    pub fn extent(&self, cols: usize, rows: usize) -> Extent {
        let (cols, rows) = (cols as f64, rows as f64);
        let corners = [(0.0, 0.0), (cols, 0.0), (0.0, rows), (cols, rows)];
        let corners = corners.map(|(col, row)| self.to_map(col, row));
        let start = Extent {
            west: f64::INFINITY,
            south: f64::INFINITY,
            east: f64::NEG_INFINITY,
            north: f64::NEG_INFINITY,
        };
        Extent::around(corners).unwrap_or(start)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back() {
        let affine = Affine::new([500_000.0, 2.0, 0.5, 4_900_000.0, 0.3, -2.0]).unwrap();
        let (x, y) = affine.to_map(10.0, 20.0);
        let (col, row) = affine.to_cell(x, y);
        assert!((col - 10.0).abs() < 1e-9 && (row - 20.0).abs() < 1e-9);
        assert!(affine.rotated());
        assert_eq!(Affine::new([0.0; 6]), None);
        assert_eq!(Affine::new([0.0, f64::NAN, 0.0, 0.0, 0.0, 1.0]), None);
    }
}
