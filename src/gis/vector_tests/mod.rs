//! Small vector files read through the door.

mod asked_for;
mod fields;
mod files;
mod places;
mod shapes;

use std::path::{Path, PathBuf};

use gdal::DriverManager;
use gdal::spatial_ref::SpatialRef;
use gdal::vector::{Geometry, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType};
use geo::Area;
use tempfile::TempDir;

use super::*;
use crate::grid::{Crs, Extent};

fn plane() -> Crs {
    crs_from_text("EPSG:26915").unwrap()
}

fn query<'a>(path: &'a Path, to: &'a Crs) -> VectorQuery<'a> {
    VectorQuery {
        path,
        layer: None,
        filter: None,
        fields: &[],
        crs_override: None,
        to,
        within: None,
    }
}

fn file(name: &str, text: &[u8]) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, text).unwrap();
    (folder, path)
}

fn geojson(features: &str) -> (TempDir, PathBuf) {
    let text = format!("{{\"type\":\"FeatureCollection\",\"features\":[{features}]}}");
    file("soils.geojson", text.as_bytes())
}

fn square(west: f64, south: f64, side: f64) -> String {
    let (east, north) = (west + side, south + side);
    format!("POLYGON (({west} {south}, {east} {south}, {east} {north}, {west} {north}, {west} {south}))")
}

/// Writes a layer of geometries in EPSG:26915 with a text and a number field.
fn write(driver: &str, path: &Path, layer: &str, srs: Option<u32>, shapes: &[&str]) {
    super::messages::start_once();
    // A file geodatabase has one kind of geometry a layer.
    let ty = match driver {
        "OpenFileGDB" => OGRwkbGeometryType::wkbPolygon,
        _ => OGRwkbGeometryType::wkbUnknown,
    };
    let driver = DriverManager::get_driver_by_name(driver).unwrap();
    let mut dataset = driver.create_vector_only(path).unwrap();
    let srs = srs.map(|code| SpatialRef::from_epsg(code).unwrap());
    let layer = dataset
        .create_layer(LayerOptions {
            name: layer,
            srs: srs.as_ref(),
            ty,
            options: None,
        })
        .unwrap();
    layer
        .create_defn_fields(&[("MUKEY", OGRFieldType::OFTString), ("ph", OGRFieldType::OFTReal)])
        .unwrap();
    for (number, shape) in shapes.iter().enumerate() {
        let mut feature = gdal::vector::Feature::new(layer.defn()).unwrap();
        feature.set_geometry(Geometry::from_wkt(shape).unwrap()).unwrap();
        feature.set_field_string(0, &format!("00{number}")).unwrap();
        feature.set_field_double(1, 6.5).unwrap();
        feature.create(&layer).unwrap();
    }
}
