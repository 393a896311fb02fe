//! Cells read as they lie on the grid against the same cells through the warper, and
//! blocks that cannot be read.

use std::path::{Path, PathBuf};

use gdal::raster::{Buffer, GdalType, RasterCreationOptions};
use gdal::spatial_ref::SpatialRef;
use gdal::{Dataset, DriverManager};

use super::{bits, folder, plane};
use crate::gis::plain_cells::lies_on;
use crate::gis::{Affine, RasterReader, RasterSource, Resampling, inspect_raster};
use crate::grid::Extent;

const WEST: f64 = 500_000.0;
const NORTH: f64 = 4_980_000.0;
const CELL: f64 = 5.0;
const ROWS: usize = 700;
const COLS: usize = 1100;

/// A number for a place that shows no pattern.
fn mixed(row: usize, col: usize) -> u32 {
    let mixed = (row as u64 * 1_000_003 + col as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    (mixed >> 40) as u32
}

fn create<T: GdalType + Copy>(
    path: &Path,
    west: f64,
    options: &[&str],
    value: impl Fn(usize, usize) -> T,
) -> Dataset {
    crate::gis::messages::start_once();
    let driver = DriverManager::get_driver_by_name("GTiff").unwrap();
    let options = options.iter().copied().collect::<RasterCreationOptions>();
    let mut dataset = driver
        .create_with_band_type_with_options::<T, _>(path, COLS, ROWS, 1, &options)
        .unwrap();
    dataset
        .set_geo_transform(&[west, CELL, 0.0, NORTH, 0.0, -CELL])
        .unwrap();
    dataset
        .set_spatial_ref(&SpatialRef::from_definition("EPSG:26915").unwrap())
        .unwrap();
    let values = (0..ROWS * COLS)
        .map(|cell| value(cell / COLS, cell % COLS))
        .collect();
    let mut buffer = Buffer::new((COLS, ROWS), values);
    let mut band = dataset.rasterband(1).unwrap();
    band.write((0, 0), (COLS, ROWS), &mut buffer).unwrap();
    dataset
}

const TILED: [&str; 4] = ["TILED=YES", "BLOCKXSIZE=64", "BLOCKYSIZE=128", "COMPRESS=DEFLATE"];

/// First row, first column, rows, columns: within, over each edge and corner, around
/// all, and beside.
const WINDOWS: [(i32, i32, usize, usize); 9] = [
    (0, 0, 512, 512),
    (511, 511, 189, 514),
    (-1, -1, 514, 514),
    (300, 1000, 514, 514),
    (600, -400, 514, 514),
    (100, 200, 1, 1),
    (-10, -10, 720, 1120),
    (-600, 0, 514, 514),
    (0, 1100, 4, 4),
];

fn extent((row, col, rows, cols): (i32, i32, usize, usize)) -> Extent {
    let (west, north) = (WEST + f64::from(col) * CELL, NORTH - f64::from(row) * CELL);
    Extent {
        west,
        south: north - rows as f64 * CELL,
        east: west + cols as f64 * CELL,
        north,
    }
}

/// Reads all windows both ways, twice as cells come from memory the second time.
fn same_both_ways(path: &Path, nodata: Option<f64>) {
    let file = inspect_raster(path).unwrap();
    let warped = RasterReader::open(&file, 1, None, nodata).unwrap();
    let source = RasterSource::new(file.clone(), 1, None, nodata, COLS);
    for how in [Resampling::Nearest, Resampling::Bilinear] {
        for window in WINDOWS {
            let (extent, (.., rows, cols)) = (extent(window), window);
            let target = Affine::of_extent(&extent, rows, cols).unwrap();
            assert!(lies_on(target, rows, cols, file.affine).is_some(), "{window:?}");
            let warped = warped.read(&extent, rows, cols, &plane(), how).unwrap();
            for time in 1..=2 {
                let plain = source.read(&extent, rows, cols, &plane(), how).unwrap();
                let mut pairs = warped.values().iter().zip(plain.values());
                let differs = pairs.position(|(warped, plain)| warped.to_bits() != plain.to_bits());
                assert_eq!(
                    differs.map(|at| (at / cols, at % cols, warped.values()[at], plain.values()[at])),
                    None,
                    "{} {how:?} {window:?}, read {time}",
                    path.display()
                );
            }
        }
    }
}

fn with_nodata(dataset: Dataset, nodata: Option<f64>) {
    dataset.rasterband(1).unwrap().set_no_data_value(nodata).unwrap();
    dataset.close().unwrap();
}

#[test]
fn bytes_and_whole_numbers_are_the_same_both_ways() {
    let (_folder, path) = folder();
    let dataset = create::<u8>(&path, WEST, &TILED, |row, col| mixed(row, col) as u8);
    with_nodata(dataset, Some(255.0));
    same_both_ways(&path, None);
    same_both_ways(&path, Some(7.0));
    let dataset = create::<u8>(&path, WEST, &[], |row, col| mixed(row, col) as u8);
    dataset.close().unwrap();
    same_both_ways(&path, None);
    let dataset = create::<i16>(&path, WEST, &TILED, |row, col| mixed(row, col) as i16);
    with_nodata(dataset, Some(-32_768.0));
    same_both_ways(&path, None);
    let dataset = create::<u16>(&path, WEST, &TILED, |row, col| mixed(row, col) as u16);
    with_nodata(dataset, Some(65_535.0));
    same_both_ways(&path, None);
    let dataset = create::<i32>(&path, WEST, &TILED, |row, col| mixed(row, col) as i32 - 4_000);
    with_nodata(dataset, Some(-4_000.0));
    same_both_ways(&path, None);
}

#[test]
fn floats_near_nodata_and_of_no_number_are_the_same_both_ways() {
    let value = |row, col| {
        let mixed = mixed(row, col);
        match mixed % 23 {
            0 => -9_999.0,
            1 => -9_999.001,
            2 => -9_998.9,
            3 => 0.0,
            4 => -0.0,
            5 => f32::MIN_POSITIVE / 2.0,
            _ => mixed as f32 / 1024.0,
        }
    };
    let (_folder, path) = folder();
    for options in [&TILED[..], &[]] {
        let dataset = create::<f32>(&path, WEST, options, value);
        with_nodata(dataset, Some(-9_999.0));
        same_both_ways(&path, None);
        same_both_ways(&path, Some(0.0));
    }
    let dataset = create::<f64>(&path, WEST, &TILED, |row, col| f64::from(value(row, col)) / 3.0);
    with_nodata(dataset, Some(-3_333.0));
    same_both_ways(&path, None);
    let holes = |row, col| {
        if mixed(row, col).is_multiple_of(5) {
            f32::NAN
        } else {
            value(row, col)
        }
    };
    create::<f32>(&path, WEST, &TILED, holes).close().unwrap();
    same_both_ways(&path, None);
    let dataset = create::<f32>(&path, WEST, &TILED, |row, col| {
        if mixed(row, col).is_multiple_of(5) {
            f32::MIN
        } else {
            value(row, col)
        }
    });
    with_nodata(dataset, Some(f64::from(f32::MIN)));
    same_both_ways(&path, None);
}

#[test]
fn scale_offset_masks_and_folders_are_the_same_both_ways() {
    let (folder, path) = folder();
    let value = |row, col| mixed(row, col) as i16;
    let dataset = create::<i16>(&path, WEST, &TILED, value);
    let mut band = dataset.rasterband(1).unwrap();
    band.set_scale(0.1).unwrap();
    band.set_offset(-273.15).unwrap();
    with_nodata(dataset, Some(0.0));
    same_both_ways(&path, None);

    let dataset = create::<u8>(&path, WEST, &TILED, |row, col| mixed(row, col) as u8);
    let mut band = dataset.rasterband(1).unwrap();
    band.create_mask_band(true).unwrap();
    let mask = (0..ROWS * COLS).map(|cell| if cell % 3 == 0 { 0 } else { 255 });
    let mut buffer = Buffer::new((COLS, ROWS), mask.collect());
    let mut mask = band.open_mask_band().unwrap();
    mask.write((0, 0), (COLS, ROWS), &mut buffer).unwrap();
    dataset.close().unwrap();
    assert!(inspect_raster(&path).unwrap().bands[0].has_mask);
    same_both_ways(&path, None);

    let tiles = folder.path().join("tiles");
    std::fs::create_dir(&tiles).unwrap();
    for (name, west) in [("a.tif", WEST), ("b.tif", WEST + 600.0 * CELL)] {
        let dataset = create::<f32>(&tiles.join(name), west, &TILED, |row, col| {
            mixed(row, col) as f32 / 8.0
        });
        with_nodata(dataset, Some(3.0));
    }
    same_both_ways(&tiles, None);
}

#[test]
fn what_lies_off_the_cells_goes_through_the_warper() {
    let own = Affine::new([WEST, CELL, 0.0, NORTH, 0.0, -CELL]).unwrap();
    let lies = |numbers| lies_on(Affine::new(numbers).unwrap(), 514, 514, own);
    assert_eq!(
        lies([WEST - 5.0, CELL, 0.0, NORTH + 10.0, 0.0, -CELL]),
        Some((-2, -1))
    );
    let off = CELL / 4_194_304.0;
    assert_eq!(
        lies([WEST + 0.9 * off, CELL, 0.0, NORTH, 0.0, -CELL]),
        Some((0, 0))
    );
    for aside in [
        [WEST + 1.1 * off, CELL, 0.0, NORTH, 0.0, -CELL],
        [WEST, CELL, 0.0, NORTH - 1.1 * off, 0.0, -CELL],
        [WEST, CELL + off / 500.0, 0.0, NORTH, 0.0, -CELL],
        [WEST, CELL, off / 500.0, NORTH, 0.0, -CELL],
        [WEST, CELL, 0.0, NORTH, 0.0, CELL],
        [WEST, 2.0 * CELL, 0.0, NORTH, 0.0, -2.0 * CELL],
    ] {
        assert_eq!(lies(aside), None, "{aside:?}");
    }
    let (_folder, path) = folder();
    let dataset = create::<f32>(&path, WEST, &TILED, |row, col| mixed(row, col) as f32);
    dataset.close().unwrap();
    let file = inspect_raster(&path).unwrap();
    let warped = RasterReader::open(&file, 1, None, None).unwrap();
    let source = RasterSource::new(file, 1, None, None, COLS);
    let aside = Extent {
        west: WEST + 2.0,
        ..extent((3, 0, 100, 100))
    };
    let read = |rows, cols| source.read(&aside, rows, cols, &plane(), Resampling::Bilinear);
    assert_eq!(
        bits(&read(100, 100).unwrap()),
        bits(
            &warped
                .read(&aside, 100, 100, &plane(), Resampling::Bilinear)
                .unwrap()
        )
    );
}

#[test]
fn threads_read_the_same_from_one_source() {
    let (_folder, path) = folder();
    let dataset = create::<f32>(&path, WEST, &TILED, |row, col| mixed(row, col) as f32);
    dataset.close().unwrap();
    let source = RasterSource::new(inspect_raster(&path).unwrap(), 1, None, None, COLS);
    let read = |window: (i32, i32, usize, usize)| {
        let how = Resampling::Bilinear;
        let read = source.read(&extent(window), window.2, window.3, &plane(), how);
        bits(&read.unwrap())
    };
    let alone = WINDOWS.map(read);
    std::thread::scope(|scope| {
        for thread in 0..4 {
            let (alone, read) = (&alone, &read);
            scope.spawn(move || {
                for at in 0..WINDOWS.len() {
                    let at = (at * 5 + thread) % WINDOWS.len();
                    assert_eq!(read(WINDOWS[at]), alone[at]);
                }
            });
        }
    });
}

/// Overwrites the middle of the bytes of one block of a file.
fn spoil(path: &Path, row: usize, col: usize) {
    let place = {
        let dataset = Dataset::open(path).unwrap();
        let band = dataset.rasterband(1).unwrap();
        let item = |name: &str| -> usize {
            use gdal::Metadata;
            let item = band.metadata_item(&format!("{name}_{col}_{row}"), "TIFF");
            item.unwrap().parse().unwrap()
        };
        (item("BLOCK_OFFSET"), item("BLOCK_SIZE"))
    };
    let mut bytes = std::fs::read(path).unwrap();
    let middle = place.0 + place.1 / 2;
    bytes[middle..middle + 16].fill(0xA5);
    std::fs::write(path, bytes).unwrap();
}

#[test]
fn a_spoilt_block_is_told_with_file_and_place() {
    let (_folder, path): (_, PathBuf) = folder();
    let dataset = create::<f32>(&path, WEST, &TILED, |row, col| mixed(row, col) as f32);
    dataset.close().unwrap();
    spoil(&path, 3, 9);
    let source = RasterSource::new(inspect_raster(&path).unwrap(), 1, None, None, COLS);
    let how = Resampling::Bilinear;
    let read = |window: (i32, i32, usize, usize)| {
        let error = source.read(&extent(window), window.2, window.3, &plane(), how);
        error.map(|_| ()).map_err(|error| error.to_string())
    };
    // The block holds rows 384 to 511 and columns 576 to 639.
    assert_eq!(read((-1, -1, 385, 514)), Ok(()), "other blocks can still be read");
    for window in [(383, 511, 200, 514), (384, 576, 10, 10), (0, 0, 512, 640)] {
        let error = read(window).unwrap_err();
        assert!(error.contains("canopy.tif, band 1"), "{error}");
        assert!(
            error.contains("the block in row 3, column 9 of blocks, counted from 0: "),
            "{error}"
        );
        assert_eq!(error.lines().count(), 1, "{error}");
    }
    let file = inspect_raster(&path).unwrap();
    let aside = Extent {
        west: WEST + 2.0,
        ..extent((383, 511, 200, 514))
    };
    let warped = RasterReader::open(&file, 1, None, None).unwrap();
    let error = warped
        .read(&aside, 200, 514, &plane(), how)
        .unwrap_err()
        .to_string();
    println!("{error}");
    assert!(
        error.contains("canopy.tif, band 1") && error.contains("9, Y offset 3"),
        "{error}"
    );
}
