//! The soil survey of a site: from its section and the polygons near the area to values
//! for polygons. Knows nothing of what they are rated for.

use super::{LayerOpener, fact, key, polygons_of};
use crate::factor::Kind;
use crate::project::{FactorSection, FactorSource, LayerRef};
use crate::site::LayerFact;
use crate::site::burn::PolygonIndex;
use crate::site::factor_layer::Origin;
use crate::site::site::Sections;
use crate::site::soil_survey::{self, Placed, Survey};
use crate::soil::SoilFactor;

/// What the project file calls the survey and its polygons of made ground.
pub(super) const SURVEY: &str = "soil_survey";
pub(super) const MADE_GROUND: &str = "soil_survey.made_ground";

/// Whether any factor is drawn from the soil survey.
pub(super) fn is_drawn(sections: Sections) -> bool {
    let mut factors = sections.factors.iter();
    factors.any(|section| matches!(section.source, FactorSource::SoilSurvey { .. }))
}

impl LayerOpener<'_> {
    /// The soil survey, if any factor is drawn from it.
    pub(super) fn read_survey(&mut self, sections: Sections) -> Option<Survey> {
        let section = sections.soil_survey.filter(|_| is_drawn(sections))?;
        let polygons = key(&section.polygons);
        let layer = self.vectors.get_mut(&polygons)?;
        let usual = soil_survey::usual_words();
        let drawn = soil_survey::drawn(sections.factors, &usual);
        let shapes = polygons_of(SURVEY, layer, self.findings)?;
        let survey = Survey::read(section, layer, &shapes, &drawn, self.findings);
        if !self.outlined.contains(&polygons) {
            layer.let_outlines_go();
        }
        let mut survey = survey?;
        if let Some(made) = &section.made_ground {
            let layer = self.vectors.get(&key(made))?;
            self.facts
                .push(LayerFact::of_vector(MADE_GROUND, made, &layer.features));
            let shapes = polygons_of(MADE_GROUND, layer, self.findings)?;
            let index = PolygonIndex::new(self.place.grid, &shapes);
            survey.add_made_ground(self.findings.take(MADE_GROUND, index)?);
        }
        Some(survey)
    }

    /// The soil survey with its place in the site, when all factors are opened.
    pub fn placed_survey(&mut self, sections: Sections) -> Option<Survey> {
        let mut survey = self.survey.take()?;
        let section = sections.soil_survey?;
        let of = |id: &str, from_survey: bool| {
            sections.factors.iter().position(|section| {
                let drawn = matches!(section.source, FactorSource::SoilSurvey { .. });
                section.factor.id == id && (drawn || !from_survey)
            })
        };
        survey.place(Placed {
            layer: self.polygon_numbers.get(&key(&section.polygons)).copied(),
            moisture: of("moisture", true),
            wetness_index: of("wetness_index", false),
            made_ground: of("made_ground", true),
        });
        Some(survey)
    }

    /// What the survey tells of a factor, polygon by polygon.
    pub(super) fn of_survey(
        &mut self,
        section: &FactorSection,
        layer_ref: &LayerRef,
        of: SoilFactor,
    ) -> Option<Origin> {
        let name = format!("factors.{}", section.factor.id);
        let survey = self.survey.as_ref()?;
        let layer = self.vectors.get(&key(layer_ref))?;
        // Map units are no layer of the project's own.
        if of != SoilFactor::MapUnit {
            self.facts.push(fact(&name, layer_ref, layer, section));
        }
        let values = survey.values(of, matches!(section.factor.kind, Kind::Classes { .. }));
        Some(Origin::Polygons {
            layer: self.polygons(&name, layer_ref)?,
            values,
        })
    }
}
