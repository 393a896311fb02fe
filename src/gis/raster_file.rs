//! What a raster file, or a folder of tiles taken as one raster, holds: its grid,
//! its system, and its bands. Plain data that may go to any thread; reads no
//! cells.

use std::path::{Path, PathBuf};

use gdal::raster::{ColorInterpretation, RasterBand};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags, Metadata};

use super::affine::Affine;
use super::tiles::{self, Tile};
use super::{GisError, c_interface, crs, messages};
use crate::grid::{Crs, Extent};

/// What the colours of a band mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colour {
    /// The red of a picture.
    Red,
    /// The green of a picture.
    Green,
    /// The blue of a picture.
    Blue,
    /// Where a picture is transparent.
    Alpha,
    /// Numbers of colours in a table.
    Palette,
    /// Shades of grey, or plain values.
    Grey,
    /// Something else.
    Other,
}

/// What one band holds.
#[derive(Debug, Clone, PartialEq)]
pub struct BandFacts {
    /// Its number, counted from 1.
    pub number: usize,
    /// The type of its values: `Byte`, `Int16`, `Float32`.
    pub kind: String,
    /// Whether it holds bytes, where a missing nodata value is most often an
    /// oversight.
    pub is_byte: bool,
    /// Whether it holds whole numbers.
    pub is_integer: bool,
    /// The value that stands for missing.
    pub nodata: Option<f64>,
    /// What stored values are multiplied with; 1 where nothing is said.
    pub scale: f64,
    /// What is added after that; 0 where nothing is said.
    pub offset: f64,
    /// The unit of the values, where the file says one.
    pub unit: Option<String>,
    /// What its colours mean.
    pub colour: Option<Colour>,
    /// Whether a mask or an alpha band says which cells are missing.
    pub has_mask: bool,
    /// The band's description.
    pub description: Option<String>,
    /// The names of its classes by code, where the file tells them.
    pub classes: Vec<(f64, String)>,
}

impl BandFacts {
    /// Whether nothing tells which cells are missing: no nodata value, no mask.
    #[must_use]
    pub fn says_nothing_of_missing(&self) -> bool {
        self.nodata.is_none() && !self.has_mask
    }
}

/// What a raster holds.
#[derive(Debug, Clone, PartialEq)]
pub struct RasterFile {
    /// The path as given.
    pub path: PathBuf,
    /// GDAL's name for the format.
    pub driver: String,
    /// The system, where the file says one.
    pub crs: Option<Crs>,
    /// The unit of heights, where the system says one.
    pub vertical_unit: Option<String>,
    /// What the cells cover, in the file's own system.
    pub extent: Extent,
    /// Number of rows.
    pub rows: usize,
    /// Number of columns.
    pub cols: usize,
    /// Width of a cell in the file's own unit.
    pub cell_x: f64,
    /// Height of a cell in the file's own unit.
    pub cell_y: f64,
    /// Whether rows and columns run aslant to the axes.
    pub rotated: bool,
    /// Whether values are said to hold for the centres of cells. Where the cells
    /// lie has already been settled from that.
    pub point_cells: bool,
    /// The bands.
    pub bands: Vec<BandFacts>,
    /// Columns and rows of the blocks in which the file is stored.
    pub block: (usize, usize),
    /// The files it is made of, for checksums.
    pub files: Vec<PathBuf>,
    /// Why its coordinates can hardly be right.
    pub doubt: Option<String>,
    /// From cells to coordinates.
    pub(super) affine: Affine,
    /// The pieces, one for a single file.
    pub(super) tiles: Vec<Tile>,
    /// Whether it is a folder of tiles.
    pub(super) folder: bool,
}

impl RasterFile {
    /// The bands that make a coloured picture, which are no classes.
    #[must_use]
    pub fn is_picture(&self) -> bool {
        let has = |colour| self.bands.iter().any(|band| band.colour == Some(colour));
        has(Colour::Red) && has(Colour::Green) && has(Colour::Blue)
    }

    /// Number of tiles; 1 for a single file.
    #[must_use]
    pub fn tile_count(&self) -> usize {
        self.tiles.len()
    }
}

/// What a raster holds: a file, a folder of tiles taken as one, a `/vsi` path.
///
/// # Errors
/// No such file, no raster, no position on the ground, tiles that do not fit.
pub fn inspect_raster(path: &Path) -> Result<RasterFile, GisError> {
    messages::forget();
    let text = path.to_string_lossy();
    let virtual_path = text.starts_with("/vsi");
    if !virtual_path && !path.exists() && !names_part_of_file(&text) {
        return Err(GisError::NotFound {
            path: text.into_owned(),
        });
    }
    // Some formats are folders themselves, so opening comes first.
    let opened = open(path);
    if let (Err(_), true) = (&opened, path.is_dir() || virtual_path) {
        match tiles::of_folder(path) {
            Err(GisError::NoTiles { .. }) if virtual_path => {}
            found => return found,
        }
    }
    let dataset = opened.map_err(|reason| match reason {
        reason if virtual_path && reason.contains("No such file") => GisError::NotFound {
            path: text.into_owned(),
        },
        reason => GisError::NotRaster {
            path: text.into_owned(),
            reason,
        },
    })?;
    facts(path, &dataset)
}

