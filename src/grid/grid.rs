//! The north-up grid of a site, between map coordinates and cells.

use thiserror::Error;

use super::{CellIndex, Crs, Extent, Window};

/// Rows and columns of the fixed tiles in which layers are brought to the grid.
/// Fixed, because what a warp computes near a tile's edge may depend on it.
pub const TILE_CELLS: usize = 512;

/// Why no grid can be made.
#[derive(Debug, Error, PartialEq)]
pub enum GridError {
    /// The cell size is no length.
    #[error("cell size {cell_m} m: a finite number above 0 is needed")]
    Cell {
        /// The size asked for.
        cell_m: f64,
    },
    /// The extent is empty or not finite.
    #[error("an area of {width_m} m x {height_m} m has no cells of {cell_m} m")]
    Empty {
        /// Width of the area.
        width_m: f64,
        /// Height of the area.
        height_m: f64,
        /// The size asked for.
        cell_m: f64,
    },
    /// More rows or columns than can be counted.
    #[error(
        "{rows:.0} x {cols:.0} cells of {cell_m} m are more than the 1,000,000 rows or columns a grid can have; a larger cell is needed"
    )]
    TooLarge {
        /// Rows asked for.
        rows: f64,
        /// Columns asked for.
        cols: f64,
        /// The size asked for.
        cell_m: f64,
    },
}

/// A north-up grid of square cells in a projected CRS in metres.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    west: f64,
    north: f64,
    cell_m: f64,
    rows: usize,
    cols: usize,
    crs: Crs,
}

