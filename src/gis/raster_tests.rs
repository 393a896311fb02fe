//! Small rasters written by GDAL and read back through the door.

use std::path::{Path, PathBuf};

use gdal::raster::{GdalType, RasterCreationOptions};
use gdal::spatial_ref::SpatialRef;
use gdal::{Dataset, DriverManager, Metadata};
use tempfile::TempDir;

use super::*;
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

#[test]
fn a_file_on_its_own_grid_comes_out_as_it_is() {
    let (_folder, path) = folder();
    PLAN.write::<u8>(&path, |row, col| (row * 10 + col) as u8).close().unwrap();
    let file = inspect_raster(&path).unwrap();
    assert_eq!((file.driver.as_str(), file.rows, file.cols), ("GTiff", 3, 4));
    assert_eq!(file.crs.as_ref().unwrap().code.as_deref(), Some("EPSG:26915"));
    assert_eq!((file.extent, file.cell_x, file.cell_y), (PLAN.extent(), 10.0, 10.0));
    assert!(!file.rotated && !file.point_cells && !file.is_picture());
    let band = &file.bands[0];
    assert!(band.is_byte && band.is_integer && band.says_nothing_of_missing());
    assert_eq!(file.files, [path.clone()]);
    for how in ALL {
        let cells = cells(&path, 1, how);
        for row in 0..3 {
            for col in 0..4 {
                assert_eq!(get(&cells, row, col), Some((row * 10 + col) as f32), "{how:?}");
            }
        }
    }
    let beside: Vec<_> = std::fs::read_dir(path.parent().unwrap()).unwrap().collect();
    assert_eq!(beside.len(), 1, "nothing may be written beside the data: {beside:?}");
}

#[test]
fn cells_outside_are_missing_and_no_error() {
    let (_folder, path) = folder();
    PLAN.write::<u8>(&path, |_, _| 7).close().unwrap();
    let file = inspect_raster(&path).unwrap();
    let reader = RasterReader::open(&file, 1, None, None).unwrap();
    for how in ALL {
        let wide = reader.read(&PLAN.extent().grown(10.0), 5, 6, &plane(), how).unwrap();
        assert_eq!((get(&wide, 0, 0), get(&wide, 1, 1)), (None, Some(7.0)), "{how:?}");
        assert_eq!(wide.values().iter().filter(|value| value.is_nan()).count(), 30 - 12);
        let away = Extent {
            west: 0.0,
            south: 0.0,
            east: 100.0,
            north: 100.0,
        };
        let away = reader.read(&away, 10, 10, &plane(), how).unwrap();
        assert!(away.values().iter().all(|value| value.is_nan()));
    }
}

#[test]
fn values_do_not_hang_on_how_the_grid_is_cut() {
    // Source cell and corner against a 5 m grid: finer, coarser, the same, and
    // shifted by parts of a cell.
    for (cell, shift) in [(2.0, 0.0), (2.0, 0.7), (30.0, 0.0), (30.0, 11.3), (5.0, 2.5), (1.0 / 3.0, 0.1)] {
        let (_folder, path) = folder();
        let cells = (240.0 / cell) as usize;
        let plan = Plan {
            west: 500_000.0 + shift,
            north: 4_980_000.0 - shift,
            cell,
            cols: cells,
            rows: cells,
            ..PLAN
        };
        let noise = |row: usize, col: usize| ((row * 7919 + col * 104_729) % 23) as i16;
        let mut dataset = plan.write::<i16>(&path, noise);
        dataset.rasterband(1).unwrap().set_no_data_value(Some(5.0)).unwrap();
        dataset.flush_cache().unwrap();
        dataset.close().unwrap();
        let file = inspect_raster(&path).unwrap();
        let reader = RasterReader::open(&file, 1, None, None).unwrap();
        let (west, north) = (499_990.0, 4_980_010.0);
        let extent = |row: usize, col: usize, size: usize| Extent {
            west: west + 5.0 * col as f64,
            south: north - 5.0 * (row + size) as f64,
            east: west + 5.0 * (col + size) as f64,
            north: north - 5.0 * row as f64,
        };
        for how in ALL {
            let whole = reader.read(&extent(0, 0, 52), 52, 52, &plane(), how).unwrap();
            assert!(whole.values().iter().any(|value| !value.is_nan()));
            for row in (0..52).step_by(13) {
                for col in (0..52).step_by(13) {
                    let tile = reader.read(&extent(row, col, 13), 13, 13, &plane(), how).unwrap();
                    for at in 0..13 {
                        let (whole, tile) = (&whole.row(row + at)[col..col + 13], tile.row(at));
                        let same = whole.iter().zip(tile).all(|(a, b)| a.to_bits() == b.to_bits());
                        assert!(same, "{how:?} {cell} {shift}: {whole:?} {tile:?}");
                    }
                }
            }
            if matches!(how, Resampling::Nearest | Resampling::Mode) {
                let codes = whole.values().iter().filter(|value| !value.is_nan());
                assert!(codes.clone().all(|code| code.fract() == 0.0 && *code != 5.0));
            }
        }
    }
}

