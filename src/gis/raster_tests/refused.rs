//! Files that are refused or doubted, and what is said.

use std::path::Path;

use gdal::DriverManager;
use gdal::raster::RasterCreationOptions;

use super::{PLAN, Plan, folder, get, plane};
use crate::gis::{Colour, GisError, RasterReader, Resampling, inspect_raster};
use crate::grid::Extent;

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
    assert!(matches!(
        error,
        GisError::NoBand {
            band: 4,
            bands: 3,
            ..
        }
    ));
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
    assert!(
        error.contains("canopy.tif has no coordinate reference system"),
        "{error}"
    );
    assert!(error.contains("crs = \"EPSG:...\""), "{error}");
    let reader = RasterReader::open(&file, 1, Some(&plane()), None).unwrap();
    let cells = reader
        .read(&plan.extent(), 3, 4, &plane(), Resampling::Mode)
        .unwrap();
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
    assert!(
        inspect_raster(&path)
            .unwrap()
            .doubt
            .unwrap()
            .contains("look like degrees")
    );
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
    driver
        .create_with_band_type::<u8, _>(&path, 4, 3, 1)
        .unwrap()
        .close()
        .unwrap();
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
    plan.write::<f32>(&path, |row, col| (row * col) as f32)
        .close()
        .unwrap();
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
        assert!(
            error.contains("band 1") && error.contains("y 4977000 to 4980000"),
            "{error}"
        );
    }
}

#[test]
fn codes_too_large_to_be_held_exactly_are_refused() {
    let (_folder, path) = folder();
    PLAN.write::<i32>(&path, |row, _| [16_777_216, 2, 33_554_433][row])
        .close()
        .unwrap();
    let file = inspect_raster(&path).unwrap();
    let reader = RasterReader::open(&file, 1, None, None).unwrap();
    let top = Extent {
        south: PLAN.north - 20.0,
        ..PLAN.extent()
    };
    let cells = reader.read(&top, 2, 4, &plane(), Resampling::Mode).unwrap();
    assert_eq!(get(&cells, 0, 0), Some(16_777_216.0));
    let error = reader
        .read(&PLAN.extent(), 3, 4, &plane(), Resampling::Nearest)
        .unwrap_err();
    assert!(
        matches!(
            error,
            GisError::CodeTooLarge {
                code: 33_554_433.0,
                ..
            }
        ),
        "{error}"
    );
}

#[test]
fn changed_bytes_never_bring_the_program_down() {
    let (_folder, path) = folder();
    let dataset = PLAN.write::<i16>(&path, |row, col| (row * col) as i16);
    dataset.close().unwrap();
    let whole = std::fs::read(&path).unwrap();
    let mut state = 1_u64;
    let mut next = |below: usize| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % below
    };
    for _ in 0..400 {
        let mut bytes = whole.clone();
        for _ in 0..=next(3) {
            let at = next(bytes.len());
            bytes[at] = next(256) as u8;
        }
        std::fs::write(&path, bytes).unwrap();
        let read = inspect_raster(&path).and_then(|file| {
            let reader = RasterReader::open(&file, 1, Some(&plane()), None)?;
            reader.read(&PLAN.extent(), 3, 4, &plane(), Resampling::Average)
        });
        if let Err(error) = read {
            assert!(error.to_string().contains("canopy.tif"), "{error}");
        }
    }
}
