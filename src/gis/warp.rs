//! Bringing one band to a target grid with GDAL's warper: the way between the
//! cells, the working type, the memory. Knows nodata, but no scale and no
//! meaning of values.

use std::ffi::c_int;

use gdal::raster::{GdalDataType, GdalType};
use gdal::{Dataset, DriverManager};
use gdal_sys::GDALResampleAlg;

use super::affine::Affine;
use super::c_interface::{self, CellMap, Warp};
use super::{Transform, messages};

/// How values are brought from the source's cells to the target's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Resampling {
    /// The source cell under the centre: for classes.
    Nearest,
    /// The commonest source cell: for classes finer than the target.
    Mode,
    /// Between the four nearest: for measured values coarser than the target.
    Bilinear,
    /// The mean by covered area: for measured values finer than the target.
    Average,
}

impl Resampling {
    /// The word for it in records.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Resampling::Nearest => "nearest",
            Resampling::Mode => "mode",
            Resampling::Bilinear => "bilinear",
            Resampling::Average => "average",
        }
    }
}

/// How far the approximate way between two systems may be off, in source cells.
const TOLERANCE_CELLS: f64 = 0.125;

/// Memory for one piece of a warp; larger reads are cut.
const PIECE_BYTES: f64 = 128.0 * 1024.0 * 1024.0;

/// Places in the source are rounded to this part of a cell when both systems are
/// the same, so that the last digits, which hang on the corner of the tile, do
/// not decide on which side of a border a place lies.
const PLACES_A_CELL: f64 = 1_048_576.0;

/// What the target holds where there is no value. No data comes near it.
const NO_VALUE: f64 = -1.5e308;
const NO_VALUE_F32: f32 = -3.1e38;

/// The two sides of a warp and the way between them.
pub(super) struct Way<'a> {
    /// The target's cells.
    pub target: Affine,
    /// The source's cells.
    pub source: Affine,
    /// Columns of the source.
    pub source_cols: usize,
    /// Rows of the source.
    pub source_rows: usize,
    /// From the target's system to the source's.
    pub to_source: &'a Transform,
    /// From the source's system to the target's.
    pub to_target: &'a Transform,
    /// Whether the source counts in longitude and latitude.
    pub source_geographic: bool,
}

impl Way<'_> {
    fn same(&self) -> bool {
        self.to_source.told().same
    }

    /// Target cells in one source cell, at the middle of the target.
    #[expect(clippy::cast_precision_loss, reason = "counts of cells stay far below 2^52")]
    fn scale(&self, cols: usize, rows: usize) -> (f64, f64) {
        let (col, row) = (cols as f64 / 2.0, rows as f64 / 2.0);
        let mut at_cols = [col - 0.5, col + 0.5, col, col];
        let mut at_rows = [row, row, row - 0.5, row + 0.5];
        if self.same() {
            // The middle hangs on the tile; the sizes of cells do not.
            let [_, x_col, _, _, _, y_row] = self.target.numbers();
            let step = |dx: f64, dy: f64| {
                let (zero, one) = (self.source.to_map(0.0, 0.0), (dx, dy));
                let (col, row) = self.source.to_cell(zero.0 + one.0, zero.1 + one.1);
                1.0 / col.hypot(row)
            };
            return (step(x_col, 0.0), step(0.0, y_row));
        }
        self.to_source(&mut at_cols, &mut at_rows);
        let apart = |a: usize, b: usize| (at_cols[a] - at_cols[b]).hypot(at_rows[a] - at_rows[b]);
        let usable = |cells: f64| {
            if cells.is_finite() && cells > 0.0 {
                1.0 / cells
            } else {
                1.0
            }
        };
        (usable(apart(0, 1)), usable(apart(2, 3)))
    }

    /// Takes values off cells that only touch the source from outside: GDAL's mode
    /// and average look at one source cell at least, even there.
    #[expect(clippy::cast_precision_loss, reason = "counts of cells stay far below 2^52")]
    fn clear_outside(&self, cells: &mut [f64], rows: usize, cols: usize) {
        let (last_col, last_row) = (self.source_cols as f64, self.source_rows as f64);
        let mut corners = (
            [0.0, cols as f64, 0.0, cols as f64],
            [0.0, 0.0, rows as f64, rows as f64],
        );
        self.to_source(&mut corners.0, &mut corners.1);
        // Away from the source's edge nothing can touch it.
        let inside = |place: f64, last: f64| place > 2.0 && place < last - 2.0;
        if corners.0.iter().all(|&col| inside(col, last_col))
            && corners.1.iter().all(|&row| inside(row, last_row))
        {
            return;
        }
        let count = (cols + 1) as f64;
        let mut at_cols: Vec<f64> = Vec::new();
        let mut at_rows: Vec<f64> = Vec::new();
        for (row, line) in cells.chunks_mut(cols).enumerate() {
            at_cols.clear();
            at_rows.clear();
            // Above each column's border, then below it.
            for border in 0..2 * (cols + 1) {
                let below = border > cols;
                at_cols.push(border as f64 - if below { count } else { 0.0 });
                at_rows.push((row + usize::from(below)) as f64);
            }
            self.to_source(&mut at_cols, &mut at_rows);
            for (col, cell) in line.iter_mut().enumerate() {
                let around = [col, col + 1, col + cols + 1, col + cols + 2];
                let beyond = |at: &[f64], last: f64| {
                    around.iter().all(|&corner| at[corner] <= 0.0)
                        || around.iter().all(|&corner| at[corner] >= last)
                };
                if beyond(&at_cols, last_col) || beyond(&at_rows, last_row) {
                    *cell = f64::NAN;
                }
            }
        }
    }
}

