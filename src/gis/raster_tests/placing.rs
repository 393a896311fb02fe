//! Where values come to lie on a grid.

use gdal::{Dataset, Metadata};

use super::{ALL, PLAN, Plan, bits, cells, folder, get, plane};
use crate::gis::{RasterReader, Resampling, inspect_raster};
use crate::grid::Extent;

#[test]
fn a_file_on_its_own_grid_comes_out_as_it_is() {
    let (_folder, path) = folder();
    PLAN.write::<u8>(&path, |row, col| (row * 10 + col) as u8)
        .close()
        .unwrap();
    let file = inspect_raster(&path).unwrap();
    assert_eq!((file.driver.as_str(), file.rows, file.cols), ("GTiff", 3, 4));
    assert_eq!(file.crs.as_ref().unwrap().code.as_deref(), Some("EPSG:26915"));
    assert_eq!(
        (file.extent, file.cell_x, file.cell_y),
        (PLAN.extent(), 10.0, 10.0)
    );
    assert!(!file.rotated && !file.point_cells && !file.is_picture());
    let band = &file.bands[0];
    assert!(band.is_byte && band.is_integer && band.says_nothing_of_missing());
    assert_eq!(file.files, std::slice::from_ref(&path));
    for how in ALL {
        let cells = cells(&path, 1, how);
        for row in 0..3 {
            for col in 0..4 {
                assert_eq!(get(&cells, row, col), Some((row * 10 + col) as f32), "{how:?}");
            }
        }
    }
    let beside: Vec<_> = std::fs::read_dir(path.parent().unwrap()).unwrap().collect();
    assert_eq!(
        beside.len(),
        1,
        "nothing may be written beside the data: {beside:?}"
    );
}

#[test]
fn values_do_not_hang_on_how_the_grid_is_cut() {
    // Source cell and corner against a 5 m grid: finer, coarser, the same, and
    // shifted by parts of a cell.
    for (cell, shift) in [
        (2.0, 0.0),
        (2.0, 0.7),
        (30.0, 0.0),
        (30.0, 11.3),
        (5.0, 2.5),
        (1.0 / 3.0, 0.1),
    ] {
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
        dataset
            .rasterband(1)
            .unwrap()
            .set_no_data_value(Some(5.0))
            .unwrap();
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
    plan.write::<f32>(&path, |_, col| [1.0, 2.0, 3.0, 10.0][col])
        .close()
        .unwrap();
    let file = inspect_raster(&path).unwrap();
    let reader = RasterReader::open(&file, 1, None, None).unwrap();
    let mean = reader
        .read(&plan.extent(), 1, 2, &plane(), Resampling::Average)
        .unwrap();
    assert_eq!(mean.values(), [1.5, 6.5]);
    // A row of cells half a cell to the east lies just between.
    let shifted = Extent {
        west: plan.west + 2.5,
        east: plan.west + 17.5,
        ..plan.extent()
    };
    let between = reader
        .read(&shifted, 2, 3, &plane(), Resampling::Bilinear)
        .unwrap();
    assert_eq!(between.row(0), [1.5, 2.5, 6.5]);
    // A cell that covers one and a half source cells counts them by area.
    let part = Extent {
        west: plan.west + 10.0,
        east: plan.west + 17.5,
        ..plan.extent()
    };
    let mean = reader.read(&part, 1, 1, &plane(), Resampling::Average).unwrap();
    assert!(
        (mean.values()[0] - (3.0 * 5.0 + 10.0 * 2.5) / 7.5).abs() < 1e-5,
        "{mean:?}"
    );
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
    std::fs::write(
        &list,
        "500005 4979995 1\n500015 4979995 2\n500005 4979985 3\n500015 4979985 4\n",
    )
    .unwrap();
    let file = inspect_raster(&list).unwrap();
    assert!(file.point_cells);
    assert_eq!((file.extent.west, file.extent.north), (500_000.0, 4_980_000.0));
    let reader = RasterReader::open(&file, 1, Some(&plane()), None).unwrap();
    let cells = reader
        .read(&file.extent, 2, 2, &plane(), Resampling::Nearest)
        .unwrap();
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
                assert_eq!(
                    get(&cells, row, col),
                    Some((col * 10 + row + 1) as f32),
                    "{how:?}"
                );
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
        if row % 31 == 3 && col % 17 < 4 {
            -9999.0
        } else {
            (row as f32).mul_add(0.5, (col as f32 / 9.0).sin())
        }
    });
    dataset
        .rasterband(1)
        .unwrap()
        .set_no_data_value(Some(-9999.0))
        .unwrap();
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
            .args([
                "-q",
                "-overwrite",
                "-t_srs",
                "EPSG:26915",
                "-r",
                name,
                "-dstnodata",
                "nan",
                "-te",
            ])
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
        assert!(
            differ * 100 < ours.values().len(),
            "{name}: {differ} of {}",
            ours.values().len()
        );
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
    plan.write::<f32>(&path, |row, col| (row * 64 + col) as f32)
        .close()
        .unwrap();
    let file = inspect_raster(&path).unwrap();
    let read = || {
        let reader = RasterReader::open(&file, 1, None, None).unwrap();
        bits(
            &reader
                .read(&plan.extent(), 50, 50, &plane(), Resampling::Bilinear)
                .unwrap(),
        )
    };
    let here = read();
    std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4).map(|_| scope.spawn(read)).collect();
        for thread in threads {
            assert_eq!(thread.join().unwrap(), here);
        }
    });
}
