//! A raster's own cells, read as they lie: where a grid lies on them, and the values
//! of a window with nodata, scale and offset settled as for a warped one. Masks have
//! become nodata before. Knows no systems.

use gdal::raster::{GdalType, RasterBand};
use pulp::Arch;

use super::raster_reader::{EXACT_F32, RasterReader};
use super::{Affine, GisError, messages};

/// How far a grid may lie off a raster's cells to count as lying on them, in cells. The
/// warper is given places rounded to four times this part of a cell, so that it would
/// read the very same cells.
const OFF_CELLS: f64 = 1.0 / 4_194_304.0;

/// Cells of a raster: a first row and column and their numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Cells {
    pub row: usize,
    pub col: usize,
    pub rows: usize,
    pub cols: usize,
}

/// The row and column of a raster on which the first cell of a target lies, which may
/// be outside; nothing when any cell of the target is not exactly one of the raster's.
#[expect(clippy::cast_precision_loss, reason = "counts of cells stay far below 2^52")]
#[expect(
    clippy::cast_possible_truncation,
    reason = "rounded places; what is no number or too large is refused by the comparison"
)]
pub(super) fn lies_on(target: Affine, rows: usize, cols: usize, source: Affine) -> Option<(i64, i64)> {
    let middle = |col: f64, row: f64| {
        let (x, y) = target.to_map(col + 0.5, row + 0.5);
        let (col, row) = source.to_cell(x, y);
        (col - 0.5, row - 0.5)
    };
    let (col, row) = middle(0.0, 0.0);
    let (first_col, first_row) = (col.round(), row.round());
    let (last_col, last_row) = (cols as f64 - 1.0, rows as f64 - 1.0);
    let corners = [(0.0, 0.0), (last_col, 0.0), (0.0, last_row), (last_col, last_row)];
    let lies = corners.into_iter().all(|(along, down)| {
        let (col, row) = middle(along, down);
        (col - first_col - along).abs() <= OFF_CELLS && (row - first_row - down).abs() <= OFF_CELLS
    });
    (lies && first_col.abs() < 1e15 && first_row.abs() < 1e15).then_some((first_row as i64, first_col as i64))
}

/// A type in which cells are read, and GDAL's warper compares them with nodata.
trait Read: GdalType + Copy + Default + Into<f64> {
    fn of(nodata: f64) -> Self;
    /// Whether a value is the one for missing. Near ones count as well, within twice the
    /// last digit of a 32-bit float of their sum, as in the warper.
    fn is(self, nodata: Self) -> bool;
    /// The value where it is stored without scale and offset, as
    /// [`RasterReader::measured`] has it.
    fn as_it_is(self) -> f32;
}

/// What becomes of each number, several at once.
fn each<T: Read>(read: Vec<T>, value: impl Fn(T) -> f32) -> Vec<f32> {
    Arch::new().dispatch(
        #[inline(always)]
        || read.into_iter().map(value).collect(),
    )
}

#[inline(always)]
fn missing_or(is_missing: bool, value: f32) -> f32 {
    if is_missing { f32::NAN } else { value }
}

macro_rules! read_as {
    ($($float:ty),*) => {$(
        impl Read for $float {
            #[expect(clippy::allow_attributes, reason = "one of the two types needs no cast")]
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_lossless,
                reason = "nodata is compared in the type of the cells"
            )]
            fn of(nodata: f64) -> $float {
                nodata as $float
            }

            #[expect(clippy::float_cmp, reason = "the same value is meant, or one a digit off")]
            // No branch may hang on the value, so that several are compared at once.
            #[inline(always)]
            fn is(self, nodata: $float) -> bool {
                (self == nodata)
                    | ((self - nodata).abs() < <$float>::from(f32::EPSILON) * (self + nodata).abs() * 2.0)
                    | (self.is_nan() & nodata.is_nan())
            }

            #[expect(clippy::allow_attributes, reason = "one of the two types needs no cast")]
            #[allow(clippy::cast_possible_truncation, reason = "measured values need no more digits")]
            #[inline(always)]
            fn as_it_is(self) -> f32 {
                // A zero below zero becomes a plain one.
                let value = self as f32 + 0.0;
                missing_or(!value.is_finite(), value)
            }
        }
    )*};
}
read_as!(f32, f64);