impl Grid {
    /// The grid that covers an extent, its edges on whole multiples of the cell.
    ///
    /// # Errors
    /// A cell size that is no length, an extent that is empty, too many cells.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "row and column counts are checked to lie within 1 and 1,000,000"
    )]
    pub fn covering(extent: &Extent, cell_m: f64, crs: Crs) -> Result<Grid, GridError> {
        if !(cell_m.is_finite() && cell_m > 0.0) {
            return Err(GridError::Cell { cell_m });
        }
        let west = (extent.west / cell_m).floor();
        let north = (extent.north / cell_m).ceil();
        let cols = (extent.east / cell_m).ceil() - west;
        let rows = north - (extent.south / cell_m).floor();
        let (width_m, height_m) = (extent.width(), extent.height());
        if !(rows >= 1.0 && cols >= 1.0 && width_m > 0.0 && height_m > 0.0) {
            return Err(GridError::Empty {
                width_m,
                height_m,
                cell_m,
            });
        }
        if rows > 1e6 || cols > 1e6 {
            return Err(GridError::TooLarge { rows, cols, cell_m });
        }
        Ok(Grid {
            west: west * cell_m,
            north: north * cell_m,
            cell_m,
            rows: rows as usize,
            cols: cols as usize,
            crs,
        })
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

    /// Number of cells.
    #[must_use]
    pub fn cells(&self) -> usize {
        self.rows * self.cols
    }

    /// Side of a cell in metres.
    #[must_use]
    pub fn cell_m(&self) -> f64 {
        self.cell_m
    }

    /// The coordinate reference system.
    #[must_use]
    pub fn crs(&self) -> &Crs {
        &self.crs
    }

    /// The whole grid as a window.
    #[must_use]
    pub fn window(&self) -> Window {
        Window {
            row: 0,
            col: 0,
            rows: self.rows,
            cols: self.cols,
        }
    }

    /// The extent of a window in map coordinates.
    #[must_use]
    pub fn extent_of(&self, window: Window) -> Extent {
        let (west, north) = self.corner_to_map(window.row, window.col);
        let (east, south) = self.corner_to_map(window.row_end(), window.col_end());
        Extent {
            west,
            south,
            east,
            north,
        }
    }

    /// The extent of the whole grid.
    #[must_use]
    pub fn extent(&self) -> Extent {
        self.extent_of(self.window())
    }

    /// Map coordinates of the centre of a cell.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "indices stay below 1,000,000")]
    pub fn cell_to_map(&self, cell: CellIndex) -> (f64, f64) {
        (
            self.west + (cell.col as f64 + 0.5) * self.cell_m,
            self.north - (cell.row as f64 + 0.5) * self.cell_m,
        )
    }

    /// Map coordinates of the north-west corner of a cell, or of the corner past
    /// the last one.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "indices stay below 1,000,000")]
    pub fn corner_to_map(&self, row: usize, col: usize) -> (f64, f64) {
        (
            self.west + col as f64 * self.cell_m,
            self.north - row as f64 * self.cell_m,
        )
    }

    /// The cell that holds a point, or nothing outside the grid. A point on a
    /// border belongs to the cell to the south and east of it.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "checked to lie within the grid before it is cut"
    )]
    pub fn map_to_cell(&self, x: f64, y: f64) -> Option<CellIndex> {
        let col = ((x - self.west) / self.cell_m).floor();
        let row = ((self.north - y) / self.cell_m).floor();
        let within = (0.0..self.rows as f64).contains(&row) && (0.0..self.cols as f64).contains(&col);
        within.then_some(CellIndex {
            row: row as usize,
            col: col as usize,
        })
    }

    /// The fixed tiles of the grid, row by row; those at the south and east edge
    /// may be smaller.
    pub fn tiles(&self) -> impl Iterator<Item = Window> + '_ {
        self.bands().flat_map(|band| self.tiles_of(band))
    }

    /// The fixed tiles of a band, from west to east.
    pub fn tiles_of(&self, band: Window) -> impl Iterator<Item = Window> + '_ {
        (0..self.cols).step_by(TILE_CELLS).map(move |col| Window {
            col,
            cols: TILE_CELLS.min(self.cols - col),
            ..band
        })
    }

    /// The rows of fixed tiles, each as one window of the grid's whole width.
    pub fn bands(&self) -> impl Iterator<Item = Window> + '_ {
        (0..self.rows).step_by(TILE_CELLS).map(move |row| Window {
            row,
            col: 0,
            rows: TILE_CELLS.min(self.rows - row),
            cols: self.cols,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn crs() -> Crs {
        Crs {
            wkt: String::new(),
            name: "plane".to_owned(),
            code: None,
        }
    }

    fn grid(west: f64, south: f64, east: f64, north: f64, cell: f64) -> Result<Grid, GridError> {
        let extent = Extent {
            west,
            south,
            east,
            north,
        };
        Grid::covering(&extent, cell, crs())
    }

    #[test]
    fn edges_lie_on_whole_multiples_of_the_cell() {
        let grid = grid(1003.0, 2001.0, 1049.0, 2022.0, 5.0).unwrap();
        assert_eq!((grid.rows(), grid.cols()), (5, 10));
        let extent = grid.extent();
        assert_eq!((extent.west, extent.north), (1000.0, 2025.0));
        assert_eq!((extent.east, extent.south), (1050.0, 2000.0));
    }

    #[test]
    fn a_point_on_a_border_belongs_to_the_cell_south_and_east() {
        let grid = grid(0.0, 0.0, 20.0, 20.0, 10.0).unwrap();
        assert_eq!(grid.map_to_cell(0.0, 20.0), Some(CellIndex { row: 0, col: 0 }));
        assert_eq!(grid.map_to_cell(10.0, 10.0), Some(CellIndex { row: 1, col: 1 }));
        assert_eq!(grid.map_to_cell(20.0, 10.0), None);
        assert_eq!(grid.map_to_cell(10.0, 0.0), None);
        let centre = grid.cell_to_map(CellIndex { row: 1, col: 0 });
        assert_eq!(centre, (5.0, 5.0));
    }

    #[test]
    fn sizes_that_make_no_grid_are_refused() {
        assert!(matches!(
            grid(0.0, 0.0, 1.0, 1.0, 0.0),
            Err(GridError::Cell { .. })
        ));
        assert!(matches!(
            grid(0.0, 0.0, 1.0, 1.0, f64::NAN),
            Err(GridError::Cell { .. })
        ));
        assert!(matches!(
            grid(0.0, 0.0, 0.0, 1.0, 1.0),
            Err(GridError::Empty { .. })
        ));
        assert!(matches!(
            grid(f64::NAN, 0.0, 0.0, 1.0, 1.0),
            Err(GridError::Empty { .. })
        ));
        assert!(matches!(
            grid(0.0, 0.0, 1e9, 1.0, 1.0),
            Err(GridError::TooLarge { .. })
        ));
    }

    #[test]
    fn tiles_cover_every_cell_once() {
        let grid = grid(0.0, 0.0, 1100.0, 600.0, 1.0).unwrap();
        let tiles: Vec<Window> = grid.tiles().collect();
        assert_eq!(tiles.len(), 6);
        assert_eq!(tiles.iter().map(Window::cells).sum::<usize>(), grid.cells());
        assert_eq!(grid.bands().map(|band| band.cells()).sum::<usize>(), grid.cells());
    }
}
