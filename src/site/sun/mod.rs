//! Hours of direct sun. In come heights of the ground and of what stands on it, gaps of the
//! canopy, and the days that count; out go hours a day in each cell. The computing files
//! (`position`, `beam`, `sun_table`, `hull`, `horizon`) know no layer.

pub mod beam;
pub mod horizon;
mod hull;
pub mod position;
mod sun_layer;
mod sun_opening;
pub mod sun_table;

#[cfg(test)]
mod shade_tests;

pub use sun_layer::{ShadeMet, SunLayer};
pub use sun_opening::{SunLooked, warn_of_open_sky};
