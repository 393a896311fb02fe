//! Writes small made-up sites through GDAL: layers in any CRS, a project file, a
//! catalogue. Places are given in metres from a corner in EPSG:26915.

use std::path::{Path, PathBuf};

use gdal::raster::{Buffer, GdalType};
use gdal::spatial_ref::{AxisMappingStrategy, CoordTransform, SpatialRef};
use gdal::vector::{Geometry, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType};
use gdal::{Dataset, DriverManager};

use crate::program::sample;

/// The CRS that local metres lie in.
pub const PLANE: u32 = 26915;
/// East of the local corner.
pub const EAST_M: f64 = 430_000.0;
/// North of the local corner.
pub const NORTH_M: f64 = 4_980_000.0;

/// A value of a field.
#[derive(Debug, Clone, Copy)]
pub enum Field<'a> {
    Text(&'a str),
    Number(f64),
}

/// A feature: its fields and its shape in local metres.
pub type Row<'a> = (Vec<Field<'a>>, String);

pub fn system(epsg: u32) -> SpatialRef {
    let mut system = SpatialRef::from_epsg(epsg).unwrap();
    system.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
    system
}

/// A rectangle as well-known text, in local metres.
pub fn rectangle(west: f64, south: f64, east: f64, north: f64) -> String {
    format!("POLYGON (({west} {south}, {east} {south}, {east} {north}, {west} {north}, {west} {south}))")
}

/// A local shape in the CRS asked for.
pub fn placed(wkt: &str, epsg: u32) -> Geometry {
    let local = geo_types_of(wkt);
    let mut shape = Geometry::from_wkt(&local).unwrap();
    if epsg != PLANE {
        shape.set_spatial_ref(system(PLANE));
        shape.transform_to_inplace(&system(epsg)).unwrap();
    }
    shape
}

/// The text with the corner added to each coordinate pair.
fn geo_types_of(wkt: &str) -> String {
    let mut moved = String::new();
    let mut numbers = String::new();
    let mut is_north = false;
    for letter in wkt.chars().chain(['\n']) {
        if letter.is_ascii_digit() || letter == '.' || (letter == '-' && numbers.is_empty()) {
            numbers.push(letter);
            continue;
        }
        if !numbers.is_empty() {
            let number: f64 = numbers.parse().unwrap();
            let corner = if is_north { NORTH_M } else { EAST_M };
            moved.push_str(&(number + corner).to_string());
            is_north = !is_north;
            numbers.clear();
        }
        moved.push(letter);
    }
    moved
}

/// Writes a layer; an existing file is replaced. `epsg` 0 writes none.
pub fn write_layer(path: &Path, epsg: u32, fields: &[&str], rows: &[Row]) {
    let _ = std::fs::remove_file(path);
    let ending = path.extension().unwrap().to_str().unwrap();
    let driver = match ending {
        "gpkg" => "GPKG",
        "geojson" => "GeoJSON",
        "shp" => "ESRI Shapefile",
        other => panic!("no driver for {other}"),
    };
    let driver = DriverManager::get_driver_by_name(driver).unwrap();
    let mut dataset = driver.create_vector_only(path).unwrap();
    let srs = (epsg != 0).then(|| system(epsg));
    let layer = dataset
        .create_layer(LayerOptions {
            name: path.file_stem().unwrap().to_str().unwrap(),
            srs: srs.as_ref(),
            ty: OGRwkbGeometryType::wkbUnknown,
            options: None,
        })
        .unwrap();
    let kinds: Vec<(&str, OGRFieldType::Type)> = fields
        .iter()
        .enumerate()
        .map(|(place, &name)| match rows.first().map(|row| row.0[place]) {
            Some(Field::Number(_)) => (name, OGRFieldType::OFTReal),
            _ => (name, OGRFieldType::OFTString),
        })
        .collect();
    layer.create_defn_fields(&kinds).unwrap();
    for (values, shape) in rows {
        let mut feature = gdal::vector::Feature::new(layer.defn()).unwrap();
        let shape = placed(shape, if epsg == 0 { PLANE } else { epsg });
        feature.set_geometry(shape).unwrap();
        for (place, value) in values.iter().enumerate() {
            match value {
                Field::Text(text) => feature.set_field_string(place, text).unwrap(),
                Field::Number(number) => feature.set_field_double(place, *number).unwrap(),
            }
        }
        feature.create(&layer).unwrap();
    }
    dataset.close().unwrap();
}