#[test]
fn means_and_lines_between_are_what_they_should_be() {
    let (_folder, path) = folder();
    let plan = Plan {
        cell: 5.0,
        cols: 4,
        rows: 2,
        ..PLAN
    };
    plan.write::<f32>(&path, |_, col| [1.0, 2.0, 3.0, 10.0][col]).close().unwrap();
    let file = inspect_raster(&path).unwrap();
    let reader = RasterReader::open(&file, 1, None, None).unwrap();
    let mean = reader.read(&plan.extent(), 1, 2, &plane(), Resampling::Average).unwrap();
    assert_eq!(mean.values(), [1.5, 6.5]);
    // A row of cells half a cell to the east lies just between.
    let shifted = Extent {
        west: plan.west + 2.5,
        east: plan.west + 17.5,
        ..plan.extent()
    };
    let between = reader.read(&shifted, 2, 3, &plane(), Resampling::Bilinear).unwrap();
    assert_eq!(between.row(0), [1.5, 2.5, 6.5]);
    // A cell that covers one and a half source cells counts them by area.
    let part = Extent {
        west: plan.west + 10.0,
        east: plan.west + 17.5,
        ..plan.extent()
    };
    let mean = reader.read(&part, 1, 1, &plane(), Resampling::Average).unwrap();
    assert!((mean.values()[0] - (3.0 * 5.0 + 10.0 * 2.5) / 7.5).abs() < 1e-5, "{mean:?}");
}

#[test]
fn nodata_neither_comes_through_nor_leaks_into_neighbours() {
    for nodata in [0.0, -9999.0, f64::NAN, f64::from(f32::MIN)] {
        let (_folder, path) = folder();
        let dataset = PLAN.write::<f32>(&path, |row, col| {
            if (row, col) == (1, 1) { nodata as f32 } else { 100.0 }
        });
        dataset.rasterband(1).unwrap().set_no_data_value(Some(nodata)).unwrap();
        dataset.close().unwrap();
        for how in ALL {
            let cells = cells(&path, 1, how);
            assert_eq!(get(&cells, 1, 1), None, "{nodata} {how:?}");
            assert_eq!(get(&cells, 1, 2), Some(100.0), "{nodata} {how:?}");
            let file = inspect_raster(&path).unwrap();
            let reader = RasterReader::open(&file, 1, None, None).unwrap();
            for (rows, cols) in [(9, 12), (7, 5), (2, 2)] {
                let other = reader.read(&PLAN.extent(), rows, cols, &plane(), how).unwrap();
                let known = other.values().iter().filter(|value| !value.is_nan());
                assert!(known.clone().all(|value| *value == 100.0), "{nodata} {how:?} {other:?}");
            }
        }
    }
}

#[test]
fn nan_without_a_nodata_value_is_missing_too() {
    let (_folder, path) = folder();
    let dataset = PLAN.write::<f32>(&path, |row, col| match (row, col) {
        (1, 1) => f32::NAN,
        (2, 3) => f32::INFINITY,
        _ => 3.0,
    });
    dataset.close().unwrap();
    let found = cells(&path, 1, Resampling::Nearest);
    assert_eq!((get(&found, 1, 1), get(&found, 2, 3), get(&found, 0, 0)), (None, None, Some(3.0)));
    let file = inspect_raster(&path).unwrap();
    let reader = RasterReader::open(&file, 1, None, None).unwrap();
    let mean = reader.read(&PLAN.extent(), 1, 1, &plane(), Resampling::Average).unwrap();
    assert!(mean.values()[0].is_nan(), "infinity makes no mean: {mean:?}");
}

