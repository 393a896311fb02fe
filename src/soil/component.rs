//! One soil of a map unit with all that a survey tells of it, and the value it has
//! for each factor.

use super::horizon::{DepthMean, Horizon, depth_mean};
use super::moisture::{Evidence, Moisture, moisture};
use super::{SoilFactor, Texture};

/// One of the soils that make up a map unit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Component {
    /// Its key in the survey.
    pub key: String,
    /// Its name.
    pub name: String,
    /// Share of the map unit, per cent.
    pub share_pct: f64,
    /// Natural drainage class, counted as the factor `drainage` does.
    pub drainage: Option<u16>,
    /// Most frequent flooding of any month, counted as the factor `flooding` does.
    pub flooding: Option<u16>,
    /// Most frequent ponding of any month.
    pub ponding: Option<u16>,
    /// Least depth to wet soil in any month, cm; infinite where months are told and
    /// none is wet.
    pub water_table_cm: Option<f64>,
    /// Depth to what stops roots, cm; infinite where nothing does.
    pub root_depth_cm: Option<f64>,
    /// Ground made or moved by people: fill, cuts, urban land.
    pub made: bool,
    /// Its horizons.
    pub horizons: Vec<Horizon>,
}

/// To which depths horizons count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depths {
    /// For pH, salt, texture, carbonates and organic matter, cm.
    pub chemistry_cm: f64,
    /// For available water, cm.
    pub water_cm: f64,
    /// A value counts where horizons that have it make up this share of the depth, or
    /// of what lies above the rock.
    pub least_known: f64,
}

impl Component {
    /// What it has for a factor: a number in the factor's unit, or a class.
    ///
    /// # Missing
    /// What the survey does not tell, or tells of too little of the depth.
    #[must_use]
    pub fn value(&self, factor: SoilFactor, depths: &Depths) -> Option<f64> {
        let class = |class: Option<u16>| class.map(f64::from);
        let mean = |pick: fn(&Horizon) -> Option<f64>| self.mean(depths.chemistry_cm, depths, pick);
        match factor {
            SoilFactor::Drainage => class(self.drainage),
            SoilFactor::Moisture => self.moisture(depths).map(|found| f64::from(found.class)),
            SoilFactor::Ph => mean(|horizon| horizon.ph),
            SoilFactor::SoilSalinity => mean(|horizon| horizon.salinity_ds_m),
            SoilFactor::Texture => self.texture(depths).map(|texture| f64::from(texture.class())),
            SoilFactor::Carbonates => mean(|horizon| horizon.carbonates_pct),
            SoilFactor::OrganicMatter => mean(|horizon| horizon.organic_matter_pct),
            SoilFactor::WaterTable => self.water_table_cm,
            SoilFactor::AvailableWater => self.available_water_cm(depths),
            SoilFactor::RootDepth => self.root_depth_cm,
            SoilFactor::Flooding => class(self.flooding),
            SoilFactor::Ponding => class(self.ponding),
            SoilFactor::MadeGround => Some(f64::from(u8::from(self.made))),
            SoilFactor::MapUnit => None,
        }
    }

    /// Its texture over the depth: the class of its mean sand and clay.
    #[must_use]
    pub fn texture(&self, depths: &Depths) -> Option<Texture> {
        let both = |horizon: &Horizon| Some((horizon.sand()?, horizon.clay()?));
        let sand = self.mean(depths.chemistry_cm, depths, |horizon| Some(both(horizon)?.0))?;
        let clay = self.mean(depths.chemistry_cm, depths, |horizon| Some(both(horizon)?.1))?;
        Texture::of(sand, clay)
    }

    /// Water it holds for plants above the depth or the rock.
    ///
    /// # Units
    /// Centimetres of water.
    #[must_use]
    pub fn available_water_cm(&self, depths: &Depths) -> Option<f64> {
        let mean = self.mean(depths.water_cm, depths, |horizon| horizon.available_water)?;
        Some(mean * self.depth_above_rock(depths.water_cm))
    }

    /// How moist its ground is, and what that rests on.
    #[must_use]
    pub fn moisture(&self, depths: &Depths) -> Option<Moisture> {
        moisture(&Evidence {
            drainage: self.drainage,
            water_table_cm: self.water_table_cm,
            available_water_cm: self.available_water_cm(depths),
            water_depth_cm: depths.water_cm,
            texture: self.texture(depths),
        })
    }

    fn depth_above_rock(&self, depth_cm: f64) -> f64 {
        self.root_depth_cm.map_or(depth_cm, |rock| rock.min(depth_cm))
    }

    fn mean(&self, depth_cm: f64, depths: &Depths, pick: impl Fn(&Horizon) -> Option<f64>) -> Option<f64> {
        let depth_cm = self.depth_above_rock(depth_cm);
        let DepthMean { mean, known_cm } = depth_mean(&self.horizons, depth_cm, pick)?;
        (known_cm >= depths.least_known * depth_cm - 1e-9).then_some(mean)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DEPTHS: Depths = Depths {
        chemistry_cm: 50.0,
        water_cm: 100.0,
        least_known: 0.5,
    };

    fn horizon(top_cm: f64, bottom_cm: f64) -> Horizon {
        Horizon {
            top_cm,
            bottom_cm,
            sand_pct: Some(40.0),
            clay_pct: Some(20.0),
            ph: Some(6.5),
            available_water: Some(0.2),
            ..Horizon::default()
        }
    }

    #[test]
    fn what_is_known_of_too_little_of_the_depth_is_missing() {
        let soil = |bottom_cm| Component {
            horizons: vec![horizon(0.0, bottom_cm)],
            ..Component::default()
        };
        assert_eq!(soil(25.0).value(SoilFactor::Ph, &DEPTHS), Some(6.5));
        assert_eq!(soil(24.0).value(SoilFactor::Ph, &DEPTHS), None);
        assert_eq!(soil(49.0).value(SoilFactor::AvailableWater, &DEPTHS), None);
        assert_eq!(soil(50.0).value(SoilFactor::AvailableWater, &DEPTHS), Some(20.0));
    }

    #[test]
    fn rock_ends_the_depth() {
        let soil = Component {
            root_depth_cm: Some(20.0),
            horizons: vec![
                horizon(0.0, 20.0),
                Horizon {
                    ph: None,
                    available_water: None,
                    ..horizon(20.0, 150.0)
                },
            ],
            ..Component::default()
        };
        assert_eq!(soil.value(SoilFactor::AvailableWater, &DEPTHS), Some(4.0));
        assert_eq!(soil.value(SoilFactor::Ph, &DEPTHS), Some(6.5));
        assert_eq!(soil.value(SoilFactor::RootDepth, &DEPTHS), Some(20.0));
    }

    #[test]
    fn texture_is_that_of_mean_sand_and_clay() {
        let sandy = Horizon {
            sand_pct: Some(90.0),
            clay_pct: Some(4.0),
            ..horizon(0.0, 25.0)
        };
        let clayey = Horizon {
            sand_pct: Some(10.0),
            clay_pct: Some(60.0),
            ..horizon(25.0, 50.0)
        };
        let soil = Component {
            horizons: vec![sandy, clayey],
            ..Component::default()
        };
        // Sand 50, clay 32.
        assert_eq!(soil.texture(&DEPTHS), Some(Texture::SandyClayLoam));
        assert_eq!(soil.value(SoilFactor::Carbonates, &DEPTHS), None);
        assert_eq!(soil.value(SoilFactor::MadeGround, &DEPTHS), Some(0.0));
    }
}
