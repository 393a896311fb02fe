//! Small rasters written by GDAL and read back through the door.
#![expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "numbers made up for the tests are small"
)]

mod as_they_lie;
mod folders;
mod missing;
mod placing;
mod refused;

use std::path::{Path, PathBuf};

use gdal::raster::GdalType;
use gdal::spatial_ref::SpatialRef;
use gdal::{Dataset, DriverManager};
use tempfile::TempDir;

use super::{RasterReader, Resampling, crs_from_text, inspect_raster};
use crate::grid::{CellIndex, Crs, Extent, Raster};

const ALL: [Resampling; 4] = [
    Resampling::Nearest,
    Resampling::Mode,
    Resampling::Bilinear,
    Resampling::Average,
];

/// A raster to write: where its north-west corner lies and how large cells are.
struct Plan {
    west: f64,
    north: f64,
    cell: f64,
    cols: usize,
    rows: usize,
    crs: Option<&'static str>,
}

const PLAN: Plan = Plan {
    west: 500_000.0,
    north: 4_980_000.0,
    cell: 10.0,
    cols: 4,
    rows: 3,
    crs: Some("EPSG:26915"),
};

impl Plan {
    fn create<T: GdalType + Copy>(&self, path: &Path, bands: usize) -> Dataset {
        super::messages::start_once();
        let driver = DriverManager::get_driver_by_name("GTiff").unwrap();
        let mut dataset = driver
            .create_with_band_type::<T, _>(path, self.cols, self.rows, bands)
            .unwrap();
        dataset
            .set_geo_transform(&[self.west, self.cell, 0.0, self.north, 0.0, -self.cell])
            .unwrap();
        if let Some(crs) = self.crs {
            dataset
                .set_spatial_ref(&SpatialRef::from_definition(crs).unwrap())
                .unwrap();
        }
        dataset
    }

    fn write<T: GdalType + Copy>(&self, path: &Path, value: impl Fn(usize, usize) -> T) -> Dataset {
        let dataset = self.create::<T>(path, 1);
        self.fill(&dataset, 1, value);
        dataset
    }

    fn fill<T: GdalType + Copy>(&self, dataset: &Dataset, band: usize, value: impl Fn(usize, usize) -> T) {
        let values: Vec<T> = (0..self.rows * self.cols)
            .map(|cell| value(cell / self.cols, cell % self.cols))
            .collect();
        let mut buffer = gdal::raster::Buffer::new((self.cols, self.rows), values);
        let mut band = dataset.rasterband(band).unwrap();
        band.write((0, 0), (self.cols, self.rows), &mut buffer).unwrap();
    }

    fn extent(&self) -> Extent {
        Extent {
            west: self.west,
            south: self.north - self.cell * self.rows as f64,
            east: self.west + self.cell * self.cols as f64,
            north: self.north,
        }
    }
}

fn plane() -> Crs {
    crs_from_text("EPSG:26915").unwrap()
}

fn folder() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("canopy.tif");
    (folder, file)
}

/// All cells of a file on its own grid.
fn cells(path: &Path, band: usize, how: Resampling) -> Raster<f32> {
    let file = inspect_raster(path).unwrap();
    let reader = RasterReader::open(&file, band, None, None).unwrap();
    let crs = file.crs.clone().unwrap();
    reader
        .read(&file.extent, file.rows, file.cols, &crs, how)
        .unwrap()
}

fn get(raster: &Raster<f32>, row: usize, col: usize) -> Option<f32> {
    raster.get(CellIndex { row, col })
}

/// The same bits, missing ones included.
fn bits(raster: &Raster<f32>) -> Vec<u32> {
    raster.values().iter().map(|value| value.to_bits()).collect()
}