#[test]
fn the_users_nodata_takes_the_place_of_the_files() {
    let (_folder, path) = folder();
    let dataset = PLAN.write::<u8>(&path, |row, _| [1, 2, 255][row]);
    dataset.rasterband(1).unwrap().set_no_data_value(Some(1.0)).unwrap();
    dataset.close().unwrap();
    let file = inspect_raster(&path).unwrap();
    assert_eq!(file.bands[0].nodata, Some(1.0));
    let reader = RasterReader::open(&file, 1, None, Some(255.0)).unwrap();
    let cells = reader.read(&PLAN.extent(), 3, 4, &plane(), Resampling::Nearest).unwrap();
    assert_eq!((get(&cells, 0, 0), get(&cells, 1, 0), get(&cells, 2, 0)), (Some(1.0), Some(2.0), None));
}

#[test]
fn nodata_is_each_bands_own() {
    let (_folder, path) = folder();
    let dataset = PLAN.create::<i16>(&path, 2);
    for band in [1, 2] {
        PLAN.fill::<i16>(&dataset, band, |row, _| row as i16);
    }
    dataset.close().unwrap();
    // GeoTIFF has one value for all bands; a virtual raster has one for each.
    let bands = [1, 2].map(|band| {
        format!(
            "<VRTRasterBand dataType=\"Int16\" band=\"{band}\"><NoDataValue>{}</NoDataValue><SimpleSource>\
             <SourceFilename relativeToVRT=\"1\">canopy.tif</SourceFilename><SourceBand>{band}</SourceBand>\
             </SimpleSource></VRTRasterBand>",
            band - 1
        )
    });
    let both = path.with_file_name("both.vrt");
    let text = format!(
        "<VRTDataset rasterXSize=\"4\" rasterYSize=\"3\"><SRS>EPSG:26915</SRS>\
         <GeoTransform>500000, 10, 0, 4980000, 0, -10</GeoTransform>{}</VRTDataset>",
        bands.concat()
    );
    std::fs::write(&both, text).unwrap();
    for (band, missing) in [(1, 0), (2, 1)] {
        let cells = cells(&both, band, Resampling::Nearest);
        for row in 0..3 {
            assert_eq!(get(&cells, row, 2).is_none(), row == missing, "band {band}");
        }
    }
}

#[test]
fn scale_and_offset_are_applied_once() {
    let (_folder, path) = folder();
    let dataset = PLAN.write::<u8>(&path, |row, col| (row * 10 + col) as u8);
    let mut band = dataset.rasterband(1).unwrap();
    band.set_scale(0.1).unwrap();
    band.set_offset(-2.0).unwrap();
    band.set_no_data_value(Some(23.0)).unwrap();
    drop(band);
    dataset.close().unwrap();
    let file = inspect_raster(&path).unwrap();
    assert_eq!((file.bands[0].scale, file.bands[0].offset), (0.1, -2.0));
    let cells = cells(&path, 1, Resampling::Bilinear);
    assert_eq!((get(&cells, 1, 2), get(&cells, 2, 3)), (Some(-0.8), None));
}

