//! Hours of direct sun of a window of the grid: reads heights with a margin as wide as the
//! reach, looks for horizons, and looks hours up.

use super::horizon::{Frame, Heights, NEAR_STEPS, horizons, turn};
use super::sun_table::SunTable;
use crate::gis::GisError;
use crate::grid::{Grid, Raster, Window};
use crate::plural::{counted, one_or_many};
use crate::project::{Foliage, UnitConversion, UnknownHeights};
use crate::site::possible::{Impossible, Possible};
use crate::site::raster_plan::RasterPlan;
use crate::site::tile_values::TO_RATE;

/// What stands on the ground, opened.
#[derive(Debug)]
pub struct OpenObstacles {
    /// Its raster.
    pub plan: RasterPlan,
    /// Metres in its unit.
    pub metres_per_unit: f64,
    /// Whether its heights are above the same zero as the ground's, or above the ground.
    pub surface: bool,
}

/// What hangs over cells, opened.
#[derive(Debug)]
pub struct OpenCanopy {
    /// Its raster.
    pub plan: RasterPlan,
    /// From its unit to per cent.
    pub unit: Option<UnitConversion>,
    /// What its numbers are.
    pub foliage: Foliage,
    /// The share of cover or leaf area that throws shade.
    pub left: f64,
}

/// A factor of sunlight with its layers open.
#[derive(Debug)]
pub struct SunLayer {
    /// Heights of the ground.
    pub elevation: RasterPlan,
    /// Metres in a unit of elevation.
    pub metres_per_unit: f64,
    /// What stands on the ground.
    pub obstacles: Option<OpenObstacles>,
    /// What hangs over cells.
    pub canopy: Option<OpenCanopy>,
    /// Hours by direction, height and gaps.
    pub table: SunTable,
    /// Ground farther than this throws no shade.
    pub reach_m: f64,
    /// What unknown heights within the reach mean.
    pub unknown_heights: UnknownHeights,
}

/// What was met while hours were reckoned.
#[derive(Debug, Default, Clone, Copy, PartialEq)]
pub struct ShadeMet {
    /// Cells to rate whose own height and canopy are known.
    pub cells: u64,
    /// Those of them with unknown heights within the reach, toward the sun.
    pub unknown_horizons: u64,
    /// Values of the canopy that no canopy has.
    pub canopy: Impossible,
    /// Heights of things that nothing has.
    pub obstacles: Impossible,
}

impl ShadeMet {
    /// Adds what was met elsewhere.
    pub fn add(&mut self, other: &ShadeMet) {
        self.cells += other.cells;
        self.unknown_horizons += other.unknown_horizons;
        self.canopy.add(&other.canopy);
        self.obstacles.add(&other.obstacles);
    }
}

/// Heights of things above the ground, with a margin: towers and the odd pit.
const THINGS_M: (f64, f64) = (-50.0, 1_000.0);

impl SunLayer {
    /// Hours of direct sun a day in a window of the grid; heights that no ground has are
    /// counted in `heights`, all else in `met`; areas by the cells that are to be rated.
    ///
    /// # Missing
    /// Where the ground's height or the canopy is unknown; where a height within the reach
    /// is, on a side where the sun goes, unless the project says otherwise.
    ///
    /// # Errors
    /// When a raster cannot be read.
    pub fn values(
        &self,
        grid: &Grid,
        window: Window,
        status: &Raster<u8>,
        heights: &mut Impossible,
        met: &mut ShadeMet,
    ) -> Result<Raster<f32>, GisError> {
        let frame = self.frame(grid, window);
        let mut ground = self.elevation.read(grid, window, frame.margin)?;
        let possible = Possible::heights(self.metres_per_unit);
        for value in ground.values_mut() {
            *value = checked(&possible, *value, heights);
        }
        scale(&mut ground, self.metres_per_unit);
        let tops = self.tops(&ground, grid, window, met)?;
        let gaps = match &self.canopy {
            None => None,
            Some(canopy) => {
                let mut gaps = canopy.plan.read(grid, window, 0)?;
                for value in gaps.values_mut() {
                    *value = canopy.gaps(*value, &mut met.canopy);
                }
                Some(gaps)
            }
        };
        let heights = Heights::new(&ground, &tops);
        let gaps = gaps.as_ref().map(Raster::values);
        Ok(self.hours(&heights, &frame, (window, status), gaps, met))
    }

