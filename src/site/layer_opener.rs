//! Opens the layers of a site onto its grid: turns sections, and the vector layers that
//! are read once for all of them, into factors and excludes.

mod road_salt;
mod survey;
mod vectors;

use std::collections::{BTreeMap, BTreeSet};

use super::LayerFact;
use super::area::polygons_of;
use super::exclude_layer::{self, ExcludeLayer};
use super::factor_layer::{FactorLayer, Origin, distance_index};
use super::finding::Findings;
use super::polygon_layer::{PolygonLayer, polygon_layer};
use super::polygon_values::polygon_values;
use super::raster_checks;
use super::raster_plan::{Looked, Place};
use super::salt::reading::SaltValue;
use super::site::Sections;
use super::soil_survey::Survey;
use super::sun::SunLooked;
use super::terrain::open_terrain;
use super::vector_layer::VectorLayer;
use crate::factor::Kind;
use crate::gis::Features;
use crate::grid::Extent;
use crate::project::{Exclude, FactorSection, FactorSource, LayerRef, RoadSalt};
use crate::soil::SoilFactor;
pub use vectors::Vectors;
use vectors::{LayerKey, key};

/// Opens layers onto a grid, each vector layer once.
pub struct LayerOpener<'a> {
    place: Place<'a>,
    findings: &'a mut Findings,
    vectors: BTreeMap<LayerKey, VectorLayer>,
    outlined: BTreeSet<LayerKey>,
    /// Polygon layers burned so far, in the order in which factors asked for them.
    pub polygon_layers: Vec<PolygonLayer>,
    polygon_numbers: BTreeMap<LayerKey, usize>,
    road_salt: Option<&'a RoadSalt>,
    /// What there is to tell of the layers.
    pub facts: Vec<LayerFact>,
    survey: Option<Survey>,
}

