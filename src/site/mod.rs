//! Layers become factors on one grid, block by block. In come checked layers and
//! the grid; out go rasters of factor values and masks. It does not know which
//! species there are.

pub mod burn;
pub mod distance;
mod geometry_error;
mod segments;
pub mod slope;

pub use geometry_error::GeometryError;
