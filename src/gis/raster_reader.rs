//! Reading one band of a raster onto a grid: nodata, masks, scale and offset are
//! settled here once, and what comes out knows what is missing. Decides nothing
//! about the kind of a layer: how to resample is told.

use std::cell::Cell as Kept;
use std::path::Path;

use gdal::Dataset;

use super::raster_file::{self, BandFacts, RasterFile};
use super::warp::{self, Resampling, Source, Way};
use super::{Affine, GisError, Transform, TransformTold, crs, tiles};
use crate::grid::{Cell, Crs, Extent, Raster};

/// The largest number up to which 32-bit floats hold every whole number.
pub(super) const EXACT_F32: f64 = 16_777_216.0;

/// One band, open for reading by one thread at a time.
pub struct RasterReader {
    pub(super) dataset: Dataset,
    pub(super) path: String,
    pub(super) band: usize,
    pub(super) band_in_dataset: usize,
    pub(super) nodata: Option<f64>,
    pub(super) scale: f64,
    pub(super) offset: f64,
    pub(super) is_integer: bool,
    pub(super) fits_f32: bool,
    /// Columns and rows of the file's blocks, where there is one file.
    pub(super) block: Option<(usize, usize)>,
    affine: Affine,
    cols: usize,
    rows: usize,
    crs: Crs,
    geographic: bool,
    ways: Kept<Option<(Crs, Ways)>>,
}

struct Ways {
    to_source: Transform,
    to_target: Transform,
}

impl std::fmt::Debug for RasterReader {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("RasterReader")
            .field("path", &self.path)
            .field("band", &self.band)
            .finish_non_exhaustive()
    }
}

impl RasterReader {
    /// One band of a raster, counted from 1. What the user says about system and
    /// nodata takes the place of what the file says.
    ///
    /// # Errors
    /// No such band, no system, a file that can no longer be opened.
    pub fn open(
        file: &RasterFile,
        band: usize,
        crs_override: Option<&Crs>,
        nodata_override: Option<f64>,
    ) -> Result<RasterReader, GisError> {
        let path = file.path.display().to_string();
        let facts = band.checked_sub(1).and_then(|index| file.bands.get(index));
        let facts = facts.ok_or_else(|| GisError::NoBand {
            path: path.clone(),
            band,
            bands: file.bands.len(),
        })?;
        let crs = crs_override.or(file.crs.as_ref());
        let crs = crs
            .cloned()
            .ok_or_else(|| GisError::NoCrs { path: path.clone() })?;
        let fits_f32 = fits_f32(facts);
        let virtual_raster = file.folder || facts.has_mask;
        let dataset = if virtual_raster {
            let text = tiles::virtual_raster(file, band, fits_f32, nodata_override);
            raster_file::open(Path::new(&text))
        } else {
            raster_file::open(&file.path)
        };
        let dataset = dataset.map_err(|reason| GisError::NotRaster {
            path: path.clone(),
            reason,
        })?;
        let nodata = if virtual_raster {
            Some(tiles::MISSING)
        } else {
            // Without a nodata value of its own, a raster of floats may hold NaN.
            let said = nodata_override.or(facts.nodata);
            said.or((!facts.is_integer).then_some(f64::NAN))
        };
        Ok(RasterReader {
            dataset,
            path,
            band,
            band_in_dataset: if virtual_raster { 1 } else { band },
            nodata,
            scale: facts.scale,
            offset: facts.offset,
            is_integer: facts.is_integer,
            fits_f32,
            block: Some(file.block).filter(|block| !file.folder && block.0 > 0 && block.1 > 0),
            affine: file.affine,
            cols: file.cols,
            rows: file.rows,
            geographic: crs::crs_facts(&crs)?.geographic,
            crs,
            ways: Kept::new(None),
        })
    }

    /// The system the values are read from: the user's word, else the file's.
    #[must_use]
    pub fn crs(&self) -> &Crs {
        &self.crs
    }

