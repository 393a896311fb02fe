//! A raster looked at, and how it will be read onto the grid.

use super::LayerFact;
use super::area::source_cell_m;
use super::finding::Findings;
use super::raster_checks;
use crate::factor::Kind;
use crate::gis::{self, GisError, RasterFile, RasterSource, Resampling, Transform};
use crate::grid::{Crs, Extent, Grid, Raster, Window};
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
#[derive(Debug)]
pub struct RasterPlan {
    /// The file, open for all threads.
    pub source: RasterSource,
    /// Band, from 1.
    pub band: usize,
    /// How cells are resampled.
    pub resampling: Resampling,
    /// Side of a source cell in metres of the grid.
    pub cell_m: f64,
}

impl RasterPlan {
    /// The raster's values in a window of the grid and some cells around it.
    ///
    /// # Errors
    /// When GDAL cannot read them.
    pub fn read(&self, grid: &Grid, window: Window, around: usize) -> Result<Raster<f32>, GisError> {
        #[expect(clippy::cast_precision_loss, reason = "a few cells")]
        let margin_m = around as f64 * grid.cell_m();
        let extent = match around {
            0 => grid.extent_of(window),
            _ => grid.extent_of(window).grown(margin_m),
        };
        let (rows, cols) = (window.rows + 2 * around, window.cols + 2 * around);
        self.source.read(&extent, rows, cols, grid.crs(), self.resampling)
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
        let cols = place.grid.cols();
        let plan = RasterPlan {
            source: RasterSource::new(self.file, band, self.crs_override, nodata, cols),
            band,
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
