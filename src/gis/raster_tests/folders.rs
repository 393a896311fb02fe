//! Folders of tiles taken as one raster.

use std::path::Path;

use super::{ALL, PLAN, Plan, cells, folder, get, plane};
use crate::gis::{RasterReader, Resampling, inspect_raster};

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
    assert_eq!(
        (file.rows, file.cols, file.tile_count(), file.files.len()),
        (3, 9, 2, 2)
    );
    assert_eq!((file.extent.west, file.extent.east), (500_000.0, 500_090.0));
    for how in ALL {
        let cells = cells(folder.path(), 1, how);
        assert_eq!(
            get(&cells, 0, 0),
            Some(0.0),
            "a zero is a value where nothing says otherwise"
        );
        assert_eq!(
            (get(&cells, 1, 3), get(&cells, 1, 4), get(&cells, 1, 5)),
            (Some(1.0), None, Some(2.0))
        );
    }
    let reader = RasterReader::open(&file, 1, None, Some(0.0)).unwrap();
    let cells = reader
        .read(&file.extent, 3, 9, &plane(), Resampling::Average)
        .unwrap();
    assert_eq!(
        (get(&cells, 0, 0), get(&cells, 0, 5), get(&cells, 0, 1)),
        (None, None, Some(1.0))
    );
}

#[test]
fn tiles_with_nodata_of_their_own() {
    let (folder, _) = folder();
    for (name, north, nodata) in [
        ("a.tif", 4_980_000.0, -9999.0),
        ("b & c.tif", 4_980_030.0, -32768.0),
    ] {
        let plan = Plan { north, ..PLAN };
        let dataset = plan.write::<f32>(&folder.path().join(name), |_, col| {
            if col == 1 { nodata as f32 } else { 4.0 }
        });
        dataset
            .rasterband(1)
            .unwrap()
            .set_no_data_value(Some(nodata))
            .unwrap();
        dataset.close().unwrap();
    }
    let cells = cells(folder.path(), 1, Resampling::Bilinear);
    assert_eq!(cells.rows(), 6);
    for row in 0..6 {
        assert_eq!(
            (get(&cells, row, 0), get(&cells, row, 1)),
            (Some(4.0), None),
            "row {row}"
        );
    }
}

#[test]
fn tiles_that_do_not_fit_are_named() {
    let odd = |plan: &Plan, write: &dyn Fn(&Plan, &Path)| {
        let (folder, _) = folder();
        PLAN.write::<u8>(&folder.path().join("a.tif"), |_, _| 1)
            .close()
            .unwrap();
        write(plan, &folder.path().join("odd.tif"));
        inspect_raster(folder.path()).unwrap_err().to_string()
    };
    let bytes = |plan: &Plan, path: &Path| plan.write::<u8>(path, |_, _| 1).close().unwrap();
    let east = 500_040.0;
    for (plan, words) in [
        (
            Plan {
                crs: Some("EPSG:26916"),
                west: east,
                ..PLAN
            },
            "coordinate reference system",
        ),
        (
            Plan {
                crs: None,
                west: east,
                ..PLAN
            },
            "coordinate reference system is none",
        ),
        (
            Plan {
                cell: 5.0,
                west: east,
                ..PLAN
            },
            "cell size is 5 x -5",
        ),
        (
            Plan {
                west: east + 3.0,
                ..PLAN
            },
            "0.30 and 0.00 cells off",
        ),
    ] {
        let error = odd(&plan, &bytes);
        assert!(
            error.contains("odd.tif does not fit") && error.contains(words),
            "{error}"
        );
    }
    let floats = |plan: &Plan, path: &Path| plan.write::<f32>(path, |_, _| 1.0).close().unwrap();
    let error = odd(&Plan { west: east, ..PLAN }, &floats);
    assert!(error.contains("1 of Float32, that of"), "{error}");
}
