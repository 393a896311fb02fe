//! Opens the elevation of a factor of the ground's shape; follows water over the whole
//! catchment where the factor needs it.

use super::filling::fill;
use super::flow::flow;
use super::terrain_layer::TerrainLayer;
use super::true_north::TrueNorth;
use crate::free_memory::free_bytes;
use crate::grid::{Grid, Raster};
use crate::plural::{counted, one_or_many};
use crate::project::{Equation, FactorSection, Measure, TerrainSource};
use crate::site::LayerFact;
use crate::site::finding::Findings;
use crate::site::possible::Possible;
use crate::site::raster_checks;
use crate::site::raster_plan::{Looked, Place, RasterPlan};

/// Memory that following water takes, in bytes for each cell of the grid and of what is looked
/// at around it: heights and filled heights 4, edges and what comes from beyond them 2, ranks
/// of level ground 4, the order of cells 4, catchments 8, slopes 4, queues about 4.
const BYTES_A_CELL: f64 = 30.0;

/// Taken to be free where the system does not tell.
const TAKEN_FOR_FREE: u64 = 4_000_000_000;

/// The factor with its layer open, and what there is to tell of it.
pub fn open_terrain(
    elevation: Looked,
    section: &FactorSection,
    source: &TerrainSource,
    place: &Place,
    findings: &mut Findings,
) -> Option<(TerrainLayer, LayerFact)> {
    let name = format!("factors.{}", section.factor.id);
    let given = source.vertical_unit.as_ref().map(|unit| unit.multiply);
    let metres_per_unit = raster_checks::metres_per_unit(
        &name,
        &source.elevation,
        &elevation.file,
        source.band,
        given,
        findings,
    );
    let (plan, mut fact) = elevation.plan(section, source.band, source.nodata, place, findings)?;
    let north = findings.take(&name, TrueNorth::new(place.grid))?;
    let holds = match source.measure {
        Measure::HeatLoad(equation) | Measure::Radiation(equation) => {
            equation_holds(&name, equation, north.latitudes_deg(), findings)
        }
        Measure::Aspect | Measure::Wetness { .. } => true,
    };
    let metres_per_unit = metres_per_unit.filter(|_| holds)?;
    let water = match source.measure {
        Measure::Wetness { catchment_m } => Some(follow_water(
            &name,
            &plan,
            metres_per_unit,
            catchment_m,
            place.grid,
            findings,
        )?),
        _ => None,
    };
    "elevation, shape of the ground".clone_into(&mut fact.kind);
    fact.notes.push(note(source.measure));
    let (wetness, beyond) = water.unzip();
    let layer = TerrainLayer {
        elevation: plan,
        metres_per_unit,
        measure: source.measure,
        north,
        wetness,
        beyond,
    };
    Some((layer, fact))
}

fn note(measure: Measure) -> String {
    match measure {
        Measure::Aspect => "aspect from true north, of Horn's gradient (1981)".to_owned(),
        Measure::HeatLoad(equation) | Measure::Radiation(equation) => {
            let what = if matches!(measure, Measure::HeatLoad(_)) {
                "heat load"
            } else {
                "potential direct radiation, MJ/cm2 and year"
            };
            format!(
                "{what}: equation {} of McCune and Keon 2002 (McCune 2007 has better estimates, from tables), mirrored south of the equator",
                equation.number()
            )
        }
        Measure::Wetness { catchment_m } => format!(
            "ln(a / tan b), Beven and Kirkby 1979; depressions filled by priority-flood, flow by D-infinity, out to {catchment_m} m around the area"
        ),
    }
}

/// Whether an equation holds between two latitudes; told where it does not.
fn equation_holds(
    name: &str,
    equation: Equation,
    (south, north): (f64, f64),
    findings: &mut Findings,
) -> bool {
    let (least, most) = equation.latitudes_deg();
    let nearest = if south < 0.0 && north > 0.0 {
        0.0
    } else {
        south.abs().min(north.abs())
    };
    let farthest = south.abs().max(north.abs());
    if nearest >= least && farthest <= most {
        return true;
    }
    let other = match equation {
        Equation::Three if farthest <= 60.0 => "; `equation = 1` holds from 0 to 60",
        _ => "; leave the factor out here, or compute `sun_hours`",
    };
    findings.error(
        name,
        format!(
            "the area lies at latitudes {south:.2} to {north:.2}, and equation {} of McCune and Keon 2002 holds from {least} to {most} degrees on either side of the equator{other}",
            equation.number()
        ),
    );
    false
}

