//! Whole-number rectangles of cells on one grid, row before column.

/// One cell of a grid, counted from the north-west corner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CellIndex {
    /// Rows from the north edge.
    pub row: usize,
    /// Columns from the west edge.
    pub col: usize,
}

/// A half-open rectangle of cells: `row..row + rows` by `col..col + cols`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Window {
    /// First row.
    pub row: usize,
    /// First column.
    pub col: usize,
    /// Number of rows.
    pub rows: usize,
    /// Number of columns.
    pub cols: usize,
}

impl Window {
    /// Number of cells.
    #[must_use]
    pub fn cells(&self) -> usize {
        self.rows * self.cols
    }

    /// One row past the last.
    #[must_use]
    pub fn row_end(&self) -> usize {
        self.row + self.rows
    }

    /// One column past the last.
    #[must_use]
    pub fn col_end(&self) -> usize {
        self.col + self.cols
    }

    /// Whether the cell of the grid lies within.
    #[must_use]
    pub fn contains(&self, cell: CellIndex) -> bool {
        (self.row..self.row_end()).contains(&cell.row) && (self.col..self.col_end()).contains(&cell.col)
    }
}
