//! The factors of road salt in one window, from the field and from what other factors
//! hold there.

use super::field::Runoff;
use super::grade::{GradeRule, Heights};
use super::opening::SiteSalt;
use crate::factor::Factor;
use crate::grid::{CellIndex, Grid, Raster, TILE_CELLS, Window};
use crate::project::WaterSurplus;
use crate::site::factor_layer::{FactorLayer, Origin, take_off};
use crate::site::possible::{Impossible, Possible};
use crate::site::raster_plan::RasterPlan;
use crate::site::site::Site;
use crate::site::{Met, SiteError};
use crate::soil::{LEACHING_WATER, SALT_WATER, SaltyWater, held};

/// Which value a factor has of the salt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SaltValue {
    /// The band of exposure to spray.
    SprayBand,
    /// The grams behind it.
    SprayDose,
    /// Salinity of the root zone.
    SoilSalinity,
    /// How salty the water is that enters the ground, where soils are rated one by one.
    SaltWater,
    /// How much water that is.
    LeachingWater,
}

impl SaltValue {
    /// The value that a factor stands for.
    #[must_use]
    pub fn of(factor: &Factor) -> SaltValue {
        match factor.id.as_str() {
            "spray_salt" => SaltValue::SprayBand,
            "spray_dose" => SaltValue::SprayDose,
            SALT_WATER => SaltValue::SaltWater,
            LEACHING_WATER => SaltValue::LeachingWater,
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
    /// Whether numbers are held in steps, since each soil of a map unit makes its own
    /// of them.
    in_steps: bool,
}

impl Inflow<'_> {
    /// Grams of salt and millimetres of water of a cell.
    fn amounts(&self, cell: usize) -> (f64, f64) {
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
        (at(self.spray) + at(&self.runoff.salt_g_m2), water_mm)
    }

    /// The water that enters the ground of a cell.
    fn water(&self, cell: usize) -> SaltyWater {
        let (grams, water_mm) = self.amounts(cell);
        let found = SaltyWater::of(grams, water_mm, self.salt.settings.root_zone.mg_per_litre);
        if !self.in_steps {
            return found;
        }
        SaltyWater {
            ds_m: f64::from(held(found.ds_m)),
            // A surplus that is the same everywhere needs no steps.
            mm: if self.salt.in_steps_of_amount() {
                f64::from(held(found.mm))
            } else {
                found.mm
            },
        }
    }

    fn drainage(&self, cell: usize) -> f32 {
        self.drainage.map_or(f32::NAN, |raster| raster.values()[cell])
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
        if let Some(index) = self.position_of(SaltValue::SoilSalinity) {
            self.add_root_zone(salt, &spray, window, index, factors, met)?;
        }
        for (index, layer) in self.layers().iter().enumerate() {
            let Origin::RoadSalt { value, .. } = &layer.origin else {
                continue;
            };
            match value {
                SaltValue::SprayDose => factors[index] = spray.clone(),
                SaltValue::SprayBand => {
                    let mut bands = spray.clone();
                    for value in bands.values_mut() {
                        let class = salt.settings.bands.class_of(f64::from(*value));
                        *value = class.map_or(f32::NAN, f32::from);
                    }
                    factors[index] = bands;
                }
                SaltValue::SoilSalinity | SaltValue::SaltWater | SaltValue::LeachingWater => {}
            }
        }
        Ok(())
    }

    /// Puts in the salinity of the root zone, at a factor's position, and the numbers
    /// behind it that are factors by themselves.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "values are held in single precision"
    )]
    fn add_root_zone(
        &self,
        salt: &SiteSalt,
        spray: &Raster<f32>,
        window: Window,
        index: usize,
        factors: &mut [Raster<f32>],
        met: &mut Met,
    ) -> Result<(), SiteError> {
        let layer = &self.layers()[index];
        let mut no_heights = Impossible::default();
        let heights = self.heights_of(layer, salt, window, &mut no_heights)?;
        if no_heights.count > 0 {
            met.heights.entry(index).or_default().add(&no_heights);
        }
        let inflow = self.inflow(salt, spray, window, factors, heights.as_ref());
        let zone = salt.settings.root_zone.root_zone();
        let mut impossible = Impossible::default();
        let blank = || Raster::filled(window, f32::NAN);
        let (mut ece, mut ds_m, mut mm) = (blank(), blank(), blank());
        let behind = ds_m.values_mut().iter_mut().zip(mm.values_mut());
        for (cell, (value, (ds_m, mm))) in ece.values_mut().iter_mut().zip(behind).enumerate() {
            let water = inflow.water(cell);
            (*ds_m, *mm) = (water.ds_m as f32, water.mm as f32);
            let found = zone.reckoned_ds_m(water, inflow.drainage(cell));
            if zone.holds(found) {
                *value = found;
            } else {
                impossible.count(f64::from(found));
            }
        }
        if impossible.count > 0 {
            met.impossible.entry(index).or_default().add(&impossible);
        }
        factors[index] = ece;
        for (value, raster) in [(SaltValue::SaltWater, ds_m), (SaltValue::LeachingWater, mm)] {
            if let Some(position) = self.position_of(value) {
                factors[position] = raster;
            }
        }
        Ok(())
    }

    /// The position of the factor that has such a value of road salt.
    pub(in crate::site) fn position_of(&self, sought: SaltValue) -> Option<usize> {
        self.layers()
            .iter()
            .position(|layer| matches!(&layer.origin, Origin::RoadSalt { value, .. } if *value == sought))
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
            let Origin::RoadSalt { value, .. } = &layer.origin else {
                continue;
            };
            let grams = spray.values()[0];
            *text = match value {
                SaltValue::SprayDose | SaltValue::SaltWater | SaltValue::LeachingWater => None,
                SaltValue::SprayBand => Some(format!("{grams:.1} g NaCl per m2 and winter")),
                SaltValue::SoilSalinity => {
                    let heights = self.heights_of(layer, salt, window, &mut Impossible::default())?;
                    let inflow = self.inflow(salt, &spray, window, &factors, heights.as_ref());
                    let (all, water_mm) = inflow.amounts(0);
                    let zone = salt.settings.root_zone.root_zone();
                    let leaching = zone.leaching_of(inflow.drainage(0));
                    let runoff = inflow.runoff.salt_g_m2.values()[0];
                    let shown = zone.salinity(inflow.water(0), leaching).map_or_else(
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
        heights: Option<&(Raster<f32>, f64)>,
    ) -> Inflow<'s> {
        let named = |id: &str| {
            let index = self.factors().iter().position(|factor| factor.id == id)?;
            factors.get(index)
        };
        let root = &salt.settings.root_zone;
        let heights = heights.map(|(raster, metres_per_unit)| Heights {
            raster,
            window,
            margin: salt.margin(self.grid()),
            cell_m: self.grid().cell_m(),
            metres_per_unit: *metres_per_unit,
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
            in_steps: self.position_of(SaltValue::SaltWater).is_some(),
        }
    }

    /// Heights of a window and what lies around it, with the metres in a unit of them,
    /// where a factor looks at any.
    fn heights_of(
        &self,
        layer: &FactorLayer,
        salt: &SiteSalt,
        window: Window,
        impossible: &mut Impossible,
    ) -> Result<Option<(Raster<f32>, f64)>, SiteError> {
        let Origin::RoadSalt {
            elevation: Some(elevation),
            ..
        } = &layer.origin
        else {
            return Ok(None);
        };
        let margin = salt.margin(self.grid());
        let read = elevation.plan.read(self.grid(), window, margin);
        let mut heights = read.map_err(|source| SiteError::Read {
            layer: layer.name.clone(),
            source: Box::new(source),
        })?;
        let possible = Possible::heights(elevation.metres_per_unit);
        take_off(&possible, &mut heights, impossible);
        Ok(Some((heights, elevation.metres_per_unit)))
    }
}

impl SiteSalt {
    /// Whether the amount of water is a factor by itself.
    fn in_steps_of_amount(&self) -> bool {
        self.settings.root_zone.hangs_on_amount()
    }

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
