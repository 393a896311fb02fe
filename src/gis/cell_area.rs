//! The areas of a grid's cells on the ellipsoid, from the projection's own
//! distortion. Knows no zones.

use gdal::spatial_ref::SpatialRef;

use super::{GisError, Transform, crs, messages};
use crate::grid::{CellAreas, Crs, Grid};

/// Cells between two places where the distortion is computed, at most.
const LATTICE_CELLS: usize = 64;

/// Metres between two such places, at most: over longer ways the distortion
/// bends too much for a straight line between them.
const LATTICE_M: f64 = 5_000.0;

/// Half the step of the numeric derivatives, in metres.
const STEP_M: f64 = 50.0;

/// The areas of a grid's cells on the ellipsoid of its system.
///
/// # Method
/// The area element `M N cos(latitude)` of the ellipsoid (M and N the radii of
/// curvature along and across the meridian; Snyder, 1987, Map Projections: A
/// Working Manual, equations 4-18 to 4-21), times the derivatives of longitude
/// and latitude by x and y, which are taken numerically from the inverse
/// projection on a lattice, with straight lines between its places.
///
/// # Errors
/// A system that is no plane in metres, or a grid that reaches where its
/// projection does not hold.
pub fn cell_areas(grid: &Grid) -> Result<CellAreas, GisError> {
    let facts = crs::crs_facts(grid.crs())?;
    if !facts.projected || facts.metres_per_unit != Some(1.0) {
        return Err(GisError::CrsKind {
            crs: grid.crs().label(),
            found: match facts.unit {
                Some(unit) if facts.projected => format!("a plane in {unit}"),
                _ => "longitude and latitude".to_owned(),
            },
            needed: "a plane in metres".to_owned(),
        });
    }
    let (ellipsoid, to_globe) = globe_of(grid.crs())?;
    let step = lattice_step(grid.cell_m());
    let (rows, cols) = (grid.rows().div_ceil(step), grid.cols().div_ceil(step));
    let mut points = Vec::with_capacity((rows + 1) * (cols + 1) * 4);
    for row in 0..=rows {
        for col in 0..=cols {
            let (x, y) = grid.corner_to_map(row * step, col * step);
            points.extend([(x - STEP_M, y), (x + STEP_M, y), (x, y - STEP_M), (x, y + STEP_M)]);
        }
    }
    to_globe.apply(&mut points)?;
    let densities: Vec<f64> = points
        .chunks_exact(4)
        .map(|around| ellipsoid.density(around[0], around[1], around[2], around[3]))
        .collect();
    CellAreas::new(grid.rows(), grid.cols(), grid.cell_m(), step, densities).ok_or_else(|| {
        GisError::CrsKind {
            crs: grid.crs().label(),
            found: "without a usable inverse over the whole grid".to_owned(),
            needed: "a projection that holds there".to_owned(),
        }
    })
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "held between 1 and the greatest step"
)]
fn lattice_step(cell_m: f64) -> usize {
    ((LATTICE_M / cell_m).floor() as usize).clamp(1, LATTICE_CELLS)
}

struct Ellipsoid {
    semi_major_m: f64,
    eccentricity_squared: f64,
}

impl Ellipsoid {
    /// Area on the ellipsoid over area on the plane, from the longitudes and
    /// latitudes in degrees west, east, south and north of a place.
    fn density(&self, west: (f64, f64), east: (f64, f64), south: (f64, f64), north: (f64, f64)) -> f64 {
        let turn = |degrees: f64| degrees - 360.0 * (degrees / 360.0).round();
        let per_m = |degrees: f64| degrees.to_radians() / (2.0 * STEP_M);
        let (lon_x, lat_x) = (per_m(turn(east.0 - west.0)), per_m(east.1 - west.1));
        let (lon_y, lat_y) = (per_m(turn(north.0 - south.0)), per_m(north.1 - south.1));
        let latitude = ((west.1 + east.1 + south.1 + north.1) / 4.0).to_radians();
        let bulge = 1.0 - self.eccentricity_squared * latitude.sin().powi(2);
        let across = self.semi_major_m / bulge.sqrt();
        let along = across * (1.0 - self.eccentricity_squared) / bulge;
        along * across * latitude.cos() * (lon_x * lat_y - lon_y * lat_x).abs()
    }
}

