//! Cells to regions, regions to zones, zones to polygons with species lists.
//! Does no input or output: sets of species come in row by row, zones go out.

pub mod outlines;
mod zone;

pub use zone::{GroundValue, Listing, Outline, Ring, Zone, ZoneSpecies};
