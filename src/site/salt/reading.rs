//! The factors of road salt in one window, from the field and from what other factors
//! hold there.

use super::field::Runoff;
use super::grade::{GradeRule, Heights};
use super::opening::SiteSalt;
use super::root_zone::{Salinity, salinity};
use crate::factor::Factor;
use crate::grid::{CellIndex, Grid, Raster, TILE_CELLS, Window};
use crate::project::WaterSurplus;
use crate::site::factor_layer::{FactorLayer, Origin, take_off};
use crate::site::possible::{Impossible, Possible};
use crate::site::raster_plan::RasterPlan;
use crate::site::site::Site;
use crate::site::{Met, SiteError};

/// Which value a factor has of the salt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SaltValue {
    /// The band of exposure to spray.
    SprayBand,
    /// The grams behind it.
    SprayDose,
    /// Salinity of the root zone.
    SoilSalinity,
}

impl SaltValue {
    /// The value that a factor stands for.
    #[must_use]
    pub fn of(factor: &Factor) -> SaltValue {
        match factor.id.as_str() {
            "spray_salt" => SaltValue::SprayBand,
            "spray_dose" => SaltValue::SprayDose,
            _ => SaltValue::SoilSalinity,
        }
    }
}

/// Elevation to be read for runoff.
#[derive(Debug)]
pub struct Elevation {
    /// The raster.
    pub plan: RasterPlan,
    /// Metres in a unit of it.
    pub metres_per_unit: f64,
}

/// What the root zone of some cells gets.
struct Inflow<'s> {
    salt: &'s SiteSalt,
    spray: &'s Raster<f32>,
    runoff: Runoff,
    drainage: Option<&'s Raster<f32>>,
    surplus: Option<&'s Raster<f32>>,
}

impl Inflow<'_> {
    /// Grams, millimetres and leaching fraction of a cell.
    fn of_cell(&self, cell: usize) -> (f64, f64, f64) {
        let at = |raster: &Raster<f32>| f64::from(raster.values()[cell]);
        let root = &self.salt.settings.root_zone;
        let surplus_mm = match &root.water {
            Some(WaterSurplus::Everywhere { mm, .. }) => *mm,
            Some(WaterSurplus::Factor) | None => self.surplus.map_or(f64::NAN, at),
        };
        // Without a surplus nothing leaches, whatever runs off the pavement.
        let water_mm = if surplus_mm > 0.0 {
            surplus_mm + at(&self.runoff.water_mm)
        } else {
            f64::NAN
        };
        let class = self.drainage.map_or(f32::NAN, |raster| raster.values()[cell]);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "class factors hold small whole indices"
        )]
        let leaching = if class.is_nan() {
            f64::NAN
        } else {
            root.leaching.get(class as usize).copied().unwrap_or(f64::NAN)
        };
        (at(self.spray) + at(&self.runoff.salt_g_m2), water_mm, leaching)
    }

    fn salinity(&self, cell: usize) -> Option<Salinity> {
        let (grams, water_mm, leaching) = self.of_cell(cell);
        salinity(grams, water_mm, leaching, &self.salt.settings.root_zone)
    }
}

