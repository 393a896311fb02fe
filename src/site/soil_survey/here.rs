//! What stands behind the soil values of one place: the map unit and its soils, for
//! people.

use serde::Serialize;

use super::{MapUnit, Survey};
use crate::grid::{CellIndex, Window};
use crate::site::site::Site;
use crate::soil::{Component, MOISTURE_CLASSES};

/// The map unit of a place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SoilHere {
    /// Its key.
    pub unit: String,
    /// Its symbol.
    pub symbol: Option<String>,
    /// Its name.
    pub name: Option<String>,
    /// How units of several soils are read.
    pub reading: &'static str,
    /// Its soils, the largest first.
    pub soils: Vec<SoilShare>,
    /// Share of the unit of which no soil is told, per cent.
    pub untold_pct: f64,
}

/// One soil of a unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SoilShare {
    /// Its name.
    pub name: String,
    /// Share of the unit, per cent.
    pub share_pct: f64,
    /// Its drainage.
    pub drainage: Option<String>,
    /// Its moisture.
    pub moisture: Option<&'static str>,
    /// What the rule of moisture had to assume of it.
    pub assumed: Option<&'static str>,
    /// Salinity of its root zone from road salt, in dS/m; only where it is reckoned for
    /// each soil.
    pub road_salt_ds_m: Option<f32>,
}

impl Survey {
    fn here(&self, polygon: usize, salted: &dyn Fn(u16) -> Option<f32>) -> Option<SoilHere> {
        let key = self.polygons.unit.get(polygon)?.as_ref()?;
        let unit = self.units.get(key)?;
        let mut soils: Vec<&Component> = unit.components.iter().collect();
        soils.sort_by(|one, other| {
            let larger = other.share_pct.total_cmp(&one.share_pct);
            larger.then_with(|| one.key.cmp(&other.key))
        });
        let told: f64 = soils.iter().map(|soil| soil.share_pct).sum();
        let MapUnit { symbol, name, .. } = unit;
        Some(SoilHere {
            unit: key.clone(),
            symbol: symbol.clone().or_else(|| self.polygons.symbol[polygon].clone()),
            name: name.clone(),
            reading: self.section.reading.word(),
            untold_pct: (100.0 - told).max(0.0),
            soils: soils.into_iter().map(|soil| self.share(soil, salted)).collect(),
        })
    }

    fn share(&self, soil: &Component, salted: &dyn Fn(u16) -> Option<f32>) -> SoilShare {
        let moisture = soil.moisture(&self.section.depths);
        let drainage_class = soil.drainage;
        let drainage = drainage_class.and_then(|class| self.drainage.get(usize::from(class)));
        SoilShare {
            name: soil.name.clone(),
            share_pct: soil.share_pct,
            drainage: drainage.cloned(),
            moisture: moisture.map(|found| MOISTURE_CLASSES[usize::from(found.class)]),
            assumed: moisture.and_then(|found| found.assumed),
            road_salt_ds_m: drainage_class.and_then(salted),
        }
    }
}

impl Site {
    /// The map unit of a cell, where the project has a soil survey; `values` are those of
    /// all factors there.
    ///
    /// # Missing
    /// Without a survey, and where no polygon or more than one holds the cell, or no
    /// table knows its key.
    #[must_use]
    pub fn soil_here(&self, cell: CellIndex, values: &[f32]) -> Option<SoilHere> {
        let survey = self.survey.as_ref()?;
        let layer = &self.polygon_layers[survey.placed.layer?];
        let window = Window {
            row: cell.row,
            col: cell.col,
            rows: 1,
            cols: 1,
        };
        let owners = layer.index.owners(window);
        let salt = self.salt_of_soils();
        let salted = |drainage: u16| {
            let found = salt.as_ref()?.ds_m(values, f32::from(drainage));
            found.is_finite().then_some(found)
        };
        survey.here(*owners.polygons.values().first()? as usize, &salted)
    }
}
