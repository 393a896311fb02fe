//! Writes ratings as one tiled GeoTIFF, a band a species. In come blocks of bytes,
//! out goes a file with overviews in front of the data and the bands one after the
//! other, so that one species is read without the rest. Does not know what a rating
//! is made of.

use std::fs;
use std::path::{Path, PathBuf};

use gdal::raster::{Buffer, RasterCreationOptions};
use gdal::spatial_ref::SpatialRef;
use gdal::{Dataset, DriverManager, Metadata};

use super::WriteError;
use super::messages::heeded;
use crate::grid::{Grid, TILE_CELLS, Window};

/// The byte that stands for "not known".
const NODATA: u8 = 255;
/// What a byte is worth.
const SCALE: f64 = 0.005;
/// Uncompressed bytes from which the file is a `BigTIFF`; below the 4 GB a plain
/// one can hold, because compression can also make blocks a little larger.
const BIG_FROM: u64 = 3_800_000_000;
/// Overviews stop when the larger side is no longer than this.
const SMALLEST_OVERVIEW: usize = 512;

/// Writes `ratings.tif` on the thread that made it: blocks in any order, then
/// [`RatingsWriter::finish`].
///
/// # Missing
/// Byte 255, and every cell that no block covered.
///
/// # Method
/// The blocks go to a file beside the target (`.building`), overviews are added by
/// taking the nearest cell (no value is made up, none lost among unknown ones), and
/// a copy puts them in front. GDAL 3.6 can make a cloud-optimized file with its own
/// driver only with the bands of each cell side by side, so the layout comes from
/// the plain driver: directories first, then overviews, then data, tiled, without
/// that driver's extra bytes around each tile.
pub struct RatingsWriter {
    path: PathBuf,
    building: PathBuf,
    dataset: Dataset,
    bands: usize,
    rows: usize,
    cols: usize,
    big: &'static str,
}

impl RatingsWriter {
    /// A new file with a band for each name.
    ///
    /// # Errors
    /// No names, or the file cannot be made.
    pub fn create(path: &Path, grid: &Grid, band_names: &[&str]) -> Result<RatingsWriter, WriteError> {
        if band_names.is_empty() {
            return Err(WriteError::NoBands {
                path: path.to_owned(),
            });
        }
        let (rows, cols, bands) = (grid.rows(), grid.cols(), band_names.len());
        let big = if uncompressed_bytes(rows, cols, bands) >= BIG_FROM {
            "YES"
        } else {
            "NO"
        };
        let mut name = path.file_name().unwrap_or_default().to_owned();
        name.push(".building");
        let building = path.with_file_name(name);
        let dataset = heeded(|| {
            let options = options(&["COMPRESS=DEFLATE", "ZLEVEL=1"], big)?;
            let mut dataset = DriverManager::get_driver_by_name("GTiff")?
                .create_with_band_type_with_options::<u8, _>(&building, cols, rows, bands, &options)?;
            let srs = SpatialRef::from_wkt(&grid.crs().wkt)?;
            dataset.set_spatial_ref(&srs)?;
            let (west, north) = grid.corner_to_map(0, 0);
            dataset.set_geo_transform(&[west, grid.cell_m(), 0.0, north, 0.0, -grid.cell_m()])?;
            for (index, name) in band_names.iter().enumerate() {
                let mut band = dataset.rasterband(index + 1)?;
                band.set_no_data_value(Some(f64::from(NODATA)))?;
                band.set_scale(SCALE)?;
                band.set_offset(0.0)?;
                band.set_description(&name.replace('\0', "\u{fffd}"))?;
            }
            Ok(dataset)
        })
        .map_err(WriteError::write(path, "making the file"))?;
        Ok(RatingsWriter {
            path: path.to_owned(),
            building,
            dataset,
            bands,
            rows,
            cols,
            big,
        })
    }

    /// Writes a window of one band, counted from 0; the bytes row by row.
    ///
    /// # Errors
    /// The number of bytes is not that of the window, the band or the window is
    /// outside, or the file cannot be written.
    pub fn write_block(&mut self, window: Window, band: usize, bytes: &[u8]) -> Result<(), WriteError> {
        if bytes.len() != window.cells() {
            return Err(WriteError::Block {
                path: self.path.clone(),
                band: band + 1,
                found: bytes.len(),
                needed: window.cells(),
            });
        }
        heeded(|| {
            let mut buffer = Buffer::new((window.cols, window.rows), bytes.to_vec());
            let corner = (isize::try_from(window.col)?, isize::try_from(window.row)?);
            self.dataset
                .rasterband(band + 1)?
                .write(corner, (window.cols, window.rows), &mut buffer)
        })
        .map_err(WriteError::write(
            &self.path,
            format!("band {} of {}, row {}", band + 1, self.bands, window.row),
        ))
    }

