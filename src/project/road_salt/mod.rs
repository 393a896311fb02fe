//! `[road_salt]`: the salted roads, what is spread on them and how it travels, for the
//! factors that are computed from them. Opens no layer.

mod class;
mod rate;
mod root_zone;
mod section;
mod soil_by_soil;

#[cfg(test)]
mod tests;

pub use class::RoadClass;
pub use rate::{RateUnit, Salt, Spread};
pub use root_zone::{ELEVATION_NAME, RootZoneSettings, WaterSurplus};
pub use section::{Bands, RoadSalt, SpeedUnit};
