//! Layers to factors on one grid, block by block. In come the sections of the
//! project that name layers; out come values of every factor in each cell, with
//! what is missing and why. Knows no species and no rating.

mod area;
mod backdrop;
pub mod burn;
pub mod distance;
mod exclude_layer;
mod factor_layer;
mod finding;
mod geometry_error;
mod kept_tiles;
mod layer_fact;
mod layer_opener;
mod opening;
mod polygon_layer;
mod polygon_values;
mod possible;
mod raster_checks;
mod raster_plan;
pub mod salt;
mod segments;
#[expect(clippy::module_inception, reason = "the type bears the folder's name")]
mod site;
pub mod slope;
mod soil_survey;
pub mod sun;
pub mod terrain;
mod tile_values;
mod true_to_scale;
mod vector_layer;

#[cfg(test)]
mod opening_tests;

pub use backdrop::{Backdrop, BackdropLines, BackdropWanted, Heights, LineKind};
pub use finding::{Finding, SiteError};
pub use geometry_error::GeometryError;
pub use layer_fact::LayerFact;
pub use site::{Sections, Site};
pub use soil_survey::{SoilHere, SoilShare};
pub use tile_values::{EXCLUDED, Met, OUTSIDE, TO_RATE, TileValues};
