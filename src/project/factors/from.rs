//! Factors that come from another section of the project: which sections there are,
//! and which factors each of them can give. Opens no layer.

use super::source::{FactorSource, Way};
use crate::factor::Factor;
use crate::nearest::listed;
use crate::project::road_salt::RoadSalt;
use crate::project::soil_survey::SoilSurvey;
use crate::project::table::Table;
use crate::soil::SoilFactor;

/// The other sections of a project that a factor may come from.
#[derive(Debug, Clone, Copy)]
pub struct OtherSections<'a> {
    /// Whether there is a `[road_salt]`.
    pub road_salt: bool,
    /// `[soil_survey]`
    pub survey: SurveyGiven<'a>,
}

/// Whether a project has a soil survey.
#[derive(Debug, Clone, Copy)]
pub enum SurveyGiven<'a> {
    /// It has none.
    No,
    /// It has one that cannot be read, which is told already.
    Broken,
    /// It has this one.
    Yes(&'a SoilSurvey),
}

const WORDS: [(&str, Way); 2] = [("road_salt", Way::RoadSalt), ("soil survey", Way::SoilSurvey)];

/// The section that `from` names.
pub(super) fn word(table: &Table) -> Option<Way> {
    table.word("from", &WORDS).map(|found| found.value)
}

/// A factor that is computed from the salt of roads.
pub(super) fn road_salt(
    table: &Table,
    factor: Option<&Factor>,
    others: OtherSections,
) -> Option<FactorSource> {
    check_crs(table, "`[road_salt]`, which names the roads");
    let from = table.spot_of("from")?;
    if !others.road_salt {
        from.problem("found `road_salt`, needed a section `[road_salt]` in this file, which names the roads");
    }
    if let Some(factor) = factor.filter(|factor| !RoadSalt::FACTORS.contains(&factor.id.as_str())) {
        from.problem(format!(
            "found `road_salt` for `{}`, needed one of {}: only these are computed from it",
            factor.id,
            listed(&RoadSalt::FACTORS)
        ));
    }
    Some(FactorSource::RoadSalt)
}

/// A factor that a soil survey tells.
pub(super) fn soil_survey(
    table: &Table,
    factor: Option<&Factor>,
    others: OtherSections,
) -> Option<FactorSource> {
    check_crs(table, "`[soil_survey]`, which names the polygons");
    let from = table.spot_of("from")?;
    let of = factor.and_then(|factor| SoilFactor::of_id(&factor.id));
    if let (None, Some(factor)) = (of, factor) {
        let told: Vec<&str> = SoilFactor::ALL.into_iter().map(SoilFactor::id).collect();
        from.problem(format!(
            "found `{}`, which no soil survey tells, needed one of {}",
            factor.id,
            listed(&told)
        ));
    }
    match others.survey {
        SurveyGiven::Yes(survey) => Some(FactorSource::SoilSurvey {
            layer: survey.polygons.clone(),
            of: of?,
        }),
        SurveyGiven::Broken => None,
        SurveyGiven::No => {
            from.problem("found no soil survey in this project, needed a table `[soil_survey]`");
            None
        }
    }
}

/// The layers of the other section are named there, and so is their CRS.
fn check_crs(table: &Table, section: &str) {
    if let Some(spot) = table.spot_of("crs") {
        spot.problem(format!("found `crs` beside `from`, needed it in {section}"));
    }
}