impl Site {
    /// Puts the factors that are computed from road salt into a tile whose other factors
    /// are read.
    ///
    /// # Errors
    /// When the elevation cannot be read.
    pub(in crate::site) fn add_road_salt(
        &self,
        window: Window,
        factors: &mut [Raster<f32>],
        met: &mut Met,
    ) -> Result<(), SiteError> {
        let Some(salt) = &self.salt else { return Ok(()) };
        let spray = salt.field.spray(window);
        for (index, layer) in self.layers().iter().enumerate() {
            let Origin::RoadSalt { value, elevation } = &layer.origin else {
                continue;
            };
            factors[index] = match value {
                SaltValue::SprayDose => spray.clone(),
                SaltValue::SprayBand => {
                    let mut bands = spray.clone();
                    for value in bands.values_mut() {
                        let class = salt.settings.bands.class_of(f64::from(*value));
                        *value = class.map_or(f32::NAN, f32::from);
                    }
                    bands
                }
                SaltValue::SoilSalinity => {
                    let mut heights = Impossible::default();
                    let read = elevation.as_ref().map(|elevation| {
                        self.heights(layer, elevation, window, salt.margin(self.grid()), &mut heights)
                    });
                    let read = read.transpose()?;
                    if heights.count > 0 {
                        met.heights.entry(index).or_default().add(&heights);
                    }
                    let elevation = read.as_ref().zip(elevation.as_ref());
                    let inflow = self.inflow(salt, &spray, window, factors, elevation);
                    let possible = Possible::of(&layer.factor, false);
                    let mut impossible = Impossible::default();
                    let mut ece = Raster::filled(window, f32::NAN);
                    #[expect(
                        clippy::cast_possible_truncation,
                        reason = "values are held in single precision"
                    )]
                    for (cell, value) in ece.values_mut().iter_mut().enumerate() {
                        let found = inflow.salinity(cell);
                        *value =
                            found.map_or(f32::NAN, |found| found.told(salt.settings.root_zone.tells) as f32);
                        if !possible.holds(f64::from(*value)) {
                            impossible.count(f64::from(*value));
                            *value = f32::NAN;
                        }
                    }
                    if impossible.count > 0 {
                        met.impossible.entry(index).or_default().add(&impossible);
                    }
                    ece
                }
            };
        }
        Ok(())
    }

    /// For each factor the numbers behind its value at a cell, where they say more than
    /// the value: grams of spray, and what a soil salinity is made of.
    ///
    /// # Errors
    /// When a layer cannot be read.
    pub fn behind(&self, cell: CellIndex, values: &[f32]) -> Result<Vec<Option<String>>, SiteError> {
        let mut texts = vec![None; self.layers().len()];
        let Some(salt) = &self.salt else { return Ok(texts) };
        let window = Window {
            row: cell.row,
            col: cell.col,
            rows: 1,
            cols: 1,
        };
        debug_assert!(window.rows <= TILE_CELLS, "a cell lies in one tile");
        let factors: Vec<Raster<f32>> = values
            .iter()
            .map(|&value| Raster::filled(window, value))
            .collect();
        let spray = salt.field.spray(window);
        for (layer, text) in self.layers().iter().zip(&mut texts) {
            let Origin::RoadSalt { value, elevation } = &layer.origin else {
                continue;
            };
            let grams = spray.values()[0];
            *text = match value {
                SaltValue::SprayDose => None,
                SaltValue::SprayBand => Some(format!("{grams:.1} g NaCl per m2 and winter")),
                SaltValue::SoilSalinity => {
                    let mut heights = Impossible::default();
                    let read = elevation.as_ref().map(|elevation| {
                        self.heights(layer, elevation, window, salt.margin(self.grid()), &mut heights)
                    });
                    let read = read.transpose()?;
                    let elevation = read.as_ref().zip(elevation.as_ref());
                    let inflow = self.inflow(salt, &spray, window, &factors, elevation);
                    let (all, water_mm, leaching) = inflow.of_cell(0);
                    let runoff = inflow.runoff.salt_g_m2.values()[0];
                    let shown = inflow.salinity(0).map_or_else(
                        || "not known".to_owned(),
                        |ece| {
                            format!(
                                "mean {:.1}, spring peak {:.1}, what stays {:.1} dS/m",
                                ece.mean, ece.spring_peak, ece.stays
                            )
                        },
                    );
                    (all != 0.0).then(|| {
                        format!(
                            "screening estimate: {shown}; {grams:.0} g of spray and {runoff:.0} g of runoff per m2 and winter in {water_mm:.0} mm of water, {:.0} % of which leaches",
                            leaching * 100.0
                        )
                    })
                }
            };
        }
        Ok(texts)
    }

    fn inflow<'s>(
        &'s self,
        salt: &'s SiteSalt,
        spray: &'s Raster<f32>,
        window: Window,
        factors: &'s [Raster<f32>],
        elevation: Option<(&Raster<f32>, &Elevation)>,
    ) -> Inflow<'s> {
        let named = |id: &str| {
            let index = self.factors().iter().position(|factor| factor.id == id)?;
            factors.get(index)
        };
        let root = &salt.settings.root_zone;
        let heights = elevation.map(|(raster, elevation)| Heights {
            raster,
            window,
            margin: salt.margin(self.grid()),
            cell_m: self.grid().cell_m(),
            metres_per_unit: elevation.metres_per_unit,
            rule: GradeRule {
                above_m: root.above_m,
                hollow_m: root.hollow_m,
                hollow_factor: root.hollow_factor,
            },
        });
        Inflow {
            salt,
            spray,
            runoff: salt.field.runoff(window, heights.as_ref()),
            drainage: named("drainage"),
            surplus: named("water_surplus"),
        }
    }

    /// Heights of a window and so many cells around it.
    fn heights(
        &self,
        layer: &FactorLayer,
        elevation: &Elevation,
        window: Window,
        margin: usize,
        impossible: &mut Impossible,
    ) -> Result<Raster<f32>, SiteError> {
        let read = elevation.plan.read(self.grid(), window, margin);
        let mut heights = read.map_err(|source| SiteError::Read {
            layer: layer.name.clone(),
            source: Box::new(source),
        })?;
        let possible = Possible::heights(elevation.metres_per_unit);
        take_off(&possible, &mut heights, impossible);
        Ok(heights)
    }
}

impl SiteSalt {
    /// Cells around a window in which the pavement beside it lies.
    fn margin(&self, grid: &Grid) -> usize {
        let metres = self.field.runoff_reach_m() + self.field.widest_half_m();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "some tens of metres in cells"
        )]
        let cells = (metres / grid.cell_m()).ceil() as usize;
        cells + 2
    }
}