#[test]
fn masks_and_alpha_bands_tell_what_is_missing() {
    let (_folder, path) = folder();
    let dataset = PLAN.write::<u8>(&path, |_, _| 9);
    let mut band = dataset.rasterband(1).unwrap();
    band.create_mask_band(true).unwrap();
    let values = vec![255_u8; 11].into_iter().chain([0]).collect();
    let mut buffer = gdal::raster::Buffer::new((4, 3), values);
    let mut mask = band.open_mask_band().unwrap();
    mask.write((0, 0), (4, 3), &mut buffer).unwrap();
    drop(mask);
    drop(band);
    dataset.close().unwrap();
    let alpha = path.with_file_name("alpha.tif");
    let driver = DriverManager::get_driver_by_name("GTiff").unwrap();
    let options = RasterCreationOptions::from_iter(["ALPHA=YES"]);
    let mut dataset = driver
        .create_with_band_type_with_options::<u8, _>(&alpha, 4, 3, 2, &options)
        .unwrap();
    dataset
        .set_geo_transform(&[500_000.0, 10.0, 0.0, 4_980_000.0, 0.0, -10.0])
        .unwrap();
    dataset
        .set_spatial_ref(&SpatialRef::from_epsg(26915).unwrap())
        .unwrap();
    PLAN.fill::<u8>(&dataset, 1, |_, _| 9);
    PLAN.fill::<u8>(&dataset, 2, |row, col| match (row, col) {
        (2, 3) => 0,
        (0, 0) => 100,
        _ => 255,
    });
    dataset.close().unwrap();
    for path in [path, alpha] {
        let file = inspect_raster(&path).unwrap();
        assert!(file.bands[0].has_mask && !file.bands[0].says_nothing_of_missing(), "{path:?}");
        for how in ALL {
            let cells = cells(&path, 1, how);
            assert_eq!(get(&cells, 2, 3), None, "{path:?} {how:?}");
            let known = cells.values().iter().filter(|value| **value == 9.0).count();
            assert_eq!(known, 11, "{path:?} {how:?}");
        }
    }
}

#[test]
fn pictures_are_known_as_such() {
    let (_folder, path) = folder();
    let driver = DriverManager::get_driver_by_name("GTiff").unwrap();
    let options = RasterCreationOptions::from_iter(["PHOTOMETRIC=RGB"]);
    let mut dataset = driver
        .create_with_band_type_with_options::<u8, _>(&path, 4, 3, 3, &options)
        .unwrap();
    dataset
        .set_geo_transform(&[500_000.0, 10.0, 0.0, 4_980_000.0, 0.0, -10.0])
        .unwrap();
    dataset.close().unwrap();
    let file = inspect_raster(&path).unwrap();
    assert!(file.is_picture());
    assert_eq!(file.bands[2].colour, Some(Colour::Blue));
    let error = RasterReader::open(&file, 4, Some(&plane()), None).unwrap_err();
    assert!(matches!(error, GisError::NoBand { band: 4, bands: 3, .. }));
    assert!(RasterReader::open(&file, 0, Some(&plane()), None).is_err());
}

#[test]
fn a_file_without_a_system_needs_one_said() {
    let (_folder, path) = folder();
    let plan = Plan { crs: None, ..PLAN };
    plan.write::<u8>(&path, |_, _| 1).close().unwrap();
    let file = inspect_raster(&path).unwrap();
    assert_eq!(file.crs, None);
    let error = RasterReader::open(&file, 1, None, None).unwrap_err().to_string();
    assert!(error.contains("canopy.tif has no coordinate reference system"), "{error}");
    assert!(error.contains("crs = \"EPSG:...\""), "{error}");
    let reader = RasterReader::open(&file, 1, Some(&plane()), None).unwrap();
    let cells = reader.read(&plan.extent(), 3, 4, &plane(), Resampling::Mode).unwrap();
    assert_eq!(get(&cells, 0, 0), Some(1.0));
}

#[test]
fn degrees_declared_as_metres_are_doubted() {
    let (_folder, path) = folder();
    let plan = Plan {
        west: -93.2,
        north: 45.0,
        cell: 0.001,
        ..PLAN
    };
    plan.write::<u8>(&path, |_, _| 1).close().unwrap();
    assert!(inspect_raster(&path).unwrap().doubt.unwrap().contains("look like degrees"));
}

#[test]
fn what_is_not_there_or_no_raster_is_said_so() {
    let (folder, path) = folder();
    let error = inspect_raster(&path).unwrap_err();
    assert!(matches!(error, GisError::NotFound { .. }), "{error}");
    let error = inspect_raster(Path::new("/vsizip/nowhere.zip/a.tif")).unwrap_err();
    assert!(error.to_string().contains("nowhere.zip"), "{error}");
    std::fs::write(&path, "no raster at all").unwrap();
    let error = inspect_raster(&path).unwrap_err();
    assert!(matches!(error, GisError::NotRaster { .. }), "{error}");
    assert!(error.to_string().contains("not recognized"), "{error}");
    std::fs::remove_file(&path).unwrap();
    let error = inspect_raster(folder.path()).unwrap_err();
    assert!(matches!(error, GisError::NoTiles { .. }), "{error}");
}