/// What is told where water cannot be followed within the memory that is free.
#[expect(clippy::cast_precision_loss, reason = "an estimate for people")]
fn too_large(rows: f64, cols: f64, (cell_m, catchment_m): (f64, f64), free: u64) -> Option<String> {
    let needed = rows * cols * BYTES_A_CELL;
    let free = (free as f64).min(f64::from(u32::MAX) * BYTES_A_CELL);
    (needed > free).then(|| {
        // Cells become fewer with the square of their side.
        let fits_m = cell_m * (needed / free.max(1.0)).sqrt();
        format!(
            "the wetness index needs the whole catchment in memory: {rows} rows x {cols} columns, with {catchment_m} m around the area, take about {:.1} GB, and {:.1} GB are free; a `cell_m` of {fits_m:.1} m or more would fit, or a shorter `catchment_m`, a smaller area, or a wetness index computed elsewhere as `layer`",
            needed / 1e9,
            free / 1e9
        )
    })
}

/// The wetness index of the grid, and 1 where its catchment is not wholly known.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "counts of cells below the limit; values are held in single precision"
)]
fn follow_water(
    name: &str,
    plan: &RasterPlan,
    metres_per_unit: f64,
    catchment_m: f64,
    grid: &Grid,
    findings: &mut Findings,
) -> Option<(Raster<f32>, Raster<u8>)> {
    let cell_m = grid.cell_m();
    let margin = (catchment_m / cell_m).ceil();
    let (rows, cols) = (
        grid.rows() as f64 + 2.0 * margin,
        grid.cols() as f64 + 2.0 * margin,
    );
    let free = free_bytes().unwrap_or(TAKEN_FOR_FREE);
    if let Some(text) = too_large(rows, cols, (cell_m, catchment_m), free) {
        findings.error(name, text);
        return None;
    }
    let margin = margin as usize;
    let (rows, cols) = (grid.rows() + 2 * margin, grid.cols() + 2 * margin);
    let mut heights = findings.take(name, plan.read(grid, grid.window(), margin))?;
    let possible = Possible::heights(metres_per_unit);
    let mut impossible = 0_u64;
    for value in heights.values_mut() {
        if !possible.holds(f64::from(*value)) {
            impossible += 1;
            *value = f32::NAN;
        }
        *value = (f64::from(*value) * metres_per_unit) as f32;
    }
    if impossible > 0 {
        findings.warn(
            name,
            format!(
                "{} {} that no ground has: {} missing; say `nodata = ...` if they stand for \"no data\", or the right `vertical_unit`",
                counted(impossible, "cell"),
                one_or_many(impossible, "has a height", "have heights"),
                one_or_many(impossible, "it is", "they are")
            ),
        );
    }
    let found = flow(&fill(heights.into_values(), rows, cols), cell_m);
    let mut wetness = Raster::filled(grid.window(), f32::NAN);
    let mut beyond = Raster::filled(grid.window(), 0_u8);
    for row in 0..grid.rows() {
        let first = (row + margin) * cols + margin;
        for col in 0..grid.cols() {
            let index = found.wetness_index(first + col, cell_m);
            wetness.row_mut(row)[col] = index.map_or(f32::NAN, |index| index as f32);
            beyond.row_mut(row)[col] = u8::from(found.beyond[first + col]);
        }
    }
    Some((wetness, beyond))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn latitudes_at_which_an_equation_does_not_hold_are_refused() {
        let told = |equation, latitudes| {
            let mut findings = Findings::default();
            let holds = equation_holds("factors.heat_load", equation, latitudes, &mut findings);
            assert_eq!(holds, !findings.has_errors());
            findings.into_list().pop().map(|finding| finding.text)
        };
        assert_eq!(told(Equation::One, (44.9, 45.1)), None);
        assert_eq!(told(Equation::One, (-1.0, 2.0)), None);
        assert_eq!(told(Equation::Three, (-45.1, -44.9)), None);
        assert!(told(Equation::One, (59.9, 60.1)).is_some());
        assert!(told(Equation::Two, (-60.1, -59.9)).is_some());
        assert!(told(Equation::Three, (-40.0, 40.0)).is_some());
        assert_eq!(
            told(Equation::Three, (29.9, 30.1)).unwrap(),
            "the area lies at latitudes 29.90 to 30.10, and equation 3 of McCune and Keon 2002 holds from 30 to 60 degrees on either side of the equator; `equation = 1` holds from 0 to 60"
        );
    }

    #[test]
    fn water_is_followed_within_the_memory_that_is_free() {
        let told = |free| too_large(30_000.0, 40_000.0, (1.0, 2_000.0), free);
        assert_eq!(told(36_000_000_000), None);
        assert_eq!(
            told(9_000_000_000).unwrap(),
            "the wetness index needs the whole catchment in memory: 30000 rows x 40000 columns, with 2000 m around the area, take about 36.0 GB, and 9.0 GB are free; a `cell_m` of 2.0 m or more would fit, or a shorter `catchment_m`, a smaller area, or a wetness index computed elsewhere as `layer`"
        );
        assert!(too_large(80_000.0, 80_000.0, (1.0, 0.0), u64::MAX).is_some());
    }
}