/// The ellipsoid of a plane, and the way to longitude and latitude on it without
/// a change of datum.
fn globe_of(plane: &Crs) -> Result<(Ellipsoid, Transform), GisError> {
    let wrong = |error: gdal::errors::GdalError| GisError::Crs {
        text: plane.label(),
        reason: messages::reason(&error),
    };
    let base: SpatialRef = crs::reference(plane)?.geog_cs().map_err(wrong)?;
    let (semi_major_m, semi_minor_m) = (
        base.semi_major().map_err(wrong)?,
        base.semi_minor().map_err(wrong)?,
    );
    let globe = crs::of_file(&base).0.ok_or_else(|| GisError::CrsKind {
        crs: plane.label(),
        found: "without longitude and latitude behind it".to_owned(),
        needed: "a projection".to_owned(),
    })?;
    let flattened = semi_minor_m / semi_major_m;
    Ok((
        Ellipsoid {
            semi_major_m,
            eccentricity_squared: 1.0 - flattened * flattened,
        },
        Transform::untold(plane, &globe)?,
    ))
}

#[cfg(test)]
mod tests {
    use geo::{GeodesicArea, LineString, Polygon};

    use super::*;
    use crate::gis::crs_from_text;
    use crate::grid::Extent;

    /// The geodesic area of a grid's outline on WGS 84, cut into short pieces.
    fn geodesic_m2(grid: &Grid) -> f64 {
        let extent = grid.extent();
        let corners = [
            (extent.west, extent.south),
            (extent.east, extent.south),
            (extent.east, extent.north),
            (extent.west, extent.north),
        ];
        let pieces = 2000;
        let mut ring: Vec<(f64, f64)> = Vec::new();
        for (at, from) in corners.iter().enumerate() {
            let to = corners[(at + 1) % 4];
            for piece in 0..pieces {
                let share = f64::from(piece) / f64::from(pieces);
                ring.push((from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share));
            }
        }
        globe_of(grid.crs()).unwrap().1.apply(&mut ring).unwrap();
        Polygon::new(LineString::from(ring), vec![]).geodesic_area_unsigned()
    }

    #[expect(clippy::cast_precision_loss, reason = "the last digits do not matter here")]
    fn total_m2(grid: &Grid) -> f64 {
        let areas = cell_areas(grid).unwrap();
        let rows = 0..grid.rows();
        let total: u128 = rows
            .map(|row| u128::from(areas.run_mm2(row, 0, grid.cols())))
            .sum();
        total as f64 / 1e6
    }

    #[test]
    fn sums_equal_geodesic_areas() {
        // System, place, side, cell: centre and edge of a zone, equal area, and a
        // plane that stretches areas more than twofold.
        for (code, x, y, side, cell) in [
            ("EPSG:32615", 500_000.0, 4_980_000.0, 20_000.0, 5.0),
            ("EPSG:32615", 250_000.0, 4_980_000.0, 60_000.0, 10.0),
            ("EPSG:26915", 740_000.0, 5_300_000.0, 60_000.0, 30.0),
            ("EPSG:5070", 300_000.0, 2_400_000.0, 60_000.0, 30.0),
            ("EPSG:3857", -10_370_000.0, 5_600_000.0, 60_000.0, 10.0),
            ("EPSG:3857", -10_370_000.0, 5_600_000.0, 90_000.0, 900.0),
        ] {
            let extent = Extent {
                west: x,
                south: y,
                east: x + side,
                north: y + side * 0.7,
            };
            let grid = Grid::covering(&extent, cell, crs_from_text(code).unwrap()).unwrap();
            let (ours, theirs) = (total_m2(&grid), geodesic_m2(&grid));
            let off = ours / theirs - 1.0;
            assert!(
                off.abs() < 1e-7,
                "{code} {cell}: {ours} against {theirs}, off by {off:e}"
            );
        }
    }

    #[test]
    fn planes_in_other_units_are_refused() {
        let extent = Extent {
            west: 0.0,
            south: 0.0,
            east: 10.0,
            north: 10.0,
        };
        for (code, found) in [("EPSG:4326", "longitude"), ("EPSG:2284", "US survey foot")] {
            let grid = Grid::covering(&extent, 1.0, crs_from_text(code).unwrap()).unwrap();
            let error = cell_areas(&grid).unwrap_err().to_string();
            assert!(error.contains(found), "{error}");
        }
    }
}
