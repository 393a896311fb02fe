//! What road salt does to the soils of map units that are rated one by one: where its
//! numbers stand among the factors of the site.

use super::reading::SaltValue;
use crate::project::WaterSurplus;
use crate::site::site::Site;
use crate::soil::{LeachingWater, SaltOfSoils};

impl Site {
    /// What road salt does to each soil of a map unit.
    ///
    /// # Missing
    /// Where the salinity of a place does not hang on its soils, or they are not rated
    /// one by one.
    #[must_use]
    pub fn salt_of_soils(&self) -> Option<SaltOfSoils> {
        let root = &self.salt.as_ref()?.settings.root_zone;
        // Where the amount does not matter, any will do.
        let everywhere = match &root.water {
            Some(WaterSurplus::Everywhere { mm, .. }) => *mm,
            Some(WaterSurplus::Factor) | None => 1.0,
        };
        let amount = self.position_of(SaltValue::LeachingWater);
        Some(SaltOfSoils {
            salt_water: self.position_of(SaltValue::SaltWater)?,
            salinity: self.position_of(SaltValue::SoilSalinity)?,
            drainage: self.factors.iter().position(|factor| factor.id == "drainage")?,
            amount: amount.map_or(LeachingWater::Everywhere(everywhere), LeachingWater::Factor),
            zone: root.root_zone(),
        })
    }
}
