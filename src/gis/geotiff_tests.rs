use super::*;
use crate::grid::{Crs, Extent};

fn grid(cells_east: f64, cells_south: f64) -> Grid {
    let srs = SpatialRef::from_epsg(26915).unwrap();
    let crs = Crs {
        wkt: srs.to_wkt().unwrap(),
        name: "NAD83 / UTM zone 15N".to_owned(),
        code: Some("EPSG:26915".to_owned()),
    };
    let extent = Extent {
        west: 500_000.0,
        south: 4_800_000.0 - 5.0 * cells_south,
        east: 500_000.0 + 5.0 * cells_east,
        north: 4_800_000.0,
    };
    Grid::covering(&extent, 5.0, crs).unwrap()
}

#[expect(clippy::cast_possible_truncation, reason = "the remainder is below 201")]
fn bytes(window: Window, band: usize) -> Vec<u8> {
    (0..window.cells())
        .map(|cell| {
            let (row, col) = (window.row + cell / window.cols, window.col + cell % window.cols);
            ((row * 7 + col * 3 + band * 11) % 201) as u8
        })
        .collect()
}

fn write(path: &Path, grid: &Grid, band_by_band: bool) {
    let mut writer = RatingsWriter::create(path, grid, &["silver maple", "s\u{f8}t \"<&>\" g"]).unwrap();
    let tiles: Vec<Window> = grid.tiles().collect();
    if band_by_band {
        for band in 0..2 {
            for &tile in &tiles {
                writer.write_block(tile, band, &bytes(tile, band)).unwrap();
            }
        }
    } else {
        for &tile in tiles.iter().rev() {
            for band in [1, 0] {
                writer.write_block(tile, band, &bytes(tile, band)).unwrap();
            }
        }
    }
    writer.finish().unwrap();
}

#[test]
fn what_is_written_is_read_back_cell_by_cell() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ratings.tif");
    let grid = grid(1100.0, 700.0);
    write(&path, &grid, true);
    let dataset = Dataset::open(&path).unwrap();
    assert_eq!(dataset.raster_size(), (1100, 700));
    assert_eq!(dataset.spatial_ref().unwrap().auth_code().unwrap(), 26915);
    assert_eq!(
        dataset.geo_transform().unwrap(),
        [500_000.0, 5.0, 0.0, 4_800_000.0, 0.0, -5.0]
    );
    assert_eq!(
        dataset.metadata_item("INTERLEAVE", "IMAGE_STRUCTURE").as_deref(),
        Some("BAND")
    );
    for index in 0..2 {
        let band = dataset.rasterband(index + 1).unwrap();
        assert_eq!(band.no_data_value(), Some(255.0));
        assert_eq!(band.scale(), Some(0.005));
        assert_eq!(band.block_size(), (512, 512));
        assert_eq!(band.overview_count().unwrap(), 2);
        let values = band.read_band_as::<u8>().unwrap();
        assert_eq!(values.data(), bytes(grid.window(), index));
    }
    let facts = inspect_ratings(&path).unwrap();
    assert_eq!(facts.band_names, ["silver maple", "s\u{f8}t \"<&>\" g"]);
    assert_eq!(
        fs::read_dir(folder.path()).unwrap().count(),
        1,
        "nothing is left beside it"
    );
}

#[test]
fn the_order_of_the_blocks_does_not_change_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let (one, other) = (folder.path().join("1.tif"), folder.path().join("2.tif"));
    let grid = grid(1100.0, 700.0);
    write(&one, &grid, true);
    write(&other, &grid, false);
    assert!(fs::read(one).unwrap() == fs::read(other).unwrap());
}

/// Offsets of the image directories and of the first tile of each, read from the
/// bytes after the TIFF 6.0 specification.
fn directories(bytes: &[u8]) -> Vec<(u32, u32)> {
    let short = |at: usize| u16::from_le_bytes(bytes[at..at + 2].try_into().unwrap());
    let long = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap());
    assert_eq!(&bytes[..4], b"II*\0");
    let mut found = Vec::new();
    let mut at = long(4);
    while at != 0 {
        let start = at as usize;
        let entries = usize::from(short(start));
        let mut first_tile = 0;
        for entry in 0..entries {
            let entry = start + 2 + 12 * entry;
            if short(entry) == 324 {
                let many = long(entry + 4) > 1;
                first_tile = if many {
                    long(long(entry + 8) as usize)
                } else {
                    long(entry + 8)
                };
            }
        }
        found.push((at, first_tile));
        at = long(start + 2 + 12 * entries);
    }
    found
}

#[test]
fn directories_come_first_then_overviews_then_the_data() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ratings.tif");
    write(&path, &grid(1100.0, 700.0), true);
    let found = directories(&fs::read(path).unwrap());
    assert_eq!(found.len(), 3);
    let last_directory = found.iter().map(|&(at, _)| at).max().unwrap();
    let tiles: Vec<u32> = found.iter().map(|&(_, tile)| tile).collect();
    assert!(tiles.iter().all(|&tile| tile > last_directory), "{found:?}");
    assert!(tiles[2] < tiles[1] && tiles[1] < tiles[0], "{found:?}");
}

#[test]
fn cells_no_block_covered_are_not_known() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ratings.tif");
    let grid = grid(700.0, 10.0);
    let mut writer = RatingsWriter::create(&path, &grid, &["a"]).unwrap();
    let window = Window {
        row: 2,
        col: 3,
        rows: 1,
        cols: 2,
    };
    writer.write_block(window, 0, &[7, 200]).unwrap();
    writer.finish().unwrap();
    let dataset = Dataset::open(&path).unwrap();
    let values = dataset.rasterband(1).unwrap().read_band_as::<u8>().unwrap();
    let known: Vec<u8> = values
        .data()
        .iter()
        .copied()
        .filter(|&byte| byte != 255)
        .collect();
    assert_eq!(known, [7, 200]);
}

#[test]
fn large_files_are_big_ones() {
    assert!(uncompressed_bytes(6000, 6000, 60) < BIG_FROM);
    assert!(uncompressed_bytes(20_000, 20_000, 60) > BIG_FROM);
    assert!(overview_levels(512, 500).is_empty());
    assert_eq!(overview_levels(6000, 6000), [2, 4, 8, 16]);
}

#[test]
fn bad_blocks_and_places_give_clear_errors() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ratings.tif");
    let grid = grid(20.0, 10.0);
    assert!(matches!(
        RatingsWriter::create(&path, &grid, &[]),
        Err(WriteError::NoBands { .. })
    ));
    let mut writer = RatingsWriter::create(&path, &grid, &["a"]).unwrap();
    let short = writer.write_block(grid.window(), 0, &[1, 2]).unwrap_err();
    assert!(
        short
            .to_string()
            .contains("2 values came for band 1, 200 were needed"),
        "{short}"
    );
    let outside = Window {
        row: 5,
        ..grid.window()
    };
    assert!(writer.write_block(outside, 0, &[1; 200]).is_err());
    assert!(writer.write_block(grid.window(), 1, &[1; 200]).is_err());
    let nowhere = folder.path().join("missing").join("ratings.tif");
    let error = RatingsWriter::create(&nowhere, &grid, &["a"]).err().unwrap();
    assert!(error.to_string().starts_with("could not write "), "{error}");
}

#[test]
fn a_file_cut_short_is_found_out() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ratings.tif");
    write(&path, &grid(1100.0, 700.0), true);
    let whole = fs::read(&path).unwrap();
    fs::write(&path, &whole[..whole.len() - 20]).unwrap();
    assert!(matches!(inspect_ratings(&path), Err(WriteError::ReadBack { .. })));
}