#[test]
fn a_raster_without_a_position_is_refused() {
    let (_folder, path) = folder();
    let driver = DriverManager::get_driver_by_name("GTiff").unwrap();
    driver.create_with_band_type::<u8, _>(&path, 4, 3, 1).unwrap().close().unwrap();
    let error = inspect_raster(&path).unwrap_err();
    assert!(matches!(error, GisError::NoPosition { .. }), "{error}");
}

#[test]
fn a_cut_off_file_is_an_error_that_names_it() {
    let (_folder, path) = folder();
    let plan = Plan {
        cols: 300,
        rows: 300,
        ..PLAN
    };
    plan.write::<f32>(&path, |row, col| (row * col) as f32).close().unwrap();
    let whole = std::fs::read(&path).unwrap();
    let mut errors = 0;
    for share in 0..40 {
        std::fs::write(&path, &whole[..whole.len() * share / 40]).unwrap();
        let read = inspect_raster(&path).and_then(|file| {
            let reader = RasterReader::open(&file, 1, Some(&plane()), None)?;
            reader.read(&plan.extent(), 300, 300, &plane(), Resampling::Bilinear)
        });
        if let Err(error) = read {
            assert!(error.to_string().contains("canopy.tif"), "{error}");
            errors += 1;
        }
    }
    assert_eq!(errors, 40, "no cut-off file may be read as if it were whole");
    // The part that is there can still be read, and the part that is not names
    // where it lies.
    std::fs::write(&path, &whole[..whole.len() / 2]).unwrap();
    if let Ok(file) = inspect_raster(&path) {
        let reader = RasterReader::open(&file, 1, None, None).unwrap();
        let error = reader
            .read(&plan.extent(), 300, 300, &plane(), Resampling::Nearest)
            .unwrap_err()
            .to_string();
        assert!(error.contains("band 1") && error.contains("y 4977000 to 4980000"), "{error}");
    }
}

#[test]
fn codes_too_large_to_be_held_exactly_are_refused() {
    let (_folder, path) = folder();
    PLAN.write::<i32>(&path, |row, _| [16_777_216, 2, 33_554_433][row]).close().unwrap();
    let file = inspect_raster(&path).unwrap();
    let reader = RasterReader::open(&file, 1, None, None).unwrap();
    let top = Extent {
        south: PLAN.north - 20.0,
        ..PLAN.extent()
    };
    let cells = reader.read(&top, 2, 4, &plane(), Resampling::Mode).unwrap();
    assert_eq!(get(&cells, 0, 0), Some(16_777_216.0));
    let error = reader.read(&PLAN.extent(), 3, 4, &plane(), Resampling::Nearest).unwrap_err();
    assert!(matches!(error, GisError::CodeTooLarge { code: 33_554_433.0, .. }), "{error}");
}

#[test]
fn a_folder_of_tiles_is_one_raster_with_gaps_missing() {
    let (folder, _) = folder();
    for (name, west, value) in [("a.tif", 500_000.0, 1), ("b.tif", 500_050.0, 2)] {
        let plan = Plan { west, ..PLAN };
        plan.write::<u8>(&folder.path().join(name), |row, col| {
            if (row, col) == (0, 0) { 0 } else { value }
        })
        .close()
        .unwrap();
    }
    std::fs::write(folder.path().join("notes.txt"), "not a tile").unwrap();
    let file = inspect_raster(folder.path()).unwrap();
    assert_eq!((file.rows, file.cols, file.tile_count(), file.files.len()), (3, 9, 2, 2));
    assert_eq!((file.extent.west, file.extent.east), (500_000.0, 500_090.0));
    for how in ALL {
        let cells = cells(folder.path(), 1, how);
        assert_eq!(get(&cells, 0, 0), Some(0.0), "a zero is a value where nothing says otherwise");
        assert_eq!((get(&cells, 1, 3), get(&cells, 1, 4), get(&cells, 1, 5)), (Some(1.0), None, Some(2.0)));
    }
    let reader = RasterReader::open(&file, 1, None, Some(0.0)).unwrap();
    let cells = reader.read(&file.extent, 3, 9, &plane(), Resampling::Average).unwrap();
    assert_eq!((get(&cells, 0, 0), get(&cells, 0, 5), get(&cells, 0, 1)), (None, None, Some(1.0)));
}

