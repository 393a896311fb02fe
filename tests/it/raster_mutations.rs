//! Rasters cut short or with bytes changed: read or refused, never a panic, and no
//! number comes out of them that is not one.

use std::path::{Path, PathBuf};

use gdal::DriverManager;
use gdal::raster::{Buffer, GdalType, RasterCreationOptions};
use groundfit::gis::{self, RasterReader, Resampling};
use groundfit::grid::{Crs, Extent};

use crate::mutation::{Seeded, corpus, rounds, spoil_bytes};
use crate::scenario::{EAST_M, NORTH_M, PLANE, system};

const SIDE: usize = 24;
const HOWS: [Resampling; 4] = [
    Resampling::Nearest,
    Resampling::Mode,
    Resampling::Bilinear,
    Resampling::Average,
];

fn write<T: GdalType + Copy>(path: &Path, options: &[&str], value: impl Fn(usize) -> T) -> Vec<u8> {
    let driver = DriverManager::get_driver_by_name("GTiff").unwrap();
    let options: RasterCreationOptions = options.iter().copied().collect();
    let mut file = driver
        .create_with_band_type_with_options::<T, _>(path, SIDE, SIDE, 1, &options)
        .unwrap();
    file.set_geo_transform(&[EAST_M, 10.0, 0.0, NORTH_M, 0.0, -10.0])
        .unwrap();
    file.set_spatial_ref(&system(PLANE)).unwrap();
    let values: Vec<T> = (0..SIDE * SIDE).map(value).collect();
    let mut band = file.rasterband(1).unwrap();
    band.set_no_data_value(Some(0.0)).unwrap();
    band.write((0, 0), (SIDE, SIDE), &mut Buffer::new((SIDE, SIDE), values))
        .unwrap();
    file.close().unwrap();
    std::fs::read(path).unwrap()
}

#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    reason = "numbers made up for the test are small"
)]
fn whole_files(folder: &Path) -> Vec<Vec<u8>> {
    let path = folder.join("whole.tif");
    vec![
        write::<u8>(&path, &[], |cell| (cell % 200) as u8),
        write::<f32>(&path, &["COMPRESS=DEFLATE", "PREDICTOR=3"], |cell| {
            cell as f32 * 0.25
        }),
        write::<i16>(
            &path,
            &["TILED=YES", "BLOCKXSIZE=16", "BLOCKYSIZE=16", "COMPRESS=LZW"],
            |cell| cell as i16 - 90,
        ),
        write::<f64>(&path, &["BIGTIFF=YES", "COMPRESS=PACKBITS"], |cell| {
            (cell as f64).sqrt()
        }),
    ]
}

fn target() -> Extent {
    Extent {
        west: EAST_M - 15.0,
        south: NORTH_M - 245.0,
        east: EAST_M + 225.0,
        north: NORTH_M - 5.0,
    }
}

/// What must hold whatever was read; whether it could be.
fn keeps_its_promises(path: &Path, crs: &Crs, how: Resampling) -> bool {
    let read = gis::inspect_raster(path).and_then(|file| {
        for band in &file.bands {
            assert!(band.number >= 1 && !band.kind.is_empty());
        }
        assert!(file.rows > 0 && file.cols > 0);
        let over = file.crs.is_none().then_some(crs);
        RasterReader::open(&file, 1, over, None)?.read(&target(), 16, 16, crs, how)
    });
    match read {
        Err(error) => {
            let told = error.to_string();
            assert!(told.contains("spoilt"), "names no file: {told:?}");
            false
        }
        Ok(cells) => {
            assert_eq!(cells.values().len(), 256);
            assert!(cells.values().iter().all(|value| !value.is_infinite()));
            true
        }
    }
}

fn spoilt_path(folder: &Path) -> PathBuf {
    folder.join("spoilt.tif")
}

#[test]
fn rasters_cut_short_anywhere_are_read_or_refused() {
    let folder = tempfile::tempdir().unwrap();
    let crs = gis::crs_from_text("EPSG:26915").unwrap();
    let path = spoilt_path(folder.path());
    let (mut count, mut read) = (0, 0);
    for whole in whole_files(folder.path()) {
        for end in (0..whole.len()).step_by(whole.len() / 150 + 1) {
            std::fs::write(&path, &whole[..end]).unwrap();
            count += 1;
            read += usize::from(keeps_its_promises(&path, &crs, HOWS[end % 4]));
        }
        std::fs::write(&path, &whole).unwrap();
        assert!(keeps_its_promises(&path, &crs, Resampling::Bilinear));
    }
    // Only bytes at the very end, which hold no cells, may be missed.
    assert!(count > 500 && read < count / 4, "{read} of {count}");
}

#[test]
fn fifteen_hundred_rasters_with_changed_bytes_are_read_or_refused() {
    let folder = tempfile::tempdir().unwrap();
    let crs = gis::crs_from_text("EPSG:26915").unwrap();
    let path = spoilt_path(folder.path());
    let whole = whole_files(folder.path());
    let mut seeded = Seeded::new(41);
    for _ in rounds(1_500) {
        let mut bytes = seeded.one_of(&whole).clone();
        if seeded.below(2) == 0 {
            // The head and the tags, where sizes and offsets stand.
            let mut head: Vec<u8> = bytes.drain(..bytes.len().min(300)).collect();
            spoil_bytes(&mut head, &mut seeded);
            bytes.splice(0..0, head);
        } else {
            spoil_bytes(&mut bytes, &mut seeded);
        }
        std::fs::write(&path, bytes).unwrap();
        keeps_its_promises(&path, &crs, *seeded.one_of(&HOWS));
    }
}

#[test]
fn the_corpus_is_read_or_refused() {
    let folder = tempfile::tempdir().unwrap();
    let crs = gis::crs_from_text("EPSG:26915").unwrap();
    let path = spoilt_path(folder.path());
    for (_, bytes) in corpus("rasters") {
        std::fs::write(&path, bytes).unwrap();
        for how in HOWS {
            keeps_its_promises(&path, &crs, how);
        }
    }
}