    /// Adds the overviews, puts them in front and closes the file.
    ///
    /// # Errors
    /// The file cannot be written, a full disk for one.
    pub fn finish(self) -> Result<(), WriteError> {
        let RatingsWriter {
            path,
            building,
            mut dataset,
            rows,
            cols,
            big,
            ..
        } = self;
        heeded(|| {
            dataset.flush_cache()?;
            let levels = overview_levels(rows, cols);
            if !levels.is_empty() {
                dataset.build_overviews("NEAREST", &levels, &[])?;
            }
            dataset.close()
        })
        .map_err(WriteError::write(&path, "adding overviews"))?;
        heeded(|| {
            let source = Dataset::open(&building)?;
            let options = options(&["COMPRESS=DEFLATE", "ZLEVEL=6", "COPY_SRC_OVERVIEWS=YES"], big)?;
            let driver = DriverManager::get_driver_by_name("GTiff")?;
            source.create_copy(&driver, &path, &options)?.close()?;
            source.close()
        })
        .map_err(WriteError::write(&path, "putting the overviews in front"))?;
        fs::remove_file(&building)
            .map_err(|error| WriteError::write(&building, "removing it")(error.to_string()))
    }
}

fn options(more: &[&str], big: &str) -> Result<RasterCreationOptions, gdal::errors::GdalError> {
    let mut options = RasterCreationOptions::new();
    options.set_name_value("TILED", "YES")?;
    options.set_name_value("BLOCKXSIZE", &TILE_CELLS.to_string())?;
    options.set_name_value("BLOCKYSIZE", &TILE_CELLS.to_string())?;
    options.set_name_value("INTERLEAVE", "BAND")?;
    options.set_name_value("BIGTIFF", big)?;
    // One thread, so that the blocks always stand in the same order.
    options.set_name_value("NUM_THREADS", "1")?;
    for option in more {
        options.add_string(option)?;
    }
    Ok(options)
}

/// Bytes of whole tiles of all bands, a third more for the overviews.
fn uncompressed_bytes(rows: usize, cols: usize, bands: usize) -> u64 {
    let tiles = rows.div_ceil(TILE_CELLS) as u64 * cols.div_ceil(TILE_CELLS) as u64;
    let data = tiles * (TILE_CELLS * TILE_CELLS) as u64 * bands as u64;
    data + data / 3
}

fn overview_levels(rows: usize, cols: usize) -> Vec<i32> {
    let larger = rows.max(cols);
    (1..31)
        .take_while(|power| larger.div_ceil(1 << (power - 1)) > SMALLEST_OVERVIEW)
        .map(|power| 1 << power)
        .collect()
}

/// What stands in a finished file of ratings.
#[derive(Debug, Clone, PartialEq)]
pub struct RatingsFacts {
    /// Number of rows.
    pub rows: usize,
    /// Number of columns.
    pub cols: usize,
    /// The names of the bands.
    pub band_names: Vec<String>,
}

/// Opens a finished file and reads the last cells of every band, which a file cut
/// short no longer has.
///
/// # Errors
/// The file cannot be opened or read.
pub fn inspect_ratings(path: &Path) -> Result<RatingsFacts, WriteError> {
    heeded(|| {
        let dataset = Dataset::open(path)?;
        let (cols, rows) = dataset.raster_size();
        let mut band_names = Vec::with_capacity(dataset.raster_count());
        for band in dataset.rasterbands() {
            let band = band?;
            let last = (isize::try_from(cols)? - 1, isize::try_from(rows)? - 1);
            band.read_as::<u8>(last, (1, 1), (1, 1), None)?;
            band_names.push(band.description()?);
        }
        Ok(RatingsFacts {
            rows,
            cols,
            band_names,
        })
    })
    .map_err(WriteError::read_back(path))
}

#[cfg(test)]
#[path = "geotiff_tests.rs"]
mod tests;
