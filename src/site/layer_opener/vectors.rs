//! Reads the vector layers that sections name, each once for all who need it, and all at
//! the same time.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::survey::{MADE_GROUND, is_drawn};
use crate::project::{Exclude, FactorSource, LayerRef, Width};
use crate::site::exclude_layer;
use crate::site::finding::Findings;
use crate::site::raster_plan::Place;
use crate::site::salt;
use crate::site::site::Sections;
use crate::site::soil_survey::PolygonColumns;
use crate::site::vector_layer::{VectorLayer, Wanted};

/// What tells two readings of a vector layer apart.
pub(super) type LayerKey = (std::path::PathBuf, Option<String>, Option<String>, Option<String>);

/// What a section needs of where a layer's features lie.
#[derive(Debug, Clone, Copy)]
enum Use {
    /// The ground that its polygons own.
    Ground,
    /// Their outlines.
    Outlines,
    /// The ground, and outlines while the survey is read.
    Survey,
}

/// The vector layers that sections name, and what is odd about them.
pub struct Vectors {
    pub(super) layers: BTreeMap<LayerKey, VectorLayer>,
    /// Of these whose outlines are needed until all layers are opened.
    pub(super) outlined: BTreeSet<LayerKey>,
    pub(super) findings: Findings,
}

impl Vectors {
    /// Reads each vector layer once, with all fields that anyone needs; all at the same
    /// time.
    pub fn read(sections: Sections, place: &Place) -> Vectors {
        let mut all: BTreeMap<LayerKey, Wanted> = BTreeMap::new();
        let survey = sections.soil_survey.filter(|_| is_drawn(sections));
        let mut findings = Findings::default();
        let survey_columns = survey.and_then(|survey| PolygonColumns::of(survey, &mut findings));
        let survey_columns = survey_columns.map_or_else(Vec::new, |columns| columns.names);
        let mut owning: BTreeSet<LayerKey> = BTreeSet::new();
        let mut outlined: BTreeSet<LayerKey> = BTreeSet::new();
        let mut want = |name: String, layer: &LayerRef, field: Option<&String>, reach_m: f64, use_of: Use| {
            let wanted = all.entry(key(layer)).or_insert_with(|| Wanted {
                name,
                layer: layer.clone(),
                fields: Vec::new(),
                reach_m: 0.0,
                outlines: false,
            });
            match use_of {
                Use::Ground | Use::Survey => owning.insert(key(layer)),
                Use::Outlines => outlined.insert(key(layer)),
            };
            wanted.outlines |= matches!(use_of, Use::Outlines | Use::Survey);
            wanted.reach_m = wanted.reach_m.max(reach_m);
            wanted
                .fields
                .extend(field.filter(|field| !wanted.fields.contains(field)).cloned());
        };
        for section in sections.factors {
            let name = format!("factors.{}", section.factor.id);
            match &section.source {
                FactorSource::Polygons { layer, attribute, .. } => {
                    want(name, layer, Some(attribute), 0.0, Use::Ground);
                }
                FactorSource::Distance { layer, reach_m } => want(name, layer, None, *reach_m, Use::Outlines),
                FactorSource::Limit { ground, .. } => {
                    let reach_m = exclude_layer::reach_m(ground);
                    want(name, &ground.layer, width_field(ground), reach_m, Use::Outlines);
                }
                FactorSource::SoilSurvey { layer, .. } => {
                    for column in &survey_columns {
                        want(name.clone(), layer, Some(column), 0.0, Use::Survey);
                    }
                }
                FactorSource::Raster { .. }
                | FactorSource::Slope { .. }
                | FactorSource::Sun(_)
                | FactorSource::Terrain(_)
                | FactorSource::RoadSalt => {}
            }
        }
        if let Some(salt) = sections.road_salt {
            for attribute in salt.attributes() {
                let reach_m = salt::opening::roads_matter_m(salt);
                want(
                    salt::roads::NAME.to_owned(),
                    &salt.roads,
                    Some(attribute),
                    reach_m,
                    Use::Outlines,
                );
            }
        }
        let made = sections.soil_survey.filter(|_| is_drawn(sections));
        if let Some(layer) = made.and_then(|survey| survey.made_ground.as_ref()) {
            want(MADE_GROUND.to_owned(), layer, None, 0.0, Use::Outlines);
        }
        for section in sections.exclude {
            want(
                exclude_layer::layer_name(section),
                &section.layer,
                width_field(section),
                exclude_layer::reach_m(section),
                Use::Outlines,
            );
        }
        let read: Vec<_> = all
            .into_par_iter()
            .map(|(key, wanted)| {
                // A cell at the edge may reach out by half its diagonal.
                let wanted = Wanted {
                    reach_m: wanted.reach_m + place.grid.cell_m(),
                    ..wanted
                };
                let mut findings = Findings::default();
                let (crs, area) = (place.grid.crs(), Some(&place.area));
                let ground_on = owning.contains(&key).then_some(place.grid);
                let layer = VectorLayer::read(&wanted, crs, area, ground_on, &mut findings);
                (key, layer, findings)
            })
            .collect();
        let mut vectors = Vectors {
            layers: BTreeMap::new(),
            outlined,
            findings,
        };
        for (key, layer, findings) in read {
            vectors.findings.take_over(findings);
            vectors.layers.extend(layer.map(|layer| (key, layer)));
        }
        vectors
    }
}

/// The attribute that holds the width of an exclude's lines.
fn width_field(section: &Exclude) -> Option<&String> {
    match &section.width {
        Some(Width::Attribute(field)) => Some(field),
        Some(Width::Metres(_)) | None => None,
    }
}

/// What tells a layer as a section names it from others.
pub(super) fn key(layer: &LayerRef) -> LayerKey {
    (
        layer.path.clone(),
        layer.sublayer.clone(),
        layer.filter.clone(),
        layer.crs.clone(),
    )
}