impl RasterReader {
    /// The values of some cells, row by row, NaN where there is none.
    ///
    /// # Errors
    /// A corrupt block, told with its place; a class code too large.
    pub(super) fn cells(&self, cells: Cells, classes: bool) -> Result<Vec<f32>, GisError> {
        if self.fits_f32 {
            self.cells_as::<f32>(cells, classes)
        } else {
            self.cells_as::<f64>(cells, classes)
        }
    }

    fn cells_as<T: Read>(&self, cells: Cells, classes: bool) -> Result<Vec<f32>, GisError> {
        let band = self.dataset.rasterband(self.band_in_dataset);
        let band = band.map_err(|error| self.failed(&cells, messages::reason(&error)))?;
        let read: Vec<T> =
            raw(&band, cells).map_err(|reason| self.failed(&cells, self.with_block(&band, cells, reason)))?;
        let nodata = self.nodata.map(T::of);
        let is_missing = |value: T| nodata.is_some_and(|nodata| value.is(nodata));
        if classes && self.is_integer && !self.fits_f32 {
            let mut present = read.iter().filter(|value| !is_missing(**value));
            if let Some(&code) = present.find(|value| (**value).into().abs() > EXACT_F32) {
                return Err(GisError::CodeTooLarge {
                    path: self.path.clone(),
                    band: self.band,
                    code: code.into(),
                });
            }
        }
        Ok(self.values_of(read, nodata))
    }

    /// Stored numbers as values.
    #[expect(clippy::float_cmp, reason = "1 and 0 stand for no scale and no offset")]
    fn values_of<T: Read>(&self, read: Vec<T>, nodata: Option<T>) -> Vec<f32> {
        let as_stored = self.scale == 1.0 && self.offset == 0.0;
        match (nodata, as_stored) {
            (Some(nodata), true) => each(read, |value| missing_or(value.is(nodata), value.as_it_is())),
            (None, true) => each(read, Read::as_it_is),
            (Some(nodata), false) => each(read, |value| {
                missing_or(value.is(nodata), self.measured(value.into()))
            }),
            (None, false) => each(read, |value| self.measured(value.into())),
        }
    }

    /// What went wrong, with the first block of the cells that cannot be read. Of a
    /// folder of tiles GDAL's own words name the file.
    fn with_block(&self, band: &RasterBand, cells: Cells, reason: String) -> String {
        let Some((cols, rows)) = self.block else {
            return reason;
        };
        let across = cells.col / cols..(cells.col + cells.cols).div_ceil(cols);
        for row in cells.row / rows..(cells.row + cells.rows).div_ceil(rows) {
            for col in across.clone() {
                let one = Cells {
                    row: (row * rows).max(cells.row),
                    col: (col * cols).max(cells.col),
                    rows: 1,
                    cols: 1,
                };
                if let Err(reason) = raw::<f64>(band, one) {
                    return format!(
                        "the block in row {row}, column {col} of blocks, counted from 0: {reason}"
                    );
                }
            }
        }
        reason
    }

    fn failed(&self, cells: &Cells, reason: String) -> GisError {
        GisError::ReadRaster {
            path: self.path.clone(),
            band: self.band,
            area: format!(
                "rows {} to {} and columns {} to {} of the file",
                cells.row,
                cells.row + cells.rows - 1,
                cells.col,
                cells.col + cells.cols - 1
            ),
            reason,
        }
    }
}

/// The error is GDAL's words.
fn raw<T: Read>(band: &RasterBand, cells: Cells) -> Result<Vec<T>, String> {
    messages::forget();
    let outside = |_| "the raster is too large".to_owned();
    let first = (
        isize::try_from(cells.col).map_err(outside)?,
        isize::try_from(cells.row).map_err(outside)?,
    );
    let size = (cells.cols, cells.rows);
    let mut values = vec![T::default(); cells.rows * cells.cols];
    let done = band.read_into_slice(first, size, size, &mut values, None);
    // A corrupt block is not always told by the result alone.
    let said = messages::said();
    match done {
        Err(error) if said.is_empty() => Err(error.to_string()),
        Ok(()) if said.is_empty() => Ok(values),
        _ => Err(said),
    }
}
