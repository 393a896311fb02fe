//! Hours of direct sun a day that come from above a height in each direction, over a season
//! at one place. In come the days, the place and what counts as direct sun; out goes a table
//! to look horizons up in. Knows no ground.

use super::beam::{Passing, beam_w_m2, passing_share};
use super::position::{Air, DELTA_T_S, Moment, sun_position};

/// A place under the sky.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Latitude, north positive.
    pub latitude_deg: f64,
    /// Longitude, east positive.
    pub longitude_deg: f64,
    /// Height of the ground above the sea.
    pub ground_m: f64,
    /// What is added to a bearing from true north for one from the grid's north.
    pub to_grid_north_deg: f64,
}

/// Which sun counts, and how it passes a canopy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counting {
    /// Julian day number of the first day.
    pub first_day: i32,
    /// How many days.
    pub days: i32,
    /// The beam counts from here.
    pub least_w_m2: f64,
    /// The sun counts from here, as seen.
    pub least_height_deg: f64,
    /// How the beam passes a canopy.
    pub passing: Passing,
}

/// Hours of direct sun a day from above a height, by direction and gaps of the canopy.
#[derive(Debug)]
pub struct SunTable {
    directions: usize,
    levels: usize,
    /// By direction, level of gaps and height; hours from above.
    hours: Vec<f32>,
}

/// Steps of the sine of a height: two minutes of arc near the horizon.
const STEPS: usize = 1_024;

/// Levels of gaps where there is a canopy: each per cent.
const LEVELS: usize = 101;

/// The sun is looked at every four minutes, at other minutes each day.
const STEP_DAYS: f64 = 4.0 / 1_440.0;

impl SunTable {
    /// The table of a place.
    ///
    /// `directions` parts of the full circle, the first of them grid north, clockwise. Time is
    /// shared between the two directions the sun stands between, by how near it is to each.
    ///
    /// # Method
    /// [`sun_position`] with refraction, every four minutes of mean local time; a beam counts
    /// by [`beam_w_m2`].
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "small counts; sines lie between 0 and 1, bearings within the circle"
    )]
    pub fn new(place: &Place, counting: &Counting, directions: usize, canopy: bool) -> SunTable {
        let mut by_height = vec![0.0_f64; directions * STEPS];
        let air = Air::at(place.ground_m);
        let steps = (1.0 / STEP_DAYS).round() as usize;
        let share = 24.0 / steps as f64 / f64::from(counting.days);
        let sector_deg = 360.0 / directions as f64;
        for day in 0..counting.days {
            // The golden section spreads the minutes evenly over the days.
            let shift = (f64::from(day) * 0.618_034).fract();
            let midnight = f64::from(counting.first_day + day) - 0.5 - place.longitude_deg / 360.0;
            for step in 0..steps {
                let moment = Moment {
                    julian_day: midnight + (step as f64 + shift) * STEP_DAYS,
                    delta_t_s: DELTA_T_S,
                };
                let sun = sun_position(moment, place.latitude_deg, place.longitude_deg);
                let seen_deg = sun.height_deg + air.refraction_deg(sun.height_deg);
                if seen_deg < counting.least_height_deg.max(0.0)
                    || beam_w_m2(seen_deg, place.ground_m) < counting.least_w_m2
                {
                    continue;
                }
                let bin = (seen_deg.to_radians().sin() * STEPS as f64) as usize;
                let bearing = (sun.azimuth_deg + place.to_grid_north_deg).rem_euclid(360.0) / sector_deg;
                let first = bearing as usize % directions;
                let nearer_second = bearing.fract();
                by_height[first * STEPS + bin.min(STEPS - 1)] += share * (1.0 - nearer_second);
                by_height[(first + 1) % directions * STEPS + bin.min(STEPS - 1)] += share * nearer_second;
            }
        }
        let levels = if canopy { LEVELS } else { 1 };
        let mut hours = vec![0.0; directions * levels * (STEPS + 1)];
        for direction in 0..directions {
            for level in 0..levels {
                let gaps = if canopy {
                    level as f64 / (LEVELS - 1) as f64
                } else {
                    1.0
                };
                let row = (direction * levels + level) * (STEPS + 1);
                let mut above = 0.0;
                for bin in (0..STEPS).rev() {
                    let hours_in_bin = by_height[direction * STEPS + bin];
                    if hours_in_bin > 0.0 {
                        let height_deg = ((bin as f64 + 0.5) / STEPS as f64).asin().to_degrees();
                        above += hours_in_bin * passing_share(gaps, height_deg, counting.passing);
                    }
                    hours[row + bin] = above as f32;
                }
            }
        }
        SunTable {
            directions,
            levels,
            hours,
        }
    }

    /// Number of directions.
    #[must_use]
    pub fn directions(&self) -> usize {
        self.directions
    }

    /// Whether the sun ever counts in a direction.
    #[must_use]
    pub fn has_sun(&self, direction: usize) -> bool {
        self.row(direction, self.levels - 1)[0] > 0.0
    }

    /// Hours a day on level ground without a canopy.
    #[must_use]
    pub fn open_hours(&self) -> f64 {
        let all = (0..self.directions).map(|direction| self.row(direction, self.levels - 1)[0]);
        all.map(f64::from).sum()
    }

    /// Adds to each cell the hours of one direction, above the slopes of its horizons.
    ///
    /// # Units
    /// Slopes as rise over run; gaps as shares from 0 to 1, as many as slopes or none at all.
    ///
    /// # Missing
    /// Not a number gives not a number.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "sines and shares lie between 0 and 1, or are not a number, which turns 0"
    )]
    pub fn add_hours(&self, direction: usize, slopes: &[f32], gaps: Option<&[f32]>, hours: &mut [f32]) {
        let sine_step = |slope: f32| {
            let slope = slope.max(0.0);
            let place = slope / (1.0 + slope * slope).sqrt() * STEPS as f32;
            let step = (place as usize).min(STEPS - 1);
            (step, place - step as f32)
        };
        let between = |row: &[f32], step: usize, share: f32| row[step] + (row[step + 1] - row[step]) * share;
        let Some(gaps) = gaps else {
            let row = self.row(direction, self.levels - 1);
            for (hours, &slope) in hours.iter_mut().zip(slopes) {
                let (step, share) = sine_step(slope);
                *hours += between(row, step, share);
            }
            return;
        };
        let top = self.levels - 1;
        for ((hours, &slope), &gaps) in hours.iter_mut().zip(slopes).zip(gaps) {
            let (step, share) = sine_step(slope);
            let place = gaps * top as f32;
            let level = (place as usize).min(top.saturating_sub(1));
            let lower = between(self.row(direction, level), step, share);
            let upper = between(self.row(direction, (level + 1).min(top)), step, share);
            // Missing gaps are not a number, and stay so.
            *hours += lower + (upper - lower) * (place - level as f32);
        }
    }

    fn row(&self, direction: usize, level: usize) -> &[f32] {
        let start = (direction * self.levels + level) * (STEPS + 1);
        &self.hours[start..=start + STEPS]
    }
}
