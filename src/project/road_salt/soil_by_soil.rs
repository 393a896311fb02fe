//! The factors that the program adds where each soil of a map unit keeps its own share of
//! road salt: what the salinity of the soils is reckoned from.

use super::section::RoadSalt;
use crate::factor::{Factor, Kind, Unit};
use crate::project::factors::{FactorSection, FactorSource, Missing, Words};
use crate::soil::{LEACHING_WATER, SALT_WATER, SoilFactor};

impl RoadSalt {
    /// The factors behind the salinity of soils that are rated one by one; none where
    /// the salinity or the drainage does not differ from soil to soil of a unit.
    pub(in crate::project) fn behind_soils(&self, factors: &[FactorSection]) -> Vec<FactorSection> {
        let comes = |id: &str, comes_so: fn(&FactorSource) -> bool| {
            let mut sections = factors.iter();
            sections.any(|section| section.factor.id == id && comes_so(&section.source))
        };
        let drained = |source: &FactorSource| {
            let of = SoilFactor::Drainage;
            matches!(source, FactorSource::SoilSurvey { of: found, .. } if *found == of)
        };
        let salted = comes("soil_salinity", |source| *source == FactorSource::RoadSalt);
        if !salted || !comes("drainage", drained) {
            return Vec::new();
        }
        let water = section(SALT_WATER, Unit::DecisiemensPerMetre);
        let amount = section(LEACHING_WATER, Unit::MillimetrePerYear);
        let amount = self.root_zone.hangs_on_amount().then_some(amount);
        [water].into_iter().chain(amount).collect()
    }
}

fn section(id: &str, unit: Unit) -> FactorSection {
    let factor = Factor::added(id, Kind::Measured(unit));
    FactorSection {
        source: FactorSource::RoadSalt,
        cuts: None,
        words: Words::usual(&factor),
        missing: Missing::Unknown,
        date: None,
        support_m: None,
        factor,
    }
}