impl<'a> LayerOpener<'a> {
    /// An opener that turns the vector layers read into what the grid needs.
    pub fn new(
        sections: Sections,
        vectors: Vectors,
        place: Place<'a>,
        findings: &'a mut Findings,
    ) -> LayerOpener<'a> {
        findings.take_over(vectors.findings);
        let mut opener = LayerOpener {
            place,
            findings,
            vectors: vectors.layers,
            outlined: vectors.outlined,
            polygon_layers: Vec::new(),
            polygon_numbers: BTreeMap::new(),
            road_salt: None,
            facts: Vec::new(),
            survey: None,
        };
        opener.survey = opener.read_survey(sections);
        opener
    }

    /// The factor of a section, its raster already looked at.
    pub fn factor(&mut self, section: &FactorSection, looked: Option<Looked>) -> Option<FactorLayer> {
        let name = format!("factors.{}", section.factor.id);
        let place = self.place;
        let origin = match &section.source {
            FactorSource::Polygons {
                layer: layer_ref,
                attribute,
                nodata,
                unit,
            } => {
                let layer = self.vectors.get(&key(layer_ref))?;
                self.facts.push(fact(&name, layer_ref, layer, section));
                let values = polygon_values(section, attribute, *nodata, unit.as_ref(), layer, self.findings);
                Origin::Polygons {
                    layer: self.polygons(&name, layer_ref)?,
                    values,
                }
            }
            FactorSource::Distance {
                layer: layer_ref,
                reach_m,
            } => {
                let layer = self.vectors.get(&key(layer_ref))?;
                self.facts.push(fact(&name, layer_ref, layer, section));
                if layer.features.items.is_empty() {
                    let text = misses_area(layer_ref, &layer.features, &place);
                    self.findings
                        .warn(&name, format!("{text}: every cell is farther than {reach_m} m"));
                }
                Origin::Distance(distance_index(&name, place.grid, layer, *reach_m, self.findings)?)
            }
            FactorSource::SoilSurvey { layer, of } => self.of_survey(section, layer, *of)?,
            FactorSource::Raster { band, nodata, .. } => {
                let (plan, fact) = looked?.plan(section, *band, *nodata, &place, self.findings)?;
                self.facts.push(fact);
                Origin::Raster(plan)
            }
            FactorSource::Terrain(source) => {
                let (layer, fact) = open_terrain(looked?, section, source, &place, self.findings)?;
                self.facts.push(fact);
                Origin::Terrain(Box::new(layer))
            }
            FactorSource::Sun(source) => {
                let sides = SunLooked::new(section, source, self.findings);
                let facts = &mut self.facts;
                let layer = sides?.open(looked?, section, source, &place, facts, self.findings)?;
                Origin::Sun(Box::new(layer))
            }
            FactorSource::Slope {
                elevation,
                band,
                nodata,
                vertical_unit,
            } => {
                let looked = looked?;
                let given = vertical_unit.as_ref().map(|unit| unit.multiply);
                let file = &looked.file;
                let unit =
                    raster_checks::metres_per_unit(&name, elevation, file, *band, given, self.findings);
                let (plan, fact) = looked.plan(section, *band, *nodata, &place, self.findings)?;
                self.facts.push(fact);
                Origin::Slope {
                    elevation: plan,
                    metres_per_unit: unit?,
                }
            }
            FactorSource::Limit { ground, .. } => self.limit(section, ground)?,
            FactorSource::RoadSalt => Origin::RoadSalt {
                value: SaltValue::of(&section.factor),
                elevation: match looked {
                    Some(looked) => Some(self.heights_for_salt(section, looked)?),
                    None => None,
                },
            },
        };
        let mut factor = FactorLayer::new(section, origin);
        if let (FactorSource::SoilSurvey { of, .. }, Some(survey)) = (&section.source, &self.survey)
            && *of == SoilFactor::MapUnit
        {
            factor.factor.kind = Kind::Classes {
                names: survey.unit_names(),
                ordered: false,
            };
        }
        Some(factor)
    }

    /// Ground on which plants are limited.
    fn limit(&mut self, section: &FactorSection, ground: &Exclude) -> Option<Origin> {
        let name = format!("factors.{}", section.factor.id);
        let layer = self.vectors.get(&key(&ground.layer))?;
        self.facts.push(LayerFact {
            kind: "vector, limit".to_owned(),
            date: section.date.clone(),
            ..LayerFact::of_vector(&name, &ground.layer, &layer.features)
        });
        if layer.features.items.is_empty() {
            let text = misses_area(&ground.layer, &layer.features, &self.place);
            self.findings.warn(&name, format!("{text}: nothing is limited"));
        }
        Some(Origin::Limit(ExcludeLayer::called(
            &name,
            ground,
            self.place.grid,
            layer,
            self.findings,
        )?))
    }

    /// The exclude of a section.
    pub fn exclude(&mut self, section: &Exclude) -> Option<ExcludeLayer> {
        let name = exclude_layer::layer_name(section);
        let layer = self.vectors.get(&key(&section.layer))?;
        let fact = LayerFact::of_vector(&name, &section.layer, &layer.features);
        self.facts.push(LayerFact {
            kind: "vector, excluded".to_owned(),
            ..fact
        });
        if layer.features.items.is_empty() {
            let text = misses_area(&section.layer, &layer.features, &self.place);
            self.findings.warn(&name, format!("{text}: nothing is excluded"));
        }
        ExcludeLayer::new(section, self.place.grid, layer, self.findings)
    }

    /// The number of a polygon layer, burned when first asked for.
    fn polygons(&mut self, name: &str, layer_ref: &LayerRef) -> Option<usize> {
        if let Some(&number) = self.polygon_numbers.get(&key(layer_ref)) {
            return Some(number);
        }
        let layer = self.vectors.get_mut(&key(layer_ref))?;
        if layer.features.items.is_empty() {
            let text = misses_area(layer_ref, &layer.features, &self.place);
            self.findings.error(
                name,
                format!("{text}; a layer that covers the area is needed, or the right `crs` or `filter` for this one"),
            );
            return None;
        }
        self.polygon_layers
            .push(polygon_layer(name, layer, self.findings)?);
        let number = self.polygon_layers.len() - 1;
        self.polygon_numbers.insert(key(layer_ref), number);
        Some(number)
    }
}

fn fact(name: &str, layer: &LayerRef, read: &VectorLayer, section: &FactorSection) -> LayerFact {
    let measured = section.cuts.is_none() && matches!(section.factor.kind, Kind::Measured(_));
    let geometry = match section.source {
        FactorSource::Distance { .. } => "distance",
        FactorSource::SoilSurvey { .. } => "soil survey",
        _ => "polygons",
    };
    LayerFact {
        kind: format!("{geometry}, {}", if measured { "measured" } else { "classes" }),
        support_m: section.support_m,
        date: section.date.clone(),
        ..LayerFact::of_vector(name, layer, &read.features)
    }
}

/// That a layer has nothing near the area, where it lies, and where the area lies.
fn misses_area<G>(layer: &LayerRef, features: &Features<G>, place: &Place) -> String {
    let show = |extent: &Extent| {
        format!(
            "x {:.3} to {:.3}, y {:.3} to {:.3}",
            extent.west, extent.east, extent.south, extent.north
        )
    };
    let path = &layer.as_written;
    let lies = match (&features.lies, &layer.filter) {
        (None, None) => return format!("{path} has no features with a place on the ground"),
        (None, Some(filter)) => {
            return format!("`{filter}` leaves {path} no feature with a place on the ground");
        }
        (Some(lies), _) => format!(
            "all of it lies at {} in {}",
            show(lies),
            features.source_crs.label()
        ),
    };
    let filter = layer
        .filter
        .as_ref()
        .map_or_else(String::new, |filter| format!(" with the filter `{filter}`"));
    format!(
        "{path} has nothing near the area{filter}: {lies}, the area at {} in {}",
        show(&place.area),
        place.grid.crs().label()
    )
}
