//! A soil survey as it is published, brought to the site: polygons of map units joined
//! by key to the soils that make them up. In come the section of the project, the
//! polygons near the area and the tables; out go a value for each polygon and factor,
//! what stands behind it, and counts with areas of all that is odd.

mod checks;
mod delimited;
mod here;
mod polygons;
mod seams;
mod soils;
mod tables;
mod water;

use std::collections::{BTreeMap, BTreeSet};

use geo::MultiPolygon;

pub use here::{SoilHere, SoilShare};
pub use polygons::PolygonColumns;
pub use soils::{Drawn, MapUnit};

use super::burn::PolygonIndex;
use super::finding::Findings;
use super::vector_layer::VectorLayer;
use crate::factor::Factor;
use crate::grid::{Raster, Window};
use crate::project::{FactorSection, FactorSource, SoilSurvey, Words};
use crate::soil::{Component, MoistureNudge, SoilFactor, SoilMixes, SoilPart, read_unit};
use polygons::Polygons;
use tables::Tables;

/// A soil survey, read.
#[derive(Debug)]
pub struct Survey {
    /// How the project has it.
    section: SoilSurvey,
    /// Map units by key.
    units: BTreeMap<String, MapUnit>,
    /// The polygons near the area.
    polygons: Polygons,
    /// Number of its polygon layer in the site, and where its factors stand in the
    /// project's order.
    placed: Placed,
    /// Polygons of ground made or moved by people.
    made: Option<PolygonIndex>,
    /// Names of drainage classes, for people.
    drainage: Vec<String>,
}

/// Where the survey's parts stand in the site.
#[derive(Debug, Default, Clone, Copy)]
pub struct Placed {
    /// Number of the polygon layer.
    pub layer: Option<usize>,
    /// Position of the factor `moisture`, if drawn from the survey.
    pub moisture: Option<usize>,
    /// Position of the factor `wetness_index`, wherever it comes from.
    pub wetness_index: Option<usize>,
    /// Position of the factor `made_ground`, if drawn from the survey.
    pub made_ground: Option<usize>,
}

/// The factors that a project draws from its survey, with their words.
pub fn drawn<'a>(sections: &'a [FactorSection], usual: &'a BTreeMap<SoilFactor, Words>) -> Drawn<'a> {
    let mut drawn = Drawn {
        factors: BTreeSet::new(),
        words: usual.iter().map(|(&factor, words)| (factor, words)).collect(),
    };
    for section in sections {
        if let FactorSource::SoilSurvey { of, .. } = section.source {
            drawn.factors.insert(of);
            drawn.words.insert(of, &section.words);
        }
    }
    drawn
}

/// The words of factors in classes when the project gives none.
pub fn usual_words() -> BTreeMap<SoilFactor, Words> {
    let of = [SoilFactor::Drainage, SoilFactor::Flooding, SoilFactor::Ponding];
    let words = of
        .into_iter()
        .filter_map(|factor| Some((factor, Words::usual(&Factor::standard(factor.id())?))));
    words.collect()
}

impl Survey {
    /// Reads the tables for the polygons of a layer, and tells all that is odd.
    pub fn read(
        section: &SoilSurvey,
        layer: &VectorLayer,
        shapes: &[MultiPolygon<f64>],
        drawn: &Drawn,
        findings: &mut Findings,
    ) -> Option<Survey> {
        let polygons = Polygons::new(section, layer, shapes);
        let tables = Tables::open(section, findings)?;
        let keys: BTreeSet<String> = polygons.keys().cloned().collect();
        let (units, odd) = soils::read_soils(section, &tables, &keys, drawn, findings)?;
        let drainage = Factor::standard("drainage")?;
        let survey = Survey {
            section: section.clone(),
            units,
            polygons,
            placed: Placed::default(),
            made: None,
            drainage: drainage.kind.classes().unwrap_or_default().to_vec(),
        };
        survey.tell(&odd, drawn, shapes, findings);
        if survey.units.len() > usize::from(u16::MAX) {
            findings.error(
                tables::NAME,
                format!(
                    "{} map units lie near the area, at most {} can be told apart: a smaller area is needed",
                    survey.units.len(),
                    u16::MAX
                ),
            );
            return None;
        }
        Some(survey)
    }