/// Names like `NETCDF:"file.nc":ph`: a driver, then the rest.
fn names_part_of_file(text: &str) -> bool {
    text.split_once(':').is_some_and(|(driver, rest)| {
        driver.len() > 1
            && !rest.is_empty()
            && driver
                .bytes()
                .all(|b| b.is_ascii_uppercase() || b.is_ascii_digit())
    })
}

/// Opens for reading, rasters only; the error is GDAL's words.
pub(super) fn open(path: &Path) -> Result<Dataset, String> {
    let options = DatasetOptions {
        open_flags: GdalOpenFlags::GDAL_OF_READONLY
            | GdalOpenFlags::GDAL_OF_RASTER
            | GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
        ..DatasetOptions::default()
    };
    messages::forget();
    Dataset::open_ex(path, options).map_err(|error| messages::reason(&error))
}

/// What an open dataset holds.
pub(super) fn facts(path: &Path, dataset: &Dataset) -> Result<RasterFile, GisError> {
    let name = || path.to_string_lossy().into_owned();
    let affine = dataset.geo_transform().ok().and_then(Affine::new);
    let affine = affine.ok_or_else(|| GisError::NoPosition { path: name() })?;
    let (cols, rows) = dataset.raster_size();
    if cols == 0 || rows == 0 || dataset.raster_count() == 0 {
        return Err(GisError::NotRaster {
            path: name(),
            reason: "it holds no cells".to_owned(),
        });
    }
    let mut bands = Vec::new();
    let mut block = (0, 0);
    for number in 1..=dataset.raster_count() {
        let band = dataset.rasterband(number).map_err(|error| GisError::NotRaster {
            path: name(),
            reason: messages::reason(&error),
        })?;
        if number == 1 {
            block = band.block_size();
        }
        bands.push(band_facts(number, &band));
    }
    if bands.iter().any(|band| band.colour == Some(Colour::Alpha)) {
        for band in &mut bands {
            band.has_mask |= band.colour != Some(Colour::Alpha);
        }
    }
    let (system, vertical_unit) = match dataset.spatial_ref() {
        Ok(found) => crs::of_file(&found),
        Err(_) => (None, None),
    };
    let extent = affine.extent(cols, rows);
    let driver = dataset.driver().short_name();
    let point_cells = dataset
        .metadata_item("AREA_OR_POINT", "")
        .is_some_and(|kind| kind.eq_ignore_ascii_case("point"))
        || driver == "XYZ";
    messages::forget();
    Ok(RasterFile {
        path: path.to_owned(),
        driver,
        doubt: system
            .as_ref()
            .and_then(|crs| crs::coordinates_doubt(&extent, crs)),
        crs: system,
        vertical_unit,
        extent,
        rows,
        cols,
        cell_x: affine.cell_x(),
        cell_y: affine.cell_y(),
        rotated: affine.rotated(),
        point_cells,
        tiles: vec![Tile {
            path: path.to_owned(),
            col: 0,
            row: 0,
            cols,
            rows,
            masks: bands.iter().map(|band| band.has_mask).collect(),
            nodata: bands.iter().map(|band| band.nodata).collect(),
        }],
        bands,
        block,
        files: c_interface::files(dataset),
        affine,
        folder: false,
    })
}

fn band_facts(number: usize, band: &RasterBand) -> BandFacts {
    let kind = band.band_type();
    let filled = |text: String| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
    let masked = band
        .mask_flags()
        .is_ok_and(|flags| !flags.is_all_valid() && !flags.is_nodata());
    BandFacts {
        number,
        kind: kind.name(),
        is_byte: kind.bits() == 8,
        is_integer: kind.is_integer(),
        nodata: band.no_data_value(),
        scale: band.scale().filter(|scale| scale.is_finite()).unwrap_or(1.0),
        offset: band.offset().filter(|offset| offset.is_finite()).unwrap_or(0.0),
        unit: filled(band.unit()),
        colour: match band.color_interpretation() {
            ColorInterpretation::Undefined => None,
            ColorInterpretation::RedBand => Some(Colour::Red),
            ColorInterpretation::GreenBand => Some(Colour::Green),
            ColorInterpretation::BlueBand => Some(Colour::Blue),
            ColorInterpretation::AlphaBand => Some(Colour::Alpha),
            ColorInterpretation::PaletteIndex => Some(Colour::Palette),
            ColorInterpretation::GrayIndex => Some(Colour::Grey),
            _ => Some(Colour::Other),
        },
        has_mask: masked,
        description: band.description().ok().and_then(filled),
        classes: c_interface::classes(band),
    }
}