    /// Memory for the ground around a tile while its hours are reckoned: heights of the ground
    /// and of what stands on it, as they were read, by row and by column.
    ///
    /// # Units
    /// Bytes.
    pub fn tile_bytes(&self, grid: &Grid, (rows, cols): (usize, usize)) -> u64 {
        let margin = self.frame(grid, grid.window()).margin;
        ((rows + 2 * margin) * (cols + 2 * margin) * 6 * size_of::<f32>()) as u64
    }

    fn frame(&self, grid: &Grid, window: Window) -> Frame {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "the opening held it to some thousand cells"
        )]
        let margin = (self.reach_m / grid.cell_m()).ceil() as usize;
        Frame {
            row: window.row,
            col: window.col,
            margin: margin.max(1),
            cell_m: grid.cell_m(),
            reach_m: self.reach_m.max(grid.cell_m()),
            near_steps: NEAR_STEPS,
        }
    }

    /// Heights of what is seen: the ground, or what stands on it where that is higher.
    fn tops(
        &self,
        ground: &Raster<f32>,
        grid: &Grid,
        window: Window,
        met: &mut ShadeMet,
    ) -> Result<Raster<f32>, GisError> {
        let Some(obstacles) = &self.obstacles else {
            return Ok(ground.clone());
        };
        let mut tops = obstacles
            .plan
            .read(grid, window, self.frame(grid, window).margin)?;
        let possible = if obstacles.surface {
            Possible::heights(obstacles.metres_per_unit)
        } else {
            Possible::between(
                THINGS_M.0 / obstacles.metres_per_unit,
                THINGS_M.1 / obstacles.metres_per_unit,
            )
        };
        for top in tops.values_mut() {
            *top = checked(&possible, *top, &mut met.obstacles);
        }
        scale(&mut tops, obstacles.metres_per_unit);
        for (top, &ground) in tops.values_mut().iter_mut().zip(ground.values()) {
            let height = if obstacles.surface { *top } else { ground + *top };
            // An unknown one stays so, on either side.
            *top = if height.is_nan() || ground.is_nan() {
                f32::NAN
            } else {
                height.max(ground)
            };
        }
        Ok(tops)
    }

    fn hours(
        &self,
        heights: &Heights,
        frame: &Frame,
        (window, status): (Window, &Raster<u8>),
        gaps: Option<&[f32]>,
        met: &mut ShadeMet,
    ) -> Raster<f32> {
        let turned = heights.turned();
        let turned_gaps = gaps.map(|gaps| turn(gaps, window.rows, window.cols));
        let mut hours = [vec![0.0_f32; window.cells()], vec![0.0; window.cells()]];
        let mut unknown = [vec![false; window.cells()], vec![false; window.cells()]];
        #[expect(clippy::cast_precision_loss, reason = "some hundred directions")]
        let sector_deg = 360.0 / self.table.directions() as f64;
        for direction in 0..self.table.directions() {
            if !self.table.has_sun(direction) {
                continue;
            }
            #[expect(clippy::cast_precision_loss, reason = "some hundred directions")]
            let seen = horizons(heights, &turned, frame, direction as f64 * sector_deg);
            let side = usize::from(seen.turned);
            let gaps = if seen.turned { turned_gaps.as_deref() } else { gaps };
            self.table
                .add_hours(direction, &seen.slopes, gaps, &mut hours[side]);
            for (any, &one) in unknown[side].iter_mut().zip(&seen.unknown) {
                *any |= one;
            }
        }
        let [mut hours, other_hours] = hours;
        let [unknown, other_unknown] = unknown;
        let other_hours = turn(&other_hours, window.cols, window.rows);
        let other_unknown = turn(&other_unknown, window.cols, window.rows);
        let other = other_hours.iter().zip(&other_unknown);
        // Open horizons or not: where the ground itself is unknown, so are its hours.
        for (hours, known) in hours.iter_mut().zip(heights.known(frame.margin)) {
            if !known {
                *hours = f32::NAN;
            }
        }
        let one = hours.iter_mut().zip(unknown).zip(status.values());
        for (((hours, unknown), &status), (other_hours, other_unknown)) in one.zip(other) {
            *hours += other_hours;
            if hours.is_nan() {
                continue;
            }
            let counted = u64::from(status == TO_RATE);
            met.cells += counted;
            if unknown || *other_unknown {
                met.unknown_horizons += counted;
                if self.unknown_heights == UnknownHeights::Missing {
                    *hours = f32::NAN;
                }
            }
        }
        let mut raster = Raster::filled(window, f32::NAN);
        raster.values_mut().copy_from_slice(&hours);
        raster
    }

    /// What was met, for people.
    #[must_use]
    pub fn told(&self, met: &ShadeMet, cell_m: f64) -> Vec<String> {
        let mut told = Vec::new();
        if met.unknown_horizons > 0 {
            #[expect(clippy::cast_precision_loss, reason = "an area for people")]
            let area_ha = met.unknown_horizons as f64 * cell_m * cell_m / 10_000.0;
            let (means, way) = match self.unknown_heights {
                UnknownHeights::Missing => (
                    "its hours are missing",
                    "`unknown_heights = \"open\"` to take that ground for open",
                ),
                UnknownHeights::Open => (
                    "that ground is taken for open, so the hours there are the most there can be",
                    "`unknown_heights = \"missing\"` to have them missing",
                ),
            };
            told.push(format!(
                "on {area_ha:.2} ha heights within {} m toward the sun are unknown, and {means}: give heights that reach farther, a shorter `reach_m`, or {way}",
                self.reach_m
            ));
        }
        for (what, found, range) in [
            ("canopy", &met.canopy, "0 to 100 % or a leaf area of 0 to 20"),
            ("things on the ground", &met.obstacles, "heights that things have"),
        ] {
            if found.count > 0 {
                told.push(format!(
                    "values of the {what} from {} to {} are none that it has ({range}), and {} {} them: {} missing; say `nodata = ...` if they stand for \"no data\", or the right `unit`",
                    found.lowest,
                    found.highest,
                    counted(found.count, "cell"),
                    one_or_many(found.count, "has", "have"),
                    one_or_many(found.count, "it is", "they are")
                ));
            }
        }
        told
    }
}

