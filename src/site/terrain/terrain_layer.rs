//! Factors of the ground's shape in a window of the grid.

use super::facing::{Slope, aspect_deg};
use super::true_north::TrueNorth;
use crate::gis::GisError;
use crate::grid::{Cell, CellIndex, Grid, Raster, Window};
use crate::plural::counted;
use crate::project::{Equation, Measure};
use crate::site::possible::{Impossible, Possible};
use crate::site::raster_plan::RasterPlan;
use crate::site::slope::Gradient;
use crate::site::tile_values::TO_RATE;

/// A factor of the ground's shape, opened.
#[derive(Debug)]
pub struct TerrainLayer {
    /// Heights of the ground.
    pub elevation: RasterPlan,
    /// Metres in a unit of elevation.
    pub metres_per_unit: f64,
    /// What is computed.
    pub measure: Measure,
    /// Latitudes and true north.
    pub north: TrueNorth,
    /// The wetness index of the whole grid, which cannot be had tile by tile.
    pub wetness: Option<Raster<f32>>,
    /// Cells of the grid whose catchment is not wholly known.
    pub beyond: Option<Raster<u8>>,
}

/// How many slopes are steep.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
pub struct Steepness {
    /// Steeper than 45 degrees.
    pub steep: u64,
    /// All that are known.
    pub known: u64,
}

impl Steepness {
    /// Counts a slope in per cent.
    pub fn count(&mut self, slope_pct: f64) {
        self.known += u64::from(!slope_pct.is_nan());
        self.steep += u64::from(slope_pct > 100.0);
    }

    /// Adds what was counted elsewhere.
    pub fn add(&mut self, other: &Steepness) {
        self.steep += other.steep;
        self.known += other.known;
    }

    /// What there is to tell where most ground is steeper than any.
    #[must_use]
    pub fn told(&self) -> Option<String> {
        (self.steep * 2 > self.known).then(|| {
            format!(
                "half of the ground and more is steeper than 45 degrees ({} of {}): the heights may be in another unit, such as feet or centimetres; say the right `vertical_unit`",
                self.steep,
                counted(self.known, "cell")
            )
        })
    }
}

/// What was met while values were reckoned.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
pub struct TerrainMet {
    /// Steep slopes.
    pub steepness: Steepness,
    /// Level cells, which face nowhere.
    pub level: u64,
    /// Cells steeper than the equation holds for.
    pub too_steep: u64,
    /// Cells whose catchment is not wholly known.
    pub beyond: u64,
}

impl TerrainMet {
    /// Adds what was met elsewhere.
    pub fn add(&mut self, other: &TerrainMet) {
        self.steepness.add(&other.steepness);
        self.level += other.level;
        self.too_steep += other.too_steep;
        self.beyond += other.beyond;
    }

    /// What was met, for people.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "areas for people")]
    pub fn told(&self, cell_m: f64) -> Vec<String> {
        let area = |cells: u64| format!("{:.2} ha", cells as f64 * cell_m * cell_m / 10_000.0);
        let mut told: Vec<String> = self.steepness.told().into_iter().collect();
        if self.level > 0 {
            told.push(format!(
                "{} are level and face nowhere: the aspect there is missing",
                area(self.level)
            ));
        }
        if self.too_steep > 0 {
            told.push(format!(
                "{} are steeper than the equation holds for, and have no value: `equation = 1` holds for all slopes",
                area(self.too_steep)
            ));
        }
        if self.beyond > 0 {
            told.push(format!(
                "on {} water may come from beyond the heights that were looked at, so the wetness index is missing there: it needs the whole catchment; give heights that reach to the watershed, or a larger `catchment_m`",
                area(self.beyond)
            ));
        }
        told
    }
}

impl TerrainLayer {
    /// Values in a window of the grid; heights that no ground has are counted in `heights`,
    /// all else in `met`; areas by the cells that are to be rated.
    ///
    /// # Missing
    /// Where any of the nine heights around a cell is unknown; the aspect of level ground;
    /// slopes that the equation does not hold for; wetness where the catchment is not wholly
    /// known.
    ///
    /// # Errors
    /// When the elevation cannot be read.
    pub fn values(
        &self,
        grid: &Grid,
        window: Window,
        status: &Raster<u8>,
        heights: &mut Impossible,
        met: &mut TerrainMet,
    ) -> Result<Raster<f32>, GisError> {
        let mut values = Raster::filled(window, f32::NAN);
        if let (Some(wetness), Some(beyond)) = (&self.wetness, &self.beyond) {
            for row in 0..window.rows {
                let cols = window.col..window.col_end();
                values
                    .row_mut(row)
                    .copy_from_slice(&wetness.row(window.row + row)[cols.clone()]);
                let unknown = beyond.row(window.row + row)[cols].iter().zip(status.row(row));
                met.beyond += unknown
                    .map(|(&beyond, &status)| u64::from(beyond == 1 && status == TO_RATE))
                    .sum::<u64>();
            }
            return Ok(values);
        }
        let mut ground = self.elevation.read(grid, window, 1)?;
        let possible = Possible::heights(self.metres_per_unit);
        for value in ground.values_mut() {
            if !possible.holds(f64::from(*value)) {
                heights.count(f64::from(*value));
                *value = f32::NAN;
            }
        }
        for row in 0..window.rows {
            for col in 0..window.cols {
                let metres = |down: usize| {
                    [0, 1, 2]
                        .map(|right| f64::from(ground.row(row + down)[col + right]) * self.metres_per_unit)
                };
                let nine = [metres(0), metres(1), metres(2)];
                let gradient = Gradient::horn(nine, grid.cell_m());
                if nine[1][1].is_nan() || gradient.slope_pct().is_nan() {
                    continue;
                }
                // What lies outside or is excluded is worked out, but not told of.
                let mut unheeded = TerrainMet::default();
                let met = if status.row(row)[col] == TO_RATE {
                    &mut *met
                } else {
                    &mut unheeded
                };
                met.steepness.count(gradient.slope_pct());
                let cell = CellIndex {
                    row: window.row + row,
                    col: window.col + col,
                };
                #[expect(
                    clippy::cast_possible_truncation,
                    reason = "values are held in single precision"
                )]
                let value = self
                    .value(gradient, cell, met)
                    .map_or(f32::MISSING, |value| value as f32);
                values.row_mut(row)[col] = value;
            }
        }
        Ok(values)
    }

    fn value(&self, gradient: Gradient, cell: CellIndex, met: &mut TerrainMet) -> Option<f64> {
        let (latitude_deg, turn_deg) = self.north.at(cell.row, cell.col);
        let aspect = aspect_deg(gradient).map(|aspect| {
            let aspect = (aspect - turn_deg).rem_euclid(360.0);
            if aspect >= 360.0 { 0.0 } else { aspect }
        });
        let slope = Slope {
            latitude_deg,
            slope_deg: (gradient.slope_pct() / 100.0).atan().to_degrees(),
            aspect_deg: aspect.unwrap_or(0.0),
        };
        let counted = |value: Option<f64>, count: &mut u64| {
            *count += u64::from(value.is_none());
            value
        };
        match self.measure {
            Measure::Aspect => counted(aspect, &mut met.level),
            Measure::HeatLoad(equation) => counted(Equation::heat_load(equation, slope), &mut met.too_steep),
            Measure::Radiation(equation) => counted(Equation::radiation(equation, slope), &mut met.too_steep),
            Measure::Wetness { .. } => None,
        }
    }
}