#[test]
fn tiles_with_nodata_of_their_own() {
    let (folder, _) = folder();
    for (name, north, nodata) in [("a.tif", 4_980_000.0, -9999.0), ("b & c.tif", 4_980_030.0, -32768.0)] {
        let plan = Plan { north, ..PLAN };
        let dataset = plan.write::<f32>(&folder.path().join(name), |_, col| {
            if col == 1 { nodata as f32 } else { 4.0 }
        });
        dataset.rasterband(1).unwrap().set_no_data_value(Some(nodata)).unwrap();
        dataset.close().unwrap();
    }
    let cells = cells(folder.path(), 1, Resampling::Bilinear);
    assert_eq!(cells.rows(), 6);
    for row in 0..6 {
        assert_eq!((get(&cells, row, 0), get(&cells, row, 1)), (Some(4.0), None), "row {row}");
    }
}

#[test]
fn tiles_that_do_not_fit_are_named() {
    let odd = |plan: &Plan, write: &dyn Fn(&Plan, &Path)| {
        let (folder, _) = folder();
        PLAN.write::<u8>(&folder.path().join("a.tif"), |_, _| 1).close().unwrap();
        write(plan, &folder.path().join("odd.tif"));
        inspect_raster(folder.path()).unwrap_err().to_string()
    };
    let bytes = |plan: &Plan, path: &Path| plan.write::<u8>(path, |_, _| 1).close().unwrap();
    let east = 500_040.0;
    for (plan, words) in [
        (Plan { crs: Some("EPSG:26916"), west: east, ..PLAN }, "coordinate reference system"),
        (Plan { crs: None, west: east, ..PLAN }, "coordinate reference system is none"),
        (Plan { cell: 5.0, west: east, ..PLAN }, "cell size is 5 x -5"),
        (Plan { west: east + 3.0, ..PLAN }, "0.30 and 0.00 cells off"),
    ] {
        let error = odd(&plan, &bytes);
        assert!(error.contains("odd.tif does not fit") && error.contains(words), "{error}");
    }
    let floats = |plan: &Plan, path: &Path| plan.write::<f32>(path, |_, _| 1.0).close().unwrap();
    let error = odd(&Plan { west: east, ..PLAN }, &floats);
    assert!(error.contains("1 of Float32, that of"), "{error}");
}

#[test]
fn values_that_hold_for_points_lie_around_them() {
    let (_folder, path) = folder();
    let mut dataset = PLAN.write::<u8>(&path, |row, col| (row * 10 + col) as u8);
    dataset.set_metadata_item("AREA_OR_POINT", "Point", "").unwrap();
    dataset.close().unwrap();
    let file = inspect_raster(&path).unwrap();
    assert!(file.point_cells);
    // GDAL has settled where the cells lie: the corner is where it was written.
    assert_eq!(file.extent, PLAN.extent());
    // In a list of points the first one is the centre of the first cell.
    let list = path.with_file_name("points.xyz");
    std::fs::write(&list, "500005 4979995 1\n500015 4979995 2\n500005 4979985 3\n500015 4979985 4\n").unwrap();
    let file = inspect_raster(&list).unwrap();
    assert!(file.point_cells);
    assert_eq!((file.extent.west, file.extent.north), (500_000.0, 4_980_000.0));
    let reader = RasterReader::open(&file, 1, Some(&plane()), None).unwrap();
    let cells = reader.read(&file.extent, 2, 2, &plane(), Resampling::Nearest).unwrap();
    assert_eq!(cells.values(), [1.0, 2.0, 3.0, 4.0]);
}

