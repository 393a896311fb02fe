//! Shaded relief from heights. Numbers in, a grey picture out; knows no file.

use super::picture::grey_picture;

/// Heights on a square raster.
#[derive(Debug, Clone, PartialEq)]
pub struct Heights {
    /// Rows.
    pub rows: usize,
    /// Columns.
    pub cols: usize,
    /// Side of a cell in metres.
    pub cell_m: f64,
    /// Metres, row by row from the north-west; not a number is missing.
    pub values: Vec<f32>,
}

/// Where the light stands: the north-west, as maps are drawn, at 45 degrees.
const AZIMUTH_DEG: f64 = 315.0;
const ALTITUDE_DEG: f64 = 45.0;

/// The grey of level ground, and of ground without a height.
const LEVEL: u8 = 232;

/// The darkest grey: colours laid under the relief must stay readable.
const DARKEST: f64 = 140.0;

/// How much of the light's change is drawn.
const CONTRAST: f64 = 0.7;

/// Slopes are drawn as if so much steeper where the site's are gentle.
const MOST_EXAGGERATION: f64 = 8.0;

/// The slope, as rise over run, that should show well.
const SHOWN_SLOPE: f64 = 0.5;

/// The relief as a picture in a `data:` address.
///
/// # Method
/// Slopes by Horn (1981, "Hill shading and the reflectance map"); a cell is as light as
/// the cosine of the angle between its normal and the light. Gentle ground is drawn
/// steeper, the whole site by one number, at most eight times.
///
/// # Missing
/// Ground without a height is as grey as level ground.
#[must_use]
pub fn relief(heights: &Heights) -> String {
    grey_picture(heights.cols, heights.rows, &shades(heights))
}

fn shades(heights: &Heights) -> Vec<u8> {
    let (rows, cols) = (heights.rows, heights.cols);
    let places = (0..rows).flat_map(|row| (0..cols).map(move |col| (row, col)));
    let slopes: Vec<Option<(f64, f64)>> = places.map(|(row, col)| slope(heights, row, col)).collect();
    let steepness = exaggeration(&slopes);
    slopes.iter().map(|slope| shade(*slope, steepness)).collect()
}

/// Rise to the east and to the north over a metre.
fn slope(heights: &Heights, row: usize, col: usize) -> Option<(f64, f64)> {
    let here = heights.values[row * heights.cols + col];
    if here.is_nan() {
        return None;
    }
    // What lies beyond the edge or has no height is taken as level with the middle.
    let at = |down: isize, along: isize| {
        let row = row.checked_add_signed(down).filter(|row| *row < heights.rows);
        let col = col.checked_add_signed(along).filter(|col| *col < heights.cols);
        let value = row
            .zip(col)
            .map(|(row, col)| heights.values[row * heights.cols + col]);
        f64::from(value.filter(|value| !value.is_nan()).unwrap_or(here))
    };
    let west = at(-1, -1) + 2.0 * at(0, -1) + at(1, -1);
    let east = at(-1, 1) + 2.0 * at(0, 1) + at(1, 1);
    let north = at(-1, -1) + 2.0 * at(-1, 0) + at(-1, 1);
    let south = at(1, -1) + 2.0 * at(1, 0) + at(1, 1);
    let run = 8.0 * heights.cell_m;
    Some(((east - west) / run, (north - south) / run))
}

/// How many times steeper the site is drawn: so that one slope in ten is beyond
/// [`SHOWN_SLOPE`].
fn exaggeration(slopes: &[Option<(f64, f64)>]) -> f64 {
    let mut sizes: Vec<f64> = slopes.iter().flatten().map(|(x, y)| x.hypot(*y)).collect();
    if sizes.is_empty() {
        return 1.0;
    }
    let ninth = sizes.len() * 9 / 10;
    let (_, steep, _) = sizes.select_nth_unstable_by(ninth, f64::total_cmp);
    (SHOWN_SLOPE / steep.max(1e-9)).clamp(1.0, MOST_EXAGGERATION)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a shade is bounded to a byte"
)]
fn shade(slope: Option<(f64, f64)>, steepness: f64) -> u8 {
    let Some((east, north)) = slope else { return LEVEL };
    let (east, north) = (east * steepness, north * steepness);
    let (azimuth, altitude) = (AZIMUTH_DEG.to_radians(), ALTITUDE_DEG.to_radians());
    // The normal of a slope points downhill; its up part is 1.
    let towards = altitude.cos() * (-east * azimuth.sin() - north * azimuth.cos()) + altitude.sin();
    let cosine = towards / (1.0 + east * east + north * north).sqrt();
    let light = 1.0 + CONTRAST * (cosine / altitude.sin() - 1.0);
    (f64::from(LEVEL) * light).clamp(DARKEST, 255.0) as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plane(east: f32, north: f32) -> Heights {
        let (rows, cols) = (5_u8, 5_u8);
        let (rises, falls) = (east * 10.0, north * 10.0);
        let places = (0..rows).flat_map(|row| (0..cols).map(move |col| (row, col)));
        let heights = places.map(|(row, col)| f32::from(col) * rises - f32::from(row) * falls);
        Heights {
            rows: rows.into(),
            cols: cols.into(),
            cell_m: 10.0,
            values: heights.collect(),
        }
    }

    fn middle(heights: &Heights) -> u8 {
        shades(heights)[2 * heights.cols + 2]
    }

    #[test]
    fn slopes_that_face_the_light_are_light_and_others_dark() {
        let level = middle(&plane(0.0, 0.0));
        assert_eq!(level, LEVEL);
        // Ground that rises to the south-east faces north-west.
        assert!(middle(&plane(0.3, -0.3)) > level);
        assert!(middle(&plane(-0.3, 0.3)) < level);
        // Across the light both sides are alike.
        assert_eq!(middle(&plane(0.3, 0.3)), middle(&plane(-0.3, -0.3)));
    }

    #[test]
    fn gentle_ground_shows_and_a_hole_is_level() {
        assert!(middle(&plane(0.02, -0.02)) > LEVEL + 10);
        let mut holed = plane(0.3, -0.3);
        holed.values[12] = f32::NAN;
        assert_eq!(middle(&holed), LEVEL);
    }
}
