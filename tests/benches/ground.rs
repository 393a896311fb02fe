//! Invented ground to time the stages on: the values of five factors on a square,
//! the sample catalogue's species repeated to any number, roads that wind.

use std::path::Path;

use geo::{Coord, Geometry, LineString};
use groundfit::factor::Factor;
use groundfit::grid::{Crs, Extent, Grid, Raster};
use groundfit::project::{Missing, Rule};
use groundfit::rating::{Questions, RatedFactor, Settings};
use groundfit::score::{Class, ClassLimits};
use groundfit::species::{Catalogue, CataloguePaths, Species};

const CELL_M: f64 = 5.0;

/// The next number of a plain generator.
///
/// # Method
/// Marsaglia, Xorshift RNGs, Journal of Statistical Software 8(14), 2003.
pub fn next(state: &mut u64) -> u64 {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    *state
}

/// A number from 0 to 1.
#[expect(clippy::cast_precision_loss, reason = "a random share")]
fn share(state: &mut u64) -> f64 {
    (next(state) >> 11) as f64 / (1u64 << 53) as f64
}

/// A grid of `side` x `side` cells.
pub fn grid(side: usize) -> Grid {
    let edge_m = as_f64(side) * CELL_M;
    let extent = Extent {
        west: 400_000.0,
        south: 5_000_000.0 - edge_m,
        east: 400_000.0 + edge_m,
        north: 5_000_000.0,
    };
    let crs = Crs {
        wkt: String::new(),
        name: "plane".to_owned(),
        code: None,
    };
    Grid::covering(&extent, CELL_M, crs).unwrap()
}

/// What is asked of so many species by drainage, pH, canopy, spray salt and slope.
pub fn questions(species: usize) -> Questions {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/catalogue");
    let known: Vec<Factor> = Factor::standard_ids().filter_map(Factor::standard).collect();
    let (sample, _) = Catalogue::read(&CataloguePaths::in_folder(&folder), &known).unwrap();
    let many: Vec<Species> = sample.species.iter().cycle().take(species).cloned().collect();
    let from_raster = |id: &str| matches!(id, "canopy" | "slope");
    let factors = ["drainage", "ph", "canopy", "spray_salt", "slope"].map(|id| RatedFactor {
        factor: Factor::standard(id).unwrap(),
        missing: Missing::Unknown,
        weight: 1.0,
        from_raster: from_raster(id),
    });
    Questions::new(factors.into(), &many)
}

/// The limiting rule with its usual limits.
pub fn settings() -> Settings {
    let [s1, s2, s3] = Rule::Limiting.usual_limits();
    Settings {
        rule: Rule::Limiting,
        limits: ClassLimits::new(s1, s2, s3).unwrap(),
        at_least: Class::S2,
    }
}

/// Values of the five factors on a square: waves, soils in patches, `noise` points of
/// noise on the canopy.
#[expect(
    clippy::cast_possible_truncation,
    reason = "values are held in single precision"
)]
pub fn values(side: usize, noise: f64) -> Vec<Raster<f32>> {
    let mut state = 0x9e37_79b9_7f4a_7c15;
    let wave = |row: usize, col: usize, length: f64| {
        let (x, y) = (as_f64(col) / length, as_f64(row) / length);
        ((x + 0.7 * y).sin() + (0.6 * x - y).cos() + (2.3 * x + 1.1 * y).sin() * 0.5) / 2.5
    };
    let patch = |row: usize, col: usize| {
        let mut state = (row / 40 * 4099 + col / 40) as u64 + 1;
        for _ in 0..4 {
            next(&mut state);
        }
        state
    };
    let layer = |value: &mut dyn FnMut(usize, usize) -> f64| {
        let cells = (0..side * side).map(|cell| value(cell / side, cell % side) as f32);
        Raster::new(side, side, cells.collect()).unwrap()
    };
    let drainage = layer(&mut |row, col| as_f64((patch(row, col) % 7) as usize));
    let ph = layer(&mut |row, col| 4.5 + as_f64((patch(row, col) / 7 % 36) as usize) / 10.0);
    let canopy = layer(&mut |row, col| {
        let shake = noise * 1.7 * (2.0 * share(&mut state) - 1.0);
        (50.0 + 60.0 * wave(row, col, 90.0) + shake)
            .clamp(0.0, 100.0)
            .round()
    });
    let salt = layer(&mut |_, col| as_f64(4usize.saturating_sub(col % 200 / 6)));
    let slope = layer(&mut |row, col| 12.0 * (1.0 + wave(row, col, 55.0)));
    vec![drainage, ph, canopy, salt, slope]
}

/// Roads that wind over a square, in steps of 40 m.
pub fn winding_roads(side: usize, roads: usize) -> Vec<Geometry<f64>> {
    let mut state = 0x2545_f491_4f6c_dd1d;
    let edge_m = as_f64(side) * CELL_M;
    let one = |_| {
        let (mut x, mut y) = (share(&mut state) * edge_m, share(&mut state) * edge_m);
        let mut heading = share(&mut state) * std::f64::consts::TAU;
        let points = (0..side / 6).map(|_| {
            heading += (share(&mut state) - 0.5) * 0.6;
            x = (x + 40.0 * heading.cos()).clamp(0.0, edge_m);
            y = (y + 40.0 * heading.sin()).clamp(0.0, edge_m);
            Coord {
                x: 400_000.0 + x,
                y: 5_000_000.0 - y,
            }
        });
        Geometry::LineString(LineString::new(points.collect()))
    };
    (0..roads).map(one).collect()
}

#[expect(clippy::cast_precision_loss, reason = "small whole numbers")]
pub fn as_f64(number: usize) -> f64 {
    number as f64
}
