//! The grid all layers are brought to: cells, windows, and values of a window.
//! Pure: no input or output, and no knowledge of what the values mean.
//!
//! Coordinates make the grid once; from then on windows are half-open integers.
//! North and west borders belong to a cell, south and east to its neighbour; a
//! cell taken as a point is its centre.

mod cell_areas;
mod crs;
mod extent;
#[expect(clippy::module_inception, reason = "the type bears the folder's name")]
mod grid;
mod packed_cells;
mod raster;
mod window;

pub use cell_areas::{CellAreas, RowAreas};
pub use crs::Crs;
pub use extent::Extent;
pub use grid::{Grid, GridError, TILE_CELLS};
pub use packed_cells::{PackedCells, Runs};
pub use raster::{Cell, Raster};
pub use window::{CellIndex, Window};

#[cfg(test)]
#[allow(unused_imports, reason = "for the tests of every stage")]
pub(crate) use raster::drawn;