impl CellMap for Way<'_> {
    #[expect(clippy::cast_precision_loss, reason = "counts of cells stay far below 2^52")]
    fn to_source(&self, cols: &mut [f64], rows: &mut [f64]) {
        for (col, row) in cols.iter_mut().zip(rows.iter_mut()) {
            (*col, *row) = self.target.to_map(*col, *row);
        }
        self.to_source.apply_to(cols, rows);
        let middle = self
            .source
            .to_map(self.source_cols as f64 / 2.0, self.source_rows as f64 / 2.0);
        for (col, row) in cols.iter_mut().zip(rows.iter_mut()) {
            if self.source_geographic {
                // Some grids count longitude from 0 to 360.
                *col += 360.0 * ((middle.0 - *col) / 360.0).round();
            }
            (*col, *row) = self.source.to_cell(*col, *row);
            if self.same() {
                *col = (*col * PLACES_A_CELL).round() / PLACES_A_CELL;
                *row = (*row * PLACES_A_CELL).round() / PLACES_A_CELL;
            }
        }
    }

    fn to_target(&self, cols: &mut [f64], rows: &mut [f64]) {
        for (col, row) in cols.iter_mut().zip(rows.iter_mut()) {
            (*col, *row) = self.source.to_map(*col, *row);
        }
        self.to_target.apply_to(cols, rows);
        for (col, row) in cols.iter_mut().zip(rows.iter_mut()) {
            (*col, *row) = self.target.to_cell(*col, *row);
        }
    }
}

/// The band to warp.
pub(super) struct Source<'a> {
    /// Its dataset.
    pub dataset: &'a Dataset,
    /// Its number, counted from 1.
    pub band: usize,
    /// The value that stands for missing.
    pub nodata: Option<f64>,
    /// Whether 32-bit floats hold every value exactly.
    pub fits_f32: bool,
}

/// The values of the target's cells, row by row, NaN where there is none. The
/// error is GDAL's words.
pub(super) fn warp(
    source: &Source,
    way: &Way,
    rows: usize,
    cols: usize,
    how: Resampling,
) -> Result<Vec<f64>, String> {
    let mut cells = warped(source, way, rows, cols, how)?;
    if matches!(how, Resampling::Mode | Resampling::Average) {
        way.clear_outside(&mut cells, rows, cols);
    }
    Ok(cells)
}

fn warped(source: &Source, way: &Way, rows: usize, cols: usize, how: Resampling) -> Result<Vec<f64>, String> {
    if source.fits_f32 {
        let cells = warp_as::<f32>(source, way, (rows, cols), how, f64::from(NO_VALUE_F32))?;
        let value = |cell: f32| {
            if cell == NO_VALUE_F32 {
                f64::NAN
            } else {
                f64::from(cell)
            }
        };
        Ok(cells.into_iter().map(value).collect())
    } else {
        let mut cells = warp_as::<f64>(source, way, (rows, cols), how, NO_VALUE)?;
        for cell in cells.iter_mut().filter(|cell| **cell == NO_VALUE) {
            *cell = f64::NAN;
        }
        Ok(cells)
    }
}

fn warp_as<T: GdalType + Copy + Default>(
    source: &Source,
    way: &Way,
    (rows, cols): (usize, usize),
    how: Resampling,
    target_nodata: f64,
) -> Result<Vec<T>, String> {
    messages::forget();
    let words = |error: &gdal::errors::GdalError| messages::reason(error);
    let memory = DriverManager::get_driver_by_name("MEM").map_err(|error| words(&error))?;
    let target = memory
        .create_with_band_type::<T, _>("", cols, rows, 1)
        .map_err(|error| words(&error))?;
    let job = Warp {
        source: source.dataset,
        band: c_int::try_from(source.band).map_err(|error| error.to_string())?,
        target: &target,
        working: GdalDataType::try_from(T::gdal_ordinal()).map_err(|error| words(&error))?,
        how: match how {
            Resampling::Nearest => GDALResampleAlg::GRA_NearestNeighbour,
            Resampling::Mode => GDALResampleAlg::GRA_Mode,
            Resampling::Bilinear => GDALResampleAlg::GRA_Bilinear,
            Resampling::Average => GDALResampleAlg::GRA_Average,
        },
        source_nodata: source.nodata,
        target_nodata,
        scale: way.scale(cols, rows),
        tolerance: if way.same() { 0.0 } else { TOLERANCE_CELLS },
        memory_bytes: PIECE_BYTES,
    };
    let done = c_interface::warp(&job, way);
    // A corrupt block is not always told by the result alone.
    let said = messages::said();
    if !done || !said.is_empty() {
        return Err(said);
    }
    let mut cells = vec![T::default(); rows * cols];
    let band = target.rasterband(1).map_err(|error| words(&error))?;
    band.read_into_slice((0, 0), (cols, rows), (cols, rows), &mut cells, None)
        .map_err(|error| words(&error))?;
    Ok(cells)
}
