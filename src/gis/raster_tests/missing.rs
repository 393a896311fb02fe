//! What is missing, and what is measured, of the values in a file.

use gdal::DriverManager;
use gdal::raster::RasterCreationOptions;
use gdal::spatial_ref::SpatialRef;

use super::{ALL, PLAN, cells, folder, get, plane};
use crate::gis::{RasterReader, Resampling, inspect_raster};
use crate::grid::Extent;

#[test]
fn cells_outside_are_missing_and_no_error() {
    let (_folder, path) = folder();
    PLAN.write::<u8>(&path, |_, _| 7).close().unwrap();
    let file = inspect_raster(&path).unwrap();
    let reader = RasterReader::open(&file, 1, None, None).unwrap();
    for how in ALL {
        let wide = reader
            .read(&PLAN.extent().grown(10.0), 5, 6, &plane(), how)
            .unwrap();
        assert_eq!((get(&wide, 0, 0), get(&wide, 1, 1)), (None, Some(7.0)), "{how:?}");
        assert_eq!(
            wide.values().iter().filter(|value| value.is_nan()).count(),
            30 - 12
        );
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
fn nodata_neither_comes_through_nor_leaks_into_neighbours() {
    for nodata in [0.0, -9999.0, f64::NAN, f64::from(f32::MIN)] {
        let (_folder, path) = folder();
        let dataset = PLAN.write::<f32>(&path, |row, col| {
            if (row, col) == (1, 1) {
                nodata as f32
            } else {
                100.0
            }
        });
        dataset
            .rasterband(1)
            .unwrap()
            .set_no_data_value(Some(nodata))
            .unwrap();
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
                assert!(
                    known.clone().all(|value| *value == 100.0),
                    "{nodata} {how:?} {other:?}"
                );
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
    assert_eq!(
        (get(&found, 1, 1), get(&found, 2, 3), get(&found, 0, 0)),
        (None, None, Some(3.0))
    );
    let file = inspect_raster(&path).unwrap();
    let reader = RasterReader::open(&file, 1, None, None).unwrap();
    let mean = reader
        .read(&PLAN.extent(), 1, 1, &plane(), Resampling::Average)
        .unwrap();
    assert!(mean.values()[0].is_nan(), "infinity makes no mean: {mean:?}");
}

#[test]
fn the_users_nodata_takes_the_place_of_the_files() {
    let (_folder, path) = folder();
    let dataset = PLAN.write::<u8>(&path, |row, _| [1, 2, 255][row]);
    dataset
        .rasterband(1)
        .unwrap()
        .set_no_data_value(Some(1.0))
        .unwrap();
    dataset.close().unwrap();
    let file = inspect_raster(&path).unwrap();
    assert_eq!(file.bands[0].nodata, Some(1.0));
    let reader = RasterReader::open(&file, 1, None, Some(255.0)).unwrap();
    let cells = reader
        .read(&PLAN.extent(), 3, 4, &plane(), Resampling::Nearest)
        .unwrap();
    assert_eq!(
        (get(&cells, 0, 0), get(&cells, 1, 0), get(&cells, 2, 0)),
        (Some(1.0), Some(2.0), None)
    );
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
        assert!(
            file.bands[0].has_mask && !file.bands[0].says_nothing_of_missing(),
            "{path:?}"
        );
        for how in ALL {
            let cells = cells(&path, 1, how);
            assert_eq!(get(&cells, 2, 3), None, "{path:?} {how:?}");
            let known = cells.values().iter().filter(|value| **value == 9.0).count();
            assert_eq!(known, 11, "{path:?} {how:?}");
        }
    }
}

#[test]
fn side_files_are_read_and_not_written() {
    let (folder, path) = folder();
    PLAN.write::<u8>(&path, |row, _| [0, 1, 2][row]).close().unwrap();
    let side = path.with_file_name("canopy.tif.aux.xml");
    let text = "<PAMDataset><PAMRasterBand band=\"1\"><NoDataValue>2</NoDataValue><CategoryNames>\
                <Category>meadow</Category><Category></Category><Category>wood</Category></CategoryNames>\
                </PAMRasterBand></PAMDataset>";
    std::fs::write(&side, text).unwrap();
    let file = inspect_raster(&path).unwrap();
    let named: Vec<_> = file.bands[0]
        .classes
        .iter()
        .map(|(code, name)| (*code, name.as_str()))
        .collect();
    assert_eq!(named, [(0.0, "meadow"), (2.0, "wood")]);
    assert_eq!(file.files, [path.clone(), side.clone()]);
    let cells = cells(&path, 1, Resampling::Mode);
    assert_eq!((get(&cells, 1, 0), get(&cells, 2, 0)), (Some(1.0), None));
    assert_eq!(std::fs::read_to_string(&side).unwrap(), text);
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
}

#[test]
fn tables_of_attributes_name_classes_by_their_code() {
    let (_folder, path) = folder();
    PLAN.write::<u8>(&path, |_, _| 41).close().unwrap();
    let field = |name: &str, kind: u8, usage: u8| {
        format!(
            "<FieldDefn index=\"0\"><Name>{name}</Name><Type>{kind}</Type><Usage>{usage}</Usage></FieldDefn>"
        )
    };
    let text = format!(
        "<PAMDataset><PAMRasterBand band=\"1\"><GDALRasterAttributeTable>{}{}\
         <Row index=\"0\"><F>41</F><F>wood</F></Row><Row index=\"1\"><F>95</F><F>marsh</F></Row>\
         </GDALRasterAttributeTable></PAMRasterBand></PAMDataset>",
        field("Value", 0, 5),
        field("Class", 2, 2)
    );
    std::fs::write(path.with_file_name("canopy.tif.aux.xml"), text).unwrap();
    let file = inspect_raster(&path).unwrap();
    let classes = [(41.0, "wood".to_owned()), (95.0, "marsh".to_owned())];
    assert_eq!(file.bands[0].classes, classes);
}