    /// Which way coordinates go to another system.
    ///
    /// # Errors
    /// When there is none.
    pub fn told(&self, to: &Crs) -> Result<TransformTold, GisError> {
        let ways = self.ways(to)?;
        let told = ways.to_target.told().clone();
        self.ways.set(Some((to.clone(), ways)));
        Ok(told)
    }

    /// The values of a grid of `rows` x `cols` cells that fills an extent.
    ///
    /// # Missing
    /// NaN where the source has no value, holds NaN or infinity, or does not reach.
    ///
    /// # Method
    /// GDAL's warper. When both systems are the same, every cell is computed from
    /// its own place, so that the values do not hang on how a grid is cut.
    ///
    /// # Errors
    /// A corrupt block, no way between the systems, a class code too large.
    pub fn read(
        &self,
        target: &Extent,
        rows: usize,
        cols: usize,
        crs: &Crs,
        how: Resampling,
    ) -> Result<Raster<f32>, GisError> {
        let ways = self.ways(crs)?;
        let failed = |reason: String| GisError::ReadRaster {
            path: self.path.clone(),
            band: self.band,
            area: area_text(target, crs),
            reason,
        };
        let grid = Affine::of_extent(target, rows, cols);
        let way = Way {
            target: grid.ok_or_else(|| failed("the area is empty".to_owned()))?,
            source: self.affine,
            source_cols: self.cols,
            source_rows: self.rows,
            to_source: &ways.to_source,
            to_target: &ways.to_target,
            source_geographic: self.geographic,
        };
        let source = Source {
            dataset: &self.dataset,
            band: self.band_in_dataset,
            nodata: self.nodata,
            fits_f32: self.fits_f32,
        };
        let values = warp::warp(&source, &way, rows, cols, how).map_err(failed)?;
        self.ways.set(Some((crs.clone(), ways)));
        let classes = self.is_integer && matches!(how, Resampling::Nearest | Resampling::Mode);
        let large = values.iter().find(|value| value.abs() > EXACT_F32);
        if let (true, Some(&code)) = (classes, large) {
            return Err(GisError::CodeTooLarge {
                path: self.path.clone(),
                band: self.band,
                code,
            });
        }
        let values: Vec<f32> = values.into_iter().map(|value| self.measured(value)).collect();
        Raster::new(rows, cols, values).ok_or_else(|| failed("it came out in another size".to_owned()))
    }

    #[expect(
        clippy::cast_possible_truncation,
        reason = "measured values need no more digits; codes are checked to fit"
    )]
    #[inline(always)]
    pub(super) fn measured(&self, stored: f64) -> f32 {
        let value = (stored * self.scale + self.offset) as f32;
        if value.is_finite() { value } else { f32::MISSING }
    }

    /// The ways last used when they lead to the system, else new ones. Whoever takes
    /// them puts them back.
    fn ways(&self, to: &Crs) -> Result<Ways, GisError> {
        if let Some((known, ways)) = self.ways.take()
            && known == *to
        {
            return Ok(ways);
        }
        let in_file = |error: GisError| error.in_file(&self.path);
        Ok(Ways {
            to_source: Transform::untold(to, &self.crs).map_err(in_file)?,
            to_target: Transform::new(&self.crs, to).map_err(in_file)?,
        })
    }
}

/// Whether 32-bit floats hold every value a band can have.
pub(super) fn fits_f32(facts: &BandFacts) -> bool {
    matches!(
        facts.kind.as_str(),
        "Byte" | "Int8" | "Int16" | "UInt16" | "Float32"
    )
}

/// Where the cells of a target lie, for people.
pub(super) fn area_text(target: &Extent, crs: &Crs) -> String {
    format!(
        "x {} to {}, y {} to {} in {}",
        target.west,
        target.east,
        target.south,
        target.north,
        crs.label()
    )
}