impl OpenCanopy {
    /// The share of gaps seen straight up, of a value of the layer.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "values are held in single precision"
    )]
    fn gaps(&self, value: f32, impossible: &mut Impossible) -> f32 {
        if value.is_nan() {
            return value;
        }
        let number = f64::from(value);
        let number = self.unit.as_ref().map_or(number, |unit| unit.apply(number));
        let most = match self.foliage {
            Foliage::Cover => 100.0,
            Foliage::LeafArea { .. } => 20.0,
        };
        // A conversion may leave 100.00001 % of what is all.
        if !(-1e-4..=most + 1e-4).contains(&number) {
            impossible.count(f64::from(value));
            return f32::NAN;
        }
        let number = number.clamp(0.0, most) * self.left;
        let gaps = match self.foliage {
            Foliage::Cover => 1.0 - number / 100.0,
            Foliage::LeafArea { extinction } => (-extinction * number).exp(),
        };
        gaps as f32
    }
}

fn checked(possible: &Possible, value: f32, impossible: &mut Impossible) -> f32 {
    if possible.holds(f64::from(value)) {
        return value;
    }
    impossible.count(f64::from(value));
    f32::NAN
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "values are held in single precision"
)]
fn scale(raster: &mut Raster<f32>, metres_per_unit: f64) {
    if (metres_per_unit - 1.0).abs() > f64::EPSILON {
        for value in raster.values_mut() {
            *value = (f64::from(*value) * metres_per_unit) as f32;
        }
    }
}
