//! The ground to rate: the boundary, and the grid laid over it.

use geo::{Geometry, MultiPolygon};

use super::finding::Findings;
use super::vector_layer::{Kept, VectorLayer, Wanted};
use crate::gis::{self, Features, RasterFile, Transform};
use crate::grid::{Crs, Extent, Grid};
use crate::plural::{counted, one_or_many};
use crate::project::{Area, LayerRef};

/// The area and what set its grid.
#[derive(Debug)]
pub struct GridChoice {
    /// The grid.
    pub grid: Grid,
    /// The boundary's polygons in the grid's CRS.
    pub boundary: Vec<MultiPolygon<f64>>,
    /// The boundary's layer as it was read.
    pub features: Features<Kept>,
    /// Who set the cell size, for people.
    pub cell_set_by: String,
    /// Who set the CRS, for people.
    pub crs_set_by: String,
}

/// A raster whose cells may set the grid's.
pub struct CellCandidate<'a> {
    /// What the project file calls it.
    pub name: &'a str,
    /// The raster.
    pub file: &'a RasterFile,
    /// Its CRS, the project's word for it included.
    pub crs: &'a Crs,
}

/// The name of the boundary in messages.
const BOUNDARY: &str = "area.boundary";

/// Finest cell that is chosen where lines matter: wider cells lose the strip along
/// a road or creek.
const LINE_CELL_M: f64 = 5.0;

/// A grid has at least so many cells across the site.
const LEAST_ACROSS: f64 = 200.0;

impl GridChoice {
    /// Lays the grid, or tells why that cannot be.
    ///
    /// `lines_matter` tells whether distances, widths or setbacks play a part.
    pub fn new(
        area: &Area,
        candidates: &[CellCandidate],
        layer_crs: &[Crs],
        lines_matter: bool,
        findings: &mut Findings,
    ) -> Option<GridChoice> {
        let (crs, crs_set_by) = match &area.grid_crs {
            Some(text) => (grid_crs(text, findings)?, "the project file".to_owned()),
            None => utm_of_area(&area.boundary, layer_crs, findings)?,
        };
        let boundary = Boundary::read(&area.boundary, &crs, findings)?;
        let (cell_m, cell_set_by) = match area.cell_m {
            Some(cell_m) => (cell_m, "the project file".to_owned()),
            None => finest_cell(&boundary.extent, candidates, &crs, lines_matter, findings)?,
        };
        let grid = findings.take("area", Grid::covering(&boundary.extent, cell_m, crs))?;
        Some(GridChoice {
            grid,
            boundary: boundary.polygons,
            features: boundary.features,
            cell_set_by,
            crs_set_by,
        })
    }
}

/// The boundary in one CRS.
struct Boundary {
    features: Features<Kept>,
    polygons: Vec<MultiPolygon<f64>>,
    extent: Extent,
}

impl Boundary {
    /// Reads the boundary; one without any area is told.
    fn read(layer: &LayerRef, crs: &Crs, findings: &mut Findings) -> Option<Boundary> {
        let wanted = Wanted {
            name: BOUNDARY.to_owned(),
            layer: layer.clone(),
            fields: Vec::new(),
            reach_m: 0.0,
            outlines: true,
        };
        let read = VectorLayer::read(&wanted, crs, None, None, findings)?;
        let polygons = polygons_of(BOUNDARY, &read, findings)?;
        let corners = polygons
            .iter()
            .flatten()
            .flat_map(|polygon| polygon.exterior().coords());
        let Some(extent) = Extent::around(corners.map(|point| (point.x, point.y))) else {
            let text = format!(
                "{} has no polygon with an area: at least one is needed",
                layer.as_written
            );
            findings.error(BOUNDARY, text);
            return None;
        };
        Some(Boundary {
            features: read.features,
            polygons,
            extent,
        })
    }
}

fn grid_crs(text: &str, findings: &mut Findings) -> Option<Crs> {
    let name = "area.grid_crs";
    let crs = findings.take(name, gis::crs_from_text(text))?;
    let facts = findings.take(name, gis::crs_facts(&crs))?;
    if facts.projected
        && facts
            .metres_per_unit
            .is_some_and(|metres| (metres - 1.0).abs() < 1e-9)
    {
        return Some(crs);
    }
    let found = match facts.metres_per_unit {
        _ if facts.geographic => "degrees".to_owned(),
        Some(metres) => format!("a unit of {metres} m"),
        None => "no unit that is known".to_owned(),
    };
    findings.error(
        name,
        format!(
            "{} has {found}: a projected CRS in metres is needed, such as the UTM zone of the site; leave `grid_crs` out to have it chosen",
            crs.label()
        ),
    );
    None
}

