//! The project file: which ground, which layers, which catalogue, which rules.
//! Comes in: a TOML file; goes out: one checked section for each stage, or every
//! problem of the file at once. Opens no layer and no catalogue: it only looks
//! whether files are there.

mod area;
mod catalogue;
mod catalogue_rules;
mod exclude;
mod factors;
mod layer;
mod outputs;
mod problem;
#[expect(
    clippy::module_inception,
    reason = "a type lives in the file that bears its name"
)]
mod project;
mod range;
mod rating;
mod reader;
mod road_salt;
mod season;
mod soil_survey;
mod syntax;
mod table;
mod value;
mod zones;

#[cfg(test)]
mod mutation_tests;
#[cfg(test)]
mod rating_tests;
#[cfg(test)]
mod soil_survey_tests;
#[cfg(test)]
mod tests;

pub use crate::factor::Units;
pub use area::Area;
pub use catalogue::{CatalogueFiles, CatalogueSection};
pub use catalogue_rules::RuleSettings;
pub use exclude::{Exclude, Width};
pub use factors::{
    Canopy, Cuts, Equation, FactorSection, FactorSource, Foliage, LightSettings, Meaning, Measure, Missing,
    Obstacles, PlantLimit, SideRaster, SunSource, TerrainSource, UnitConversion, UnknownHeights, Words,
};
pub use layer::LayerRef;
pub use outputs::OutputSection;
pub use problem::{Problem, ProjectError};
pub use project::Project;
pub use range::{RangeSection, RecordLayer};
pub use rating::{RatingSection, Rule};
pub use road_salt::{
    Bands, ELEVATION_NAME, RateUnit, RoadClass, RoadSalt, RootZoneSettings, Salt, SpeedUnit, Spread,
    WaterSurplus,
};
pub use season::{Day, Season, USUAL_YEAR};
pub use soil_survey::{Columns, SoilSurvey, SurveyTable};
pub use zones::ZoneSection;