#[test]
fn rotated_rasters_come_out_straight() {
    let (_folder, path) = folder();
    let mut dataset = PLAN.write::<u8>(&path, |row, col| (row * 10 + col + 1) as u8);
    // Columns to the south, rows to the east: a quarter turn.
    dataset
        .set_geo_transform(&[500_000.0, 0.0, 10.0, 4_980_000.0, -10.0, 0.0])
        .unwrap();
    dataset.close().unwrap();
    let file = inspect_raster(&path).unwrap();
    assert!(file.rotated);
    assert_eq!((file.extent.width(), file.extent.height()), (30.0, 40.0));
    let reader = RasterReader::open(&file, 1, None, None).unwrap();
    for how in ALL {
        let cells = reader.read(&file.extent, 4, 3, &plane(), how).unwrap();
        for row in 0..4 {
            for col in 0..3 {
                assert_eq!(get(&cells, row, col), Some((col * 10 + row + 1) as f32), "{how:?}");
            }
        }
    }
}

#[test]
fn another_system_is_read_as_gdalwarp_reads_it() {
    let (folder, path) = folder();
    let plan = Plan {
        west: -93.01,
        north: 45.01,
        cell: 0.0002,
        cols: 120,
        rows: 100,
        crs: Some("EPSG:4269"),
    };
    let dataset = plan.write::<f32>(&path, |row, col| {
        if row % 31 == 3 && col % 17 < 4 { -9999.0 } else { (row as f32).mul_add(0.5, (col as f32 / 9.0).sin()) }
    });
    dataset.rasterband(1).unwrap().set_no_data_value(Some(-9999.0)).unwrap();
    dataset.close().unwrap();
    let file = inspect_raster(&path).unwrap();
    let reader = RasterReader::open(&file, 1, None, None).unwrap();
    assert!(!reader.told(&plane()).unwrap().same);
    let extent = Extent {
        west: 499_200.0,
        south: 4_981_900.0,
        east: 501_200.0,
        north: 4_984_200.0,
    };
    let out = folder.path().join("warped.tif");
    for (how, name, cell) in [
        (Resampling::Nearest, "near", 10.0),
        (Resampling::Bilinear, "bilinear", 5.0),
        (Resampling::Average, "average", 50.0),
        (Resampling::Mode, "mode", 50.0),
    ] {
        let (rows, cols) = ((2300.0 / cell) as usize, (2000.0 / cell) as usize);
        let ours = reader.read(&extent, rows, cols, &plane(), how).unwrap();
        let edges = [extent.west, extent.south, extent.east, extent.north].map(|edge| edge.to_string());
        let run = std::process::Command::new("gdalwarp")
            .args(["-q", "-overwrite", "-t_srs", "EPSG:26915", "-r", name, "-dstnodata", "nan", "-te"])
            .args(edges)
            .args(["-tr", &cell.to_string(), &cell.to_string()])
            .args([&path, &out])
            .status();
        let Ok(status) = run else {
            eprintln!("gdalwarp is not installed: not compared");
            return;
        };
        assert!(status.success());
        let theirs = Dataset::open(&out).unwrap();
        let theirs = theirs.rasterband(1).unwrap().read_band_as::<f32>().unwrap();
        assert_eq!(theirs.data().len(), ours.values().len());
        let differ = ours
            .values()
            .iter()
            .zip(theirs.data())
            .filter(|(a, b)| a.is_nan() != b.is_nan() || (*a - *b).abs() > 0.02)
            .count();
        // Both are approximate by an eighth of a source cell, at other places.
        assert!(differ * 100 < ours.values().len(), "{name}: {differ} of {}", ours.values().len());
        let known = ours.values().iter().filter(|value| !value.is_nan()).count();
        assert!(known * 2 > ours.values().len(), "{name}");
    }
}

#[test]
fn each_thread_reads_the_same() {
    let (_folder, path) = folder();
    let plan = Plan {
        cols: 64,
        rows: 64,
        ..PLAN
    };
    plan.write::<f32>(&path, |row, col| (row * 64 + col) as f32).close().unwrap();
    let file = inspect_raster(&path).unwrap();
    let read = || {
        let reader = RasterReader::open(&file, 1, None, None).unwrap();
        bits(&reader.read(&plan.extent(), 50, 50, &plane(), Resampling::Bilinear).unwrap())
    };
    let here = read();
    std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4).map(|_| scope.spawn(read)).collect();
        for thread in threads {
            assert_eq!(thread.join().unwrap(), here);
        }
    });
}