/// The UTM zone of the area's middle, in the datum that most layers share.
fn utm_of_area(boundary: &LayerRef, layer_crs: &[Crs], findings: &mut Findings) -> Option<(Crs, String)> {
    let lon_lat = findings.take(BOUNDARY, gis::lon_lat())?;
    // The boundary is read once more in the grid's CRS; warnings come then.
    let mut unheard = Findings::default();
    let Some(Boundary { features, extent, .. }) = Boundary::read(boundary, &lon_lat, &mut unheard) else {
        findings.take_over(unheard);
        return None;
    };
    let own = &features.source_crs;
    let mut by_datum: Vec<(String, usize, &Crs)> = Vec::new();
    for crs in layer_crs.iter().chain([own]) {
        let Some(datum) = gis::crs_facts(crs).ok().and_then(|facts| facts.datum) else {
            continue;
        };
        match by_datum.iter_mut().find(|(known, ..)| *known == datum) {
            Some((_, count, _)) => *count += 1,
            None => by_datum.push((datum, 1, crs)),
        }
    }
    let most = by_datum.iter().rev().max_by_key(|(_, count, _)| *count);
    let datum_of = most.map_or(own, |(.., crs)| *crs);
    let (lon, lat) = (
        f64::midpoint(extent.west, extent.east),
        f64::midpoint(extent.south, extent.north),
    );
    if extent.width() > 180.0 {
        findings.error(
            BOUNDARY,
            format!(
                "{} reaches from longitude {:.3} to {:.3}: it crosses the meridian of 180 degrees, where outlines are not split; a site on one side of it is needed",
                boundary.as_written, extent.west, extent.east
            ),
        );
        return None;
    }
    if !(-80.0..=84.0).contains(&lat) {
        findings.error(
            BOUNDARY,
            format!(
                "{} lies at latitude {lat:.3}, where there is no UTM zone to choose: say `grid_crs`, such as `EPSG:32661` (UPS North) or `EPSG:32761` (UPS South)",
                boundary.as_written
            ),
        );
        return None;
    }
    let crs = findings.take("area", gis::utm_zone_for(lon, lat, datum_of))?;
    let by = format!("the middle of the area ({lon:.3}, {lat:.3}) and the datum most layers share");
    Some((crs, by))
}

/// The finest decisive raster's cell, not over 5 m where lines matter, never over a
/// 200th of the site's width.
fn finest_cell(
    extent: &Extent,
    candidates: &[CellCandidate],
    crs: &Crs,
    lines_matter: bool,
    findings: &mut Findings,
) -> Option<(f64, String)> {
    let across = extent.width().min(extent.height()) / LEAST_ACROSS;
    let mut finest = (across, "a 200th of the site's width".to_owned());
    if lines_matter && LINE_CELL_M < finest.0 {
        finest = (
            LINE_CELL_M,
            "5 m at most, because distances, widths or setbacks matter".to_owned(),
        );
    }
    for candidate in candidates {
        let cell_m = findings.take(
            candidate.name,
            source_cell_m(candidate.file, candidate.crs, crs, extent),
        )?;
        if cell_m <= finest.0 {
            finest = (cell_m, candidate.name.to_owned());
        }
    }
    Some((round_cell(finest.0), finest.1))
}

/// A cell size people would write: three digits.
fn round_cell(cell_m: f64) -> f64 {
    let step = 10f64.powf(cell_m.log10().floor() - 2.0);
    let rounded = (cell_m / step).round() * step;
    // Away with the tail of the binary fraction.
    format!("{rounded:.6}").parse().unwrap_or(rounded)
}

/// The side of a raster's cell in metres of the grid, at the middle of the area.
///
/// # Errors
/// When the middle of the area cannot be brought to the raster's CRS.
pub fn source_cell_m(
    file: &RasterFile,
    crs: &Crs,
    grid_crs: &Crs,
    area: &Extent,
) -> Result<f64, gis::GisError> {
    let middle = (
        f64::midpoint(area.west, area.east),
        f64::midpoint(area.south, area.north),
    );
    let mut there = [middle];
    Transform::untold(grid_crs, crs)?.apply(&mut there)?;
    let (x, y) = there[0];
    let mut corner = [(x, y), (x + file.cell_x, y), (x, y + file.cell_y)];
    Transform::untold(crs, grid_crs)?.apply(&mut corner)?;
    let length = |to: (f64, f64)| (to.0 - corner[0].0).hypot(to.1 - corner[0].1);
    Ok((length(corner[1]) * length(corner[2])).sqrt())
}

/// The polygons of a layer, one a feature; other geometries are told.
pub fn polygons_of(
    name: &str,
    layer: &VectorLayer,
    findings: &mut Findings,
) -> Option<Vec<MultiPolygon<f64>>> {
    let mut others = 0;
    let outlines = findings.take(name, layer.outlines())?;
    let polygons = outlines
        .into_iter()
        .map(|outline| match outline {
            Geometry::Polygon(polygon) => MultiPolygon(vec![polygon.clone()]),
            Geometry::MultiPolygon(polygons) => polygons.clone(),
            _ => {
                others += 1;
                MultiPolygon(Vec::new())
            }
        })
        .collect();
    warn_of_others(name, others, findings);
    Some(polygons)
}

/// Warns of features that own no ground, being no polygons.
pub fn warn_of_others(name: &str, others: usize, findings: &mut Findings) {
    if others > 0 {
        findings.warn(
            name,
            format!(
                "{} {} and {} no ground here",
                counted(others, "feature"),
                one_or_many(others, "is no polygon", "are no polygons"),
                one_or_many(others, "owns", "own")
            ),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::round_cell;

    #[test]
    fn cell_sizes_are_written_short() {
        assert_eq!(round_cell(5.0), 5.0);
        assert_eq!(round_cell(29.993_1), 30.0);
        assert_eq!(round_cell(0.333_333), 0.333);
    }
}
