//! A folder of raster tiles taken as one raster, and the virtual raster by which
//! GDAL reads one band of it together with what is missing. Tiles must agree in
//! system, cells, bands and type; where tiles lie over each other the later
//! name wins.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use super::affine::Affine;
use super::raster_file::{self, RasterFile};
use super::{GisError, crs};
use crate::grid::Crs;

/// Endings of files that may be tiles.
const ENDINGS: [&str; 22] = [
    "tif", "tiff", "gtiff", "img", "asc", "vrt", "jp2", "bil", "bip", "bsq", "flt", "hgt", "dem", "dt0",
    "dt1", "dt2", "grd", "xyz", "nc", "kea", "sdat", "rst",
];

/// How far tiles may lie off the common cells, in cells.
const OFF_CELLS: f64 = 0.01;

/// One piece of a raster.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tile {
    /// Its file.
    pub path: PathBuf,
    /// Its first column in the whole.
    pub col: usize,
    /// Its first row in the whole.
    pub row: usize,
    /// Number of columns.
    pub cols: usize,
    /// Number of rows.
    pub rows: usize,
    /// For each band, whether a mask or an alpha band tells what is missing.
    pub masks: Vec<bool>,
    /// For each band, the value that stands for missing.
    pub nodata: Vec<Option<f64>>,
}

/// A folder's tiles as one raster.
pub(super) fn of_folder(folder: &Path) -> Result<RasterFile, GisError> {
    let mut found: Vec<RasterFile> = Vec::new();
    for path in names(folder)? {
        let dataset = raster_file::open(&path).map_err(|reason| GisError::NotRaster {
            path: path.to_string_lossy().into_owned(),
            reason,
        })?;
        let tile = raster_file::facts(&path, &dataset)?;
        if let Some(first) = found.first() {
            agree(first, &tile)?;
        }
        found.push(tile);
    }
    whole(folder, found)
}

fn names(folder: &Path) -> Result<Vec<PathBuf>, GisError> {
    let folder_text = folder.to_string_lossy();
    let mut paths: Vec<PathBuf> = if folder_text.starts_with("/vsi") {
        let inside = gdal::vsi::read_dir(folder, false).unwrap_or_default();
        inside.into_iter().map(|name| folder.join(name)).collect()
    } else {
        let entries = std::fs::read_dir(folder).map_err(|error| GisError::NotRaster {
            path: folder_text.clone().into_owned(),
            reason: error.to_string(),
        })?;
        entries.flatten().map(|entry| entry.path()).collect()
    };
    paths.retain(|path| {
        let ending = path
            .extension()
            .map(|ending| ending.to_string_lossy().to_lowercase());
        let hidden = path
            .file_name()
            .is_some_and(|name| name.to_string_lossy().starts_with('.'));
        !hidden && ending.is_some_and(|ending| ENDINGS.contains(&ending.as_str()))
    });
    paths.sort();
    if paths.is_empty() {
        return Err(GisError::NoTiles {
            path: folder_text.into_owned(),
        });
    }
    Ok(paths)
}