    /// Says where its parts stand in the site.
    pub fn place(&mut self, placed: Placed) {
        self.placed = placed;
    }

    /// Takes in polygons of ground made or moved by people.
    pub fn add_made_ground(&mut self, index: PolygonIndex) {
        self.made = Some(index);
    }

    /// For each polygon the value of a factor.
    ///
    /// # Missing
    /// Polygons whose key no table knows, and units whose soils do not tell it.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "values are held in single precision"
    )]
    pub fn values(&self, factor: SoilFactor, is_class: bool) -> Vec<f32> {
        let value = |unit: &MapUnit| {
            let of_soil = |soil: &Component| soil.value(factor, &self.section.depths);
            read_unit(&unit.components, of_soil, is_class, self.section.reading)
                .map_or(f32::NAN, |found| found.value as f32)
        };
        let by_unit: BTreeMap<&str, f32> = self
            .units
            .iter()
            .zip(0u16..)
            .map(|((key, unit), number)| {
                let own = factor == SoilFactor::MapUnit;
                (key.as_str(), if own { f32::from(number) } else { value(unit) })
            })
            .collect();
        let polygon = |(number, key): (usize, &Option<String>)| {
            if factor == SoilFactor::MadeGround && self.polygons.made[number] {
                return 1.0;
            }
            let key = key.as_deref();
            key.and_then(|key| by_unit.get(key)).copied().unwrap_or(f32::NAN)
        };
        self.polygons.unit.iter().enumerate().map(polygon).collect()
    }

    /// The map units as classes: their names with their keys, in the order of keys.
    pub fn unit_names(&self) -> Vec<String> {
        let name = |(key, unit): (&String, &MapUnit)| match &unit.name {
            Some(name) => format!("{name} ({key})"),
            None => key.clone(),
        };
        self.units.iter().map(name).collect()
    }

    /// The soils of all units, with their values for the factors that are drawn; each
    /// factor has its position in the project. Of salt the survey knows nothing.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "values are held in single precision"
    )]
    pub fn mixes(&self, map_unit: usize, drawn: &[(usize, SoilFactor)]) -> SoilMixes {
        let depths = &self.section.depths;
        let part = |soil: &Component, whole: f64| SoilPart {
            name: soil.name.clone(),
            share: soil.share_pct / whole,
            values: drawn
                .iter()
                .map(|&(_, factor)| soil.value(factor, depths).map_or(f32::NAN, |value| value as f32))
                .collect(),
        };
        let parts = |unit: &MapUnit| {
            // Shares that come to more than all are taken as parts of what they come to.
            let told: f64 = unit.components.iter().map(|soil| soil.share_pct).sum();
            let soils = unit.components.iter();
            soils.map(|soil| part(soil, told.max(100.0))).collect()
        };
        let nudge = match (self.section.nudge, self.placed) {
            (
                Some(nudge),
                Placed {
                    moisture: Some(moisture),
                    wetness_index: Some(wetness_index),
                    ..
                },
            ) => Some(MoistureNudge {
                moisture,
                wetness_index,
                nudge,
            }),
            _ => None,
        };
        SoilMixes {
            map_unit,
            drawn: drawn.iter().map(|&(position, _)| position).collect(),
            units: self.units.values().map(parts).collect(),
            nudge,
            salt: None,
            suits_share: self.section.suits_share,
        }
    }

    /// What cells add to the values of polygons: the wetness of terrain to moisture, and
    /// polygons of made ground.
    pub fn finish(&self, window: Window, factors: &mut [Raster<f32>]) {
        if let (Some(made), Some(factor)) = (&self.made, self.placed.made_ground) {
            let covered = made.covers(window);
            for (value, &covered) in factors[factor].values_mut().iter_mut().zip(covered.values()) {
                if covered == 1 {
                    *value = 1.0;
                }
            }
        }
        let Placed {
            moisture: Some(moisture),
            wetness_index: Some(index),
            ..
        } = self.placed
        else {
            return;
        };
        let Some(nudge) = self.section.nudge else { return };
        if let Ok([moisture, index]) = factors.get_disjoint_mut([moisture, index]) {
            for (class, &index) in moisture.values_mut().iter_mut().zip(index.values()) {
                *class = nudge.nudged(*class, index);
            }
        }
    }
}

#[cfg(test)]
mod tests;
