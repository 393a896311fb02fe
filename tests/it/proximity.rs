//! Distances against GDAL's proximity, which counts from the nearest burned cell
//! and so can be off by as much as a burned cell reaches. All data here is invented.

#![allow(
    clippy::unwrap_used,
    reason = "functions outside the test functions are tests too"
)]

use gdal::raster::{RasterizeOptions, rasterize};
use gdal::vector::Geometry;
use gdal::{Dataset, DriverManager};
use geo::LineString;
use groundfit::grid::{CellIndex, Crs, Extent, Grid};
use groundfit::site::distance::DistanceIndex;
use proptest::prelude::*;

const CELLS: usize = 120;
const SIDE_M: f64 = 600.0;
const CELL_M: f64 = 5.0;
const WEST: f64 = 500_000.0;
const NORTH: f64 = 4_900_000.0;

fn band<T: gdal::raster::GdalType>() -> Dataset {
    let memory = DriverManager::get_driver_by_name("MEM").unwrap();
    let mut dataset = memory.create_with_band_type::<T, _>("", CELLS, CELLS, 1).unwrap();
    dataset
        .set_geo_transform(&[WEST, CELL_M, 0.0, NORTH, 0.0, -CELL_M])
        .unwrap();
    dataset
}

/// Distances in metres from the nearest cell that the line touches.
#[allow(unsafe_code, reason = "the gdal crate has no safe call for proximity")]
fn proximity_by_gdal(line: &LineString<f64>) -> Vec<f32> {
    let points: Vec<String> = line
        .coords()
        .map(|point| format!("{} {}", point.x, point.y))
        .collect();
    let text = format!("LINESTRING({})", points.join(","));
    let mut burned = band::<u8>();
    let options = RasterizeOptions {
        all_touched: true,
        ..RasterizeOptions::default()
    };
    let geometry = Geometry::from_wkt(&text).unwrap();
    rasterize(&mut burned, &[1], &[geometry], &[1.0], Some(options)).unwrap();
    let distances = band::<f32>();
    let units = c"DISTUNITS=GEO".as_ptr().cast_mut();
    let mut settings = [units, std::ptr::null_mut()];
    // SAFETY: both datasets outlive the call and have a first band; the settings are
    // texts that end in a zero byte, in a list that ends in a null pointer, and GDAL
    // only reads them.
    let failed = unsafe {
        let from = gdal_sys::GDALGetRasterBand(burned.c_dataset(), 1);
        let to = gdal_sys::GDALGetRasterBand(distances.c_dataset(), 1);
        gdal_sys::GDALComputeProximity(from, to, settings.as_mut_ptr(), None, std::ptr::null_mut())
    };
    assert_eq!(failed, gdal_sys::CPLErr::CE_None);
    let read = distances.rasterband(1).unwrap();
    let size = (CELLS, CELLS);
    read.read_as::<f32>((0, 0), size, size, None)
        .unwrap()
        .data()
        .to_vec()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(40) })]

    /// A touched cell's centre lies at most half a diagonal from the line, 0.71 cells;
    /// GDAL's sweep over rows adds less than the rest of one cell.
    #[test]
    fn distances_are_those_of_gdal_to_a_cell(corners in proptest::collection::vec((0.0..SIDE_M, 0.0..SIDE_M), 2..8)) {
        let line: LineString<f64> = corners.iter().map(|(x, y)| (WEST + x, NORTH - y)).collect();
        let extent = Extent { west: WEST, south: NORTH - SIDE_M, east: WEST + SIDE_M, north: NORTH };
        let crs = Crs { wkt: String::new(), name: "plane".to_owned(), code: None };
        let grid = Grid::covering(&extent, CELL_M, crs).unwrap();
        prop_assert_eq!((grid.rows(), grid.cols()), (CELLS, CELLS));
        let ours = DistanceIndex::new(&grid, &[line.clone().into()], 2.0 * SIDE_M).unwrap().distances(grid.window());
        let theirs = proximity_by_gdal(&line);
        for row in 0..CELLS {
            for col in 0..CELLS {
                let found = f64::from(ours.get(CellIndex { row, col }).unwrap());
                let wanted = f64::from(theirs[row * CELLS + col]);
                prop_assert!((found - wanted).abs() <= CELL_M, "row {} column {}: {} against {}", row, col, found, wanted);
            }
        }
    }
}