fn agree(first: &RasterFile, tile: &RasterFile) -> Result<(), GisError> {
    let differs = |what: &str, found: String, needed: String| {
        Err(GisError::TilesDiffer {
            tile: tile.path.display().to_string(),
            first: first.path.display().to_string(),
            what: what.to_owned(),
            found,
            needed,
        })
    };
    let system = |file: &RasterFile| file.crs.as_ref().map_or("none".to_owned(), Crs::label);
    let same_system = match (&first.crs, &tile.crs) {
        (Some(a), Some(b)) => a == b || crs::reference(a)? == crs::reference(b)?,
        (None, None) => true,
        _ => false,
    };
    if !same_system {
        return differs("coordinate reference system", system(tile), system(first));
    }
    let kinds = |file: &RasterFile| {
        let kinds: Vec<&str> = file.bands.iter().map(|band| band.kind.as_str()).collect();
        format!("{} of {}", kinds.len(), kinds.join(", "))
    };
    if kinds(first) != kinds(tile) {
        return differs("list of bands", kinds(tile), kinds(first));
    }
    let scales = |file: &RasterFile| {
        let scales: Vec<String> = file
            .bands
            .iter()
            .map(|band| format!("x {} + {}", band.scale, band.offset))
            .collect();
        scales.join(", ")
    };
    if scales(first) != scales(tile) {
        return differs("scale and offset", scales(tile), scales(first));
    }
    let units = |file: &RasterFile| {
        let units: Vec<&str> = file
            .bands
            .iter()
            .map(|band| band.unit.as_deref().unwrap_or("none"))
            .collect();
        units.join(", ")
    };
    if units(first) != units(tile) {
        return differs("unit", units(tile), units(first));
    }
    let cell = |file: &RasterFile| {
        let numbers = file.affine.numbers();
        format!("{} x {}", numbers[1], numbers[5])
    };
    if tile.rotated || first.rotated {
        return differs("rotation", tile.rotated.to_string(), first.rotated.to_string());
    }
    let (ours, theirs) = (tile.affine.numbers(), first.affine.numbers());
    let close = |a: f64, b: f64| (a - b).abs() <= 1e-6 * b.abs();
    if !close(ours[1], theirs[1]) || !close(ours[5], theirs[5]) {
        return differs("cell size", cell(tile), cell(first));
    }
    let (col, row) = first.affine.to_cell(ours[0], ours[3]);
    let off = |place: f64| (place - place.round()).abs();
    if off(col) > OFF_CELLS || off(row) > OFF_CELLS {
        return differs(
            "place of cells",
            format!("{:.2} and {:.2} cells off", off(col), off(row)),
            "on whole cells".to_owned(),
        );
    }
    Ok(())
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "places are rounded counts of cells from the least one, so not negative"
)]
fn whole(folder: &Path, mut found: Vec<RasterFile>) -> Result<RasterFile, GisError> {
    let no_tiles = || GisError::NoTiles {
        path: folder.display().to_string(),
    };
    let anchor = found.first().ok_or_else(no_tiles)?.affine;
    let places: Vec<(f64, f64)> = found
        .iter()
        .map(|tile| {
            let numbers = tile.affine.numbers();
            let (col, row) = anchor.to_cell(numbers[0], numbers[3]);
            (col.round(), row.round())
        })
        .collect();
    let least = places.iter().fold((0.0_f64, 0.0_f64), |least, place| {
        (least.0.min(place.0), least.1.min(place.1))
    });
    let mut tiles = Vec::new();
    let mut files = Vec::new();
    for (tile, place) in found.iter_mut().zip(&places) {
        for mut piece in tile.tiles.drain(..) {
            piece.col = (place.0 - least.0) as usize;
            piece.row = (place.1 - least.1) as usize;
            tiles.push(piece);
        }
        files.append(&mut tile.files);
    }
    let mut raster = found.swap_remove(0);
    let mut numbers = anchor.numbers();
    (numbers[0], numbers[3]) = anchor.to_map(least.0, least.1);
    raster.affine = Affine::new(numbers).ok_or_else(no_tiles)?;
    raster.cols = tiles.iter().map(|tile| tile.col + tile.cols).max().unwrap_or(0);
    raster.rows = tiles.iter().map(|tile| tile.row + tile.rows).max().unwrap_or(0);
    let largest = i32::MAX as usize;
    if raster.cols > largest || raster.rows > largest {
        return Err(GisError::NotRaster {
            path: folder.display().to_string(),
            reason: format!("its tiles lie {} x {} cells apart", raster.cols, raster.rows),
        });
    }
    raster.extent = raster.affine.extent(raster.cols, raster.rows);
    raster.doubt = raster
        .crs
        .as_ref()
        .and_then(|crs| crs::coordinates_doubt(&raster.extent, crs));
    for (index, band) in raster.bands.iter_mut().enumerate() {
        band.has_mask = tiles.iter().any(|tile| tile.masks[index]);
        if tiles.iter().any(|tile| tile.nodata[index].is_none()) {
            band.nodata = None;
        }
    }
    folder.clone_into(&mut raster.path);
    raster.tiles = tiles;
    raster.files = files;
    raster.folder = true;
    Ok(raster)
}

/// What the virtual raster holds where nothing is known. It is a power of two, so
/// that it is the same number as a 32-bit and as a 64-bit float, and no data.
pub(super) const MISSING: f64 = -1_329_227_995_784_915_872_903_807_060_280_344_576.0;

/// The virtual raster of one band. It holds [`MISSING`] where a tile's mask, alpha
/// band or nodata value says so, and between the tiles. The user's value for
/// missing takes the place of the files' own.
pub(super) fn virtual_raster(file: &RasterFile, band: usize, as_f32: bool, nodata: Option<f64>) -> String {
    let kind = if as_f32 { "Float32" } else { "Float64" };
    let numbers = file
        .affine
        .numbers()
        .map(|number| format!("{number:?}"))
        .join(", ");
    let (cols, rows) = (file.cols, file.rows);
    let mut values = String::new();
    for tile in &file.tiles {
        let path = escaped(&tile.path.to_string_lossy());
        let masked = if tile.masks[band - 1] {
            "<UseMaskBand>true</UseMaskBand>"
        } else {
            ""
        };
        let nodata = match nodata.or(tile.nodata[band - 1]) {
            Some(nodata) if nodata.is_nan() => "<NODATA>nan</NODATA>".to_owned(),
            Some(nodata) => format!("<NODATA>{nodata:e}</NODATA>"),
            None => String::new(),
        };
        // Writing to a text cannot fail.
        let _ = write!(
            values,
            "<ComplexSource>\
             <SourceFilename relativeToVRT=\"0\" shared=\"0\">{path}</SourceFilename>\
             <SourceBand>{band}</SourceBand>\
             <SrcRect xOff=\"0\" yOff=\"0\" xSize=\"{0}\" ySize=\"{1}\"/>\
             <DstRect xOff=\"{2}\" yOff=\"{3}\" xSize=\"{0}\" ySize=\"{1}\"/>\
             {nodata}{masked}</ComplexSource>",
            tile.cols, tile.rows, tile.col, tile.row
        );
    }
    format!(
        "<VRTDataset rasterXSize=\"{cols}\" rasterYSize=\"{rows}\"><GeoTransform>{numbers}</GeoTransform>\
         <VRTRasterBand dataType=\"{kind}\" band=\"1\"><NoDataValue>{MISSING:e}</NoDataValue>{values}\
         </VRTRasterBand></VRTDataset>"
    )
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}
