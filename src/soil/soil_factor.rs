//! The factors that a soil survey tells.

/// A factor that can be drawn from a soil survey.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "the names are those of the factors")]
pub enum SoilFactor {
    Drainage,
    Moisture,
    Ph,
    SoilSalinity,
    Texture,
    Carbonates,
    OrganicMatter,
    WaterTable,
    AvailableWater,
    RootDepth,
    Flooding,
    Ponding,
    MadeGround,
    /// Which map unit it is: added by the program where soils are rated one by one.
    MapUnit,
}

impl SoilFactor {
    /// All that a project can draw.
    pub const ALL: [SoilFactor; 13] = [
        SoilFactor::Drainage,
        SoilFactor::Moisture,
        SoilFactor::Ph,
        SoilFactor::SoilSalinity,
        SoilFactor::Texture,
        SoilFactor::Carbonates,
        SoilFactor::OrganicMatter,
        SoilFactor::WaterTable,
        SoilFactor::AvailableWater,
        SoilFactor::RootDepth,
        SoilFactor::Flooding,
        SoilFactor::Ponding,
        SoilFactor::MadeGround,
    ];

    /// The id of the factor.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            SoilFactor::Drainage => "drainage",
            SoilFactor::Moisture => "moisture",
            SoilFactor::Ph => "ph",
            SoilFactor::SoilSalinity => "soil_salinity",
            SoilFactor::Texture => "texture",
            SoilFactor::Carbonates => "carbonates",
            SoilFactor::OrganicMatter => "organic_matter",
            SoilFactor::WaterTable => "water_table",
            SoilFactor::AvailableWater => "available_water",
            SoilFactor::RootDepth => "root_depth",
            SoilFactor::Flooding => "flooding",
            SoilFactor::Ponding => "ponding",
            SoilFactor::MadeGround => "made_ground",
            SoilFactor::MapUnit => "map_unit",
        }
    }

    /// The factor of that id.
    #[must_use]
    pub fn of_id(id: &str) -> Option<SoilFactor> {
        SoilFactor::ALL.into_iter().find(|factor| factor.id() == id)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::factor::Factor;

    #[test]
    fn each_is_a_standard_factor() {
        for factor in SoilFactor::ALL {
            assert!(Factor::standard(factor.id()).is_some(), "{}", factor.id());
            assert_eq!(SoilFactor::of_id(factor.id()), Some(factor));
        }
        assert_eq!(SoilFactor::of_id("canopy"), None);
    }
}
