//! The salted roads of a site: from their section and layer to a field of salt, and the
//! heights that a soil salinity looks at.

use super::{LayerOpener, key, misses_area};
use crate::project::{ELEVATION_NAME, FactorSection, FactorSource, RoadSalt};
use crate::site::raster_plan::Looked;
use crate::site::salt::{self, opening::SiteSalt, reading::Elevation};
use crate::site::{LayerFact, raster_checks};

impl<'a> LayerOpener<'a> {
    /// The salted roads; all that is wrong with them is told.
    pub fn road_salt(&mut self, section: &'a RoadSalt, factors: &[FactorSection]) -> Option<SiteSalt> {
        self.road_salt = Some(section);
        let layer = self.vectors.get(&key(&section.roads))?;
        let fact = LayerFact::of_vector(salt::roads::NAME, &section.roads, &layer.features);
        self.facts.push(LayerFact {
            kind: "vector, salted".to_owned(),
            ..fact
        });
        if layer.features.items.is_empty() {
            let text = misses_area(&section.roads, &layer.features, &self.place);
            self.findings
                .warn(salt::roads::NAME, format!("{text}: no cell gets any salt"));
        }
        let soil_salinity = factors
            .iter()
            .any(|factor| factor.source == FactorSource::RoadSalt && factor.factor.id == "soil_salinity");
        salt::opening::open(section, self.place.grid, layer, soil_salinity, self.findings)
    }

    /// The elevation of a soil salinity, already looked at.
    pub(super) fn heights_for_salt(&mut self, section: &FactorSection, looked: Looked) -> Option<Elevation> {
        let root = &self.road_salt.as_ref()?.root_zone;
        let elevation = root.elevation.as_ref()?;
        let given = root.vertical_unit.as_ref().map(|unit| unit.multiply);
        let (name, band) = (ELEVATION_NAME, root.band);
        let unit = raster_checks::metres_per_unit(name, elevation, &looked.file, band, given, self.findings);
        let (plan, fact) = looked.plan(section, band, root.nodata, &self.place, self.findings)?;
        self.facts.push(LayerFact {
            name: name.to_owned(),
            ..fact
        });
        Some(Elevation {
            plan,
            metres_per_unit: unit?,
        })
    }
}
