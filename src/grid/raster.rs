//! Values of one window of the grid, some of them missing.

use super::{CellIndex, Window};

/// What can stand in a cell: each type sets one value aside for "missing".
pub trait Cell: Copy {
    /// The value that stands for nothing known.
    const MISSING: Self;

    /// Whether this is the missing value.
    fn is_missing(self) -> bool;
}

impl Cell for f32 {
    const MISSING: f32 = f32::NAN;

    fn is_missing(self) -> bool {
        self.is_nan()
    }
}

macro_rules! integer_cell {
    ($($integer:ty),*) => {$(
        impl Cell for $integer {
            const MISSING: $integer = <$integer>::MAX;

            fn is_missing(self) -> bool {
                self == Self::MISSING
            }
        }
    )*};
}
integer_cell!(u8, u16, u32);

/// The values of one window, row by row from the north-west corner.
///
/// # Missing
/// `get` is the only question about missing values; [`Raster::row`] hands out the
/// raw row with [`Cell::MISSING`] in it for loops over whole rows.
#[derive(Debug, Clone, PartialEq)]
pub struct Raster<T> {
    rows: usize,
    cols: usize,
    values: Vec<T>,
}

impl<T: Cell> Raster<T> {
    /// A raster of `rows` x `cols` values, or nothing when there are not as many.
    #[must_use]
    pub fn new(rows: usize, cols: usize, values: Vec<T>) -> Option<Raster<T>> {
        (values.len() == rows * cols).then_some(Raster { rows, cols, values })
    }

    /// A raster with the same value in every cell of a window's shape.
    #[must_use]
    pub fn filled(window: Window, value: T) -> Raster<T> {
        Raster {
            rows: window.rows,
            cols: window.cols,
            values: vec![value; window.cells()],
        }
    }

    /// Number of rows.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Number of columns.
    #[must_use]
    pub fn cols(&self) -> usize {
        self.cols
    }

    /// The value of a cell, counted from this raster's own corner; nothing when
    /// it is missing or outside.
    #[must_use]
    pub fn get(&self, cell: CellIndex) -> Option<T> {
        if cell.row >= self.rows || cell.col >= self.cols {
            return None;
        }
        let value = self.values[cell.row * self.cols + cell.col];
        (!value.is_missing()).then_some(value)
    }

    /// One row of raw values, missing ones included.
    ///
    /// # Panics
    /// When the row is outside.
    #[must_use]
    pub fn row(&self, row: usize) -> &[T] {
        &self.values[row * self.cols..(row + 1) * self.cols]
    }

    /// One row of raw values to write to.
    ///
    /// # Panics
    /// When the row is outside.
    pub fn row_mut(&mut self, row: usize) -> &mut [T] {
        &mut self.values[row * self.cols..(row + 1) * self.cols]
    }

    /// All raw values, row after row.
    #[must_use]
    pub fn values(&self) -> &[T] {
        &self.values
    }

    /// All values, row by row, without the raster around them.
    #[must_use]
    pub fn into_values(self) -> Vec<T> {
        self.values
    }

    /// All raw values to write to, row after row.
    pub fn values_mut(&mut self) -> &mut [T] {
        &mut self.values
    }
}

/// A raster drawn as text for tests: blanks between values, a dot for missing.
#[cfg(test)]
pub(crate) fn drawn<T: Cell + std::str::FromStr>(text: &str) -> Raster<T> {
    let rows: Vec<Vec<T>> = text
        .trim()
        .lines()
        .map(|line| {
            line.split_whitespace()
                .map(|word| match word {
                    "." => T::MISSING,
                    word => word.parse().ok().expect("a number or a dot"),
                })
                .collect()
        })
        .collect();
    let (height, width) = (rows.len(), rows.first().map_or(0, Vec::len));
    Raster::new(height, width, rows.concat()).expect("rows of one length")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn missing_and_outside_are_nothing() {
        let raster: Raster<f32> = drawn("1 2 .\n3 4 5");
        assert_eq!(raster.get(CellIndex { row: 0, col: 1 }), Some(2.0));
        assert_eq!(raster.get(CellIndex { row: 0, col: 2 }), None);
        assert_eq!(raster.get(CellIndex { row: 2, col: 0 }), None);
        assert!(Raster::new(2, 2, vec![0u8; 3]).is_none());
    }
}
