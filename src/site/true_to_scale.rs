//! Whether a grid suits the ground below it: its metres must be metres there, as widths,
//! distances, slopes and setbacks are counted in cells, and the meridian of 180 degrees
//! must not run through it. Knows no layer.

use geo::{Distance, Geodesic, Point};

use super::finding::Findings;
use crate::gis::{self, Transform};
use crate::grid::{Crs, Extent};

/// Where lengths are taken to see what becomes of them.
const STEP_M: f64 = 100.0;

/// More than this off is told.
const TOLD: f64 = 0.01;

/// More than this off stops a run: Web Mercator is 40 % off at a latitude of 45 degrees.
const STOPS: f64 = 0.05;

/// False, and told, when the meridian of 180 degrees runs through an area.
pub fn lies_on_one_side(crs: &Crs, area: &Extent, findings: &mut Findings) -> bool {
    let mut corners = [
        (area.west, area.south),
        (area.west, area.north),
        (area.east, area.south),
        (area.east, area.north),
    ];
    let to_globe = gis::lon_lat().and_then(|globe| Transform::untold(crs, &globe)?.apply(&mut corners));
    if findings.take("area", to_globe).is_none() {
        return false;
    }
    let lons = corners.map(|(lon, _)| lon);
    let (west, east) = (
        lons.into_iter().fold(f64::INFINITY, f64::min),
        lons.into_iter().fold(f64::NEG_INFINITY, f64::max),
    );
    if east - west > 180.0 {
        findings.error(
            "area.boundary",
            format!("the area reaches from longitude {west:.3} to {east:.3}: the meridian of 180 degrees runs through it, where outlines are not split; a site on one side of it is needed"),
        );
        return false;
    }
    true
}

/// Tells where the grid's metres differ from metres on the ground; false when by too
/// much.
pub fn check(crs: &Crs, area: &Extent, findings: &mut Findings) -> bool {
    let Some(scale) = findings.take("area.grid_crs", farthest_scale(crs, area)) else {
        return false;
    };
    let off = (scale - 1.0).abs();
    if off <= TOLD {
        return true;
    }
    let text = format!(
        "a metre of {} is {:.3} m on the ground in the area",
        crs.label(),
        1.0 / scale
    );
    if off > STOPS {
        findings.error(
            "area.grid_crs",
            format!("{text}, and widths, distances and slopes would be wrong: a CRS made for the area is needed, such as its UTM zone; leave `grid_crs` out to have it chosen"),
        );
        return false;
    }
    findings.warn(
        "area.grid_crs",
        format!(
            "{text}: widths and distances are that much off; a CRS made for the area, such as its UTM zone, is truer"
        ),
    );
    true
}

/// Metres of the grid for a metre on the ground, where it is farthest from 1, both
/// ways, in the middle and the corners of an area.
fn farthest_scale(crs: &Crs, area: &Extent) -> Result<f64, gis::GisError> {
    let middle = (
        f64::midpoint(area.west, area.east),
        f64::midpoint(area.south, area.north),
    );
    let places = [
        middle,
        (area.west, area.south),
        (area.west, area.north),
        (area.east, area.south),
        (area.east, area.north),
    ];
    let mut points: Vec<(f64, f64)> = places
        .iter()
        .flat_map(|&(x, y)| [(x, y), (x + STEP_M, y), (x, y + STEP_M)])
        .collect();
    Transform::untold(crs, &gis::lon_lat()?)?.apply(&mut points)?;
    let scales = points.chunks_exact(3).flat_map(|three| {
        let point = |(lon, lat): (f64, f64)| Point::new(lon, lat);
        [three[1], three[2]].map(|to| STEP_M / Geodesic.distance(point(three[0]), point(to)))
    });
    let farther = |one: f64, other: f64| {
        if (other - 1.0).abs() > (one - 1.0).abs() {
            other
        } else {
            one
        }
    };
    Ok(scales.fold(1.0, farther))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(code: &str, west: f64, south: f64) -> (bool, usize) {
        let area = Extent {
            west,
            south,
            east: west + 1000.0,
            north: south + 1000.0,
        };
        let mut findings = Findings::default();
        let fine = check(&gis::crs_from_text(code).unwrap(), &area, &mut findings);
        (fine, findings.into_list().len())
    }

    #[test]
    fn a_utm_zone_is_true_and_web_mercator_is_refused() {
        assert_eq!(told("EPSG:26915", 430_000.0, 4_980_000.0), (true, 0));
        // The same place: 45 degrees north, where Web Mercator stretches by 1.41.
        assert_eq!(told("EPSG:3857", -10_452_000.0, 5_616_000.0), (false, 1));
    }

    #[test]
    fn a_site_across_the_meridian_of_180_degrees_is_refused() {
        let on_one_side = |west: f64| {
            let area = Extent {
                west,
                south: 8_140_000.0,
                east: west + 1_000.0,
                north: 8_141_000.0,
            };
            let mut findings = Findings::default();
            let crs = gis::crs_from_text("EPSG:32760").unwrap();
            (
                lies_on_one_side(&crs, &area, &mut findings),
                findings.has_errors(),
            )
        };
        assert_eq!(on_one_side(800_000.0), (true, false));
        // 16.8 degrees south: the meridian lies 319.8 km east of the middle of the zone.
        assert_eq!(on_one_side(819_300.0), (false, true));
    }

    #[test]
    fn an_equal_area_grid_away_from_its_middle_is_told() {
        // Albers for the conterminous states, at the north of Minnesota.
        assert_eq!(told("EPSG:5070", 100_000.0, 2_850_000.0), (true, 1));
    }
}
