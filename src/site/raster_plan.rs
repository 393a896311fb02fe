//! A raster looked at, and how it will be read onto the grid.

use super::LayerFact;
use super::area::source_cell_m;
use super::finding::Findings;
use super::raster_checks;
use crate::factor::Kind;
use crate::gis::{self, RasterFile, RasterReader, Resampling, Transform};
use crate::grid::{Crs, Extent, Grid};
use crate::project::{FactorSection, LayerRef};

/// The grid and the area on it that layers are brought to.
#[derive(Debug, Clone, Copy)]
pub struct Place<'a> {
    /// The grid.
    pub grid: &'a Grid,
    /// The extent of the boundary, in the grid's CRS.
    pub area: Extent,
}

/// A raster and how it is read.
#[derive(Debug, Clone)]
pub struct RasterPlan {
    /// The file.
    pub file: RasterFile,
    /// Band, from 1.
    pub band: usize,
    /// The CRS where the project gives it.
    pub crs_override: Option<Crs>,
    /// The missing value where the project gives it.
    pub nodata_override: Option<f64>,
    /// How cells are resampled.
    pub resampling: Resampling,
    /// Side of a source cell in metres of the grid.
    pub cell_m: f64,
}

impl RasterPlan {
    /// Opens the raster for one thread.
    ///
    /// # Errors
    /// When GDAL cannot.
    pub fn open(&self) -> Result<RasterReader, crate::gis::GisError> {
        RasterReader::open(
            &self.file,
            self.band,
            self.crs_override.as_ref(),
            self.nodata_override,
        )
    }
}

/// A raster looked at, with the CRS that counts.
pub struct Looked {
    /// What messages call it: `factors.canopy`.
    name: String,
    /// The path as the project has it.
    as_written: String,
    /// The file.
    pub file: RasterFile,
    /// Its CRS, or the one the project gives.
    pub crs: Crs,
    crs_override: Option<Crs>,
}

impl Looked {
    /// Looks at a raster and settles its CRS; what is wrong with it is told.
    pub fn new(
        section: &FactorSection,
        layer: &LayerRef,
        band: usize,
        findings: &mut Findings,
    ) -> Option<Looked> {
        let name = format!("factors.{}", section.factor.id);
        let file = findings.take(&name, gis::inspect_raster(&layer.path))?;
        let crs_override = match &layer.crs {
            None => None,
            Some(text) => Some(findings.take(&name, gis::crs_from_text(text))?),
        };
        if let Some(given) = &crs_override {
            findings.warn_of_other_crs(&name, &layer.as_written, file.crs.as_ref(), given);
        }
        let crs = crs_override.clone().or_else(|| file.crs.clone());
        let Some(crs) = crs else {
            findings.error(
                &name,
                format!(
                    "{} has no coordinate reference system: say `crs = \"EPSG:...\"` for the layer",
                    layer.as_written
                ),
            );
            return None;
        };
        raster_checks::check(&name, section, layer, &file, band, &crs, findings).then_some(Looked {
            name,
            as_written: layer.as_written.clone(),
            file,
            crs,
            crs_override,
        })
    }

    /// How the raster is read for a factor, and what there is to tell of it.
    pub fn plan(
        self,
        section: &FactorSection,
        band: usize,
        nodata: Option<f64>,
        place: &Place,
        findings: &mut Findings,
    ) -> Option<(RasterPlan, LayerFact)> {
        let name = self.name.clone();
        let cell_m = source_cell_m(&self.file, &self.crs, place.grid.crs(), &place.area);
        let cell_m = findings.take(&name, cell_m)?;
        let finer = cell_m < place.grid.cell_m() * 0.99;
        // Cuts turn numbers into classes after reading, so the numbers are measured.
        let classes = section.cuts.is_none() && matches!(section.factor.kind, Kind::Classes { .. });
        let resampling = match (classes, finer) {
            (true, true) => Resampling::Mode,
            (true, false) => Resampling::Nearest,
            (false, true) => Resampling::Average,
            (false, false) => Resampling::Bilinear,
        };
        let transform = findings.take(&name, Transform::new(&self.crs, place.grid.crs()))?;
        let covers = self.covers(place, &transform, findings)?;
        findings.warn_of_ballpark(&name, transform.told());
        let fact = LayerFact {
            name,
            path: self.as_written.clone(),
            kind: format!("raster, {}", if classes { "classes" } else { "measured" }),
            transform: transform.told().clone(),
            resampling: Some(resampling.word()),
            support_m: Some(section.support_m.unwrap_or(cell_m)),
            nodata: nodata.or(self.file.bands[band - 1].nodata),
            covers: Some(covers),
            features: None,
            date: section.date.clone(),
            notes: Vec::new(),
        };
        let plan = RasterPlan {
            file: self.file,
            band,
            crs_override: self.crs_override,
            nodata_override: nodata,
            resampling,
            cell_m,
        };
        Some((plan, fact))
    }

    /// The share of the area's extent that a raster covers; an error when none.
    fn covers(&self, place: &Place, transform: &Transform, findings: &mut Findings) -> Option<f64> {
        let (name, path) = (self.name.as_str(), &self.as_written);
        let mut points = around(&self.file.extent);
        findings.take(name, transform.apply(&mut points))?;
        let there = Extent::around(points)?;
        let covers = place.area.share_covered_by(&there);
        let show = |extent: &Extent| {
            format!(
                "x {:.0} to {:.0}, y {:.0} to {:.0}",
                extent.west, extent.east, extent.south, extent.north
            )
        };
        if covers <= 0.0 {
            findings.error(
                name,
                format!(
                    "{path} misses the area: in {} it lies at {} (its CRS is {}), the area at {}; a layer that covers the area is needed, or the right `crs` for this one",
                    place.grid.crs().label(),
                    show(&there),
                    self.crs.label(),
                    show(&place.area)
                ),
            );
            return None;
        }
        if covers < 0.999 {
            findings.warn(
                name,
                format!(
                    "{path} covers {:.0} % of the area's extent; the rest is missing",
                    covers * 100.0
                ),
            );
        }
        Some(covers)
    }
}

/// Points along an extent's border, close enough that a bent edge shows.
fn around(extent: &Extent) -> Vec<(f64, f64)> {
    let steps = 20;
    let mut points = Vec::with_capacity(4 * steps);
    for step in 0..steps {
        #[expect(clippy::cast_precision_loss, reason = "a small count")]
        let share = step as f64 / steps as f64;
        let (x, y) = (
            extent.west + share * extent.width(),
            extent.south + share * extent.height(),
        );
        points.extend([
            (x, extent.south),
            (x, extent.north),
            (extent.west, y),
            (extent.east, y),
        ]);
    }
    points.push((extent.east, extent.north));
    points
}