/// A raster to write over a local rectangle.
#[derive(Debug, Clone, Copy)]
pub struct RasterPlan {
    pub west: f64,
    pub south: f64,
    pub east: f64,
    pub north: f64,
    /// Side of a cell, in metres or in the unit of the CRS.
    pub cell: f64,
    /// The CRS; 0 writes none.
    pub epsg: u32,
    pub nodata: Option<f64>,
}

impl RasterPlan {
    /// Writes one band; `value` is asked at the centre of each cell in local metres.
    pub fn write<T: GdalType + Copy>(&self, path: &Path, value: impl Fn(f64, f64) -> T) {
        let mut dataset = self.create(path, 1, value);
        if let Some(nodata) = self.nodata {
            let mut band = dataset.rasterband(1).unwrap();
            band.set_no_data_value(Some(nodata)).unwrap();
        }
        dataset.flush_cache().unwrap();
    }

    /// The same in several equal bands, for what is set on them afterwards.
    pub fn create<T: GdalType + Copy>(
        &self,
        path: &Path,
        bands: usize,
        value: impl Fn(f64, f64) -> T,
    ) -> Dataset {
        let epsg = if self.epsg == 0 { PLANE } else { self.epsg };
        let around = placed(&rectangle(self.west, self.south, self.east, self.north), epsg).envelope();
        let cols = cells((around.MaxX - around.MinX) / self.cell);
        let rows = cells((around.MaxY - around.MinY) / self.cell);
        let (mut x, mut y): (Vec<f64>, Vec<f64>) = (0..rows * cols)
            .map(|cell| {
                (
                    around.MinX + (index(cell % cols) + 0.5) * self.cell,
                    around.MaxY - (index(cell / cols) + 0.5) * self.cell,
                )
            })
            .unzip();
        if epsg != PLANE {
            let to_plane = CoordTransform::new(&system(epsg), &system(PLANE)).unwrap();
            to_plane.transform_coords(&mut x, &mut y, &mut []).unwrap();
        }
        let values = x.iter().zip(&y).map(|(x, y)| value(x - EAST_M, y - NORTH_M));
        let driver = DriverManager::get_driver_by_name("GTiff").unwrap();
        let mut dataset = driver
            .create_with_band_type::<T, _>(path, cols, rows, bands)
            .unwrap();
        dataset
            .set_geo_transform(&[around.MinX, self.cell, 0.0, around.MaxY, 0.0, -self.cell])
            .unwrap();
        if self.epsg != 0 {
            dataset.set_spatial_ref(&system(self.epsg)).unwrap();
        }
        let mut buffer = Buffer::new((cols, rows), values.collect::<Vec<T>>());
        for band in 1..=bands {
            let mut band = dataset.rasterband(band).unwrap();
            band.write((0, 0), (cols, rows), &mut buffer).unwrap();
        }
        dataset
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "small counts of cells"
)]
fn cells(count: f64) -> usize {
    (count - 1e-6).ceil() as usize
}

#[expect(clippy::cast_precision_loss, reason = "small counts of cells")]
fn index(cell: usize) -> f64 {
    cell as f64
}

/// Writes a project file with the catalogue of the sample site, unless `text` names
/// another.
pub fn write_project(folder: &Path, text: &str) -> PathBuf {
    let path = folder.join("project.toml");
    let catalogue = sample().join("catalogue");
    let text = text.replace("CATALOGUE", &catalogue.display().to_string());
    std::fs::write(&path, text).unwrap();
    path
}
