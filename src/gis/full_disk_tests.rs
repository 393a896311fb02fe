//! What the writers say when the disk is full. A limit on the size of files, set by
//! the shell for a second run of this test program, stands for the full disk.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs};

use gdal::spatial_ref::SpatialRef;

use super::{Column, ColumnKind, GeoPackageWriter, RatingsWriter, Row, TableText, Value, WriteError};
use crate::grid::{Crs, Extent, Grid};

const FOLDER: &str = "GROUNDFIT_TEST_FOLDER";

/// Runs one ignored test of this module in a process whose files cannot grow over
/// about 100 kB; without the trap the system would end the process.
fn run_with_small_files(test: &str) {
    let folder = tempfile::tempdir().unwrap();
    let output = Command::new("sh")
        .args([
            "-c",
            "trap '' XFSZ; ulimit -f 200; exec \"$0\" --exact \"$1\" --ignored",
        ])
        .arg(env::current_exe().unwrap())
        .arg(format!("gis::full_disk_tests::{test}"))
        .env(FOLDER, folder.path())
        .output()
        .unwrap();
    let shown = String::from_utf8_lossy(&output.stdout).into_owned();
    let errors = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        output.status.success() && shown.contains("1 passed"),
        "{shown}{errors}"
    );
    assert!(
        !errors.contains("ERROR"),
        "GDAL prints nothing by itself: {errors}"
    );
}

fn folder() -> PathBuf {
    PathBuf::from(env::var_os(FOLDER).unwrap())
}

fn told_clearly(error: &WriteError, path: &Path) {
    let text = error.to_string();
    assert!(
        text.starts_with(&format!("could not write {}: ", path.display())),
        "{text}"
    );
    assert!(fs::metadata(path).map_or(0, |facts| facts.len()) <= 102_400 * 2);
}

#[test]
fn a_geopackage_on_a_full_disk_gives_one_clear_error() {
    run_with_small_files("geopackage");
}

#[test]
fn ratings_on_a_full_disk_give_one_clear_error() {
    run_with_small_files("ratings");
}

#[test]
#[ignore = "run by the test above, with small files"]
fn geopackage() {
    let path = folder().join("zones.gpkg");
    let columns = [Column::new("name", ColumnKind::Text)];
    let text = TableText {
        name: "plain",
        title: "plain",
        description: "",
    };
    let values = |row| vec![Value::Text(format!("a name of some length, {row}").into())];
    let rows = (0..20_000).map(|row| Row::plain(values(row)));
    let mut writer = GeoPackageWriter::create(&path, "", "2026-01-31T12:00:00.000Z").unwrap();
    let error = writer
        .add_table(text, &columns)
        .and_then(|()| writer.append("plain", rows))
        .and_then(|_| writer.finish())
        .unwrap_err();
    told_clearly(&error, &path);
}

#[test]
#[ignore = "run by the test above, with small files"]
fn ratings() {
    let path = folder().join("ratings.tif");
    let crs = Crs {
        wkt: SpatialRef::from_epsg(26915).unwrap().to_wkt().unwrap(),
        name: "NAD83 / UTM zone 15N".to_owned(),
        code: None,
    };
    let extent = Extent {
        west: 0.0,
        south: 0.0,
        east: 1_100.0,
        north: 1_100.0,
    };
    let grid = Grid::covering(&extent, 1.0, crs).unwrap();
    let mut writer = RatingsWriter::create(&path, &grid, &["a", "b"]).unwrap();
    let mut state = 1u32;
    let written = grid.tiles().try_for_each(|tile| {
        let noise: Vec<u8> = (0..tile.cells())
            .map(|_| {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                state.to_le_bytes()[3] % 201
            })
            .collect();
        writer.write_block(tile, 0, &noise)?;
        writer.write_block(tile, 1, &noise)
    });
    let error = written.and_then(|()| writer.finish()).unwrap_err();
    told_clearly(&error, &path);
}
