//! What soils are, from what surveys record of them: texture, means over a depth, the
//! moisture of the ground, the salt that stays in a root zone, the soils of a map unit. Pure numbers and classes: knows no
//! file, no polygon, no species.

mod component;
mod concentration;
mod horizon;
mod mix;
mod moisture;
mod reading;
mod root_zone;
mod salt;
mod soil_factor;
mod texture;

pub use component::{Component, Depths};
pub use concentration::concentration_factor;
pub use horizon::{DepthMean, Horizon, HorizonFault, depth_mean, horizon_faults};
pub use mix::{MoistureNudge, SoilMixes, SoilOfCell, SoilPart};
pub use moisture::{
    Evidence, Holding, MOISTURE_CLASSES, Moisture, MoistureTable, WetnessNudge, moisture, moisture_table,
};
pub use reading::{Reading, UnitValue, main_component, read_unit};
pub use root_zone::{RootZone, Salinity, SaltyWater, Told};
pub use salt::{LEACHING_WATER, LeachingWater, SALT_WATER, SaltOfSoils, held, steps};
pub use soil_factor::SoilFactor;
pub use texture::Texture;
