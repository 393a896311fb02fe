//! What the shape of the ground tells: where a slope faces, how much sun and heat it gets
//! for that, and where water gathers. In come heights; out go values of each cell. The
//! computing files (`facing`, `filling`, `flats`, `flow`) know no layer.

pub mod facing;
pub mod filling;
pub mod flats;
pub mod flow;
mod terrain_layer;
mod terrain_opening;
mod true_north;

#[cfg(test)]
mod terrain_tests;

pub use terrain_layer::{Steepness, TerrainLayer, TerrainMet};
pub use terrain_opening::open_terrain;
