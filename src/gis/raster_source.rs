//! One band of a raster for a whole run and all its threads: files are opened once a
//! thread and used again, cells that lie on the grid are read as they are, each block
//! once a pass, and only what does not lie on it goes through the warper.

use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};

use super::chunks::{Chunks, Place};
use super::plain_cells::{self, Cells};
use super::raster_reader::fits_f32;
use super::{Affine, GisError, RasterFile, RasterReader, Resampling, crs};
use crate::grid::{Crs, Extent, PackedCells, Raster, TILE_CELLS, Window};

/// Cells that a piece of a raster has at least, where the raster has as many.
const LEAST_CELLS: usize = TILE_CELLS * TILE_CELLS;

/// Blocks of more cells than this are left to GDAL's own cache.
const MOST_CELLS: usize = 16 << 20;

/// One band of a raster, read by any number of threads.
#[derive(Debug)]
pub struct RasterSource {
    file: RasterFile,
    band: usize,
    crs_override: Option<Crs>,
    nodata_override: Option<f64>,
    /// Open and not in use.
    idle: Mutex<Vec<RasterReader>>,
    /// The last system cells were wanted in, and whether the raster's is the same.
    same: OnceLock<(Crs, bool)>,
    /// Whether its values are small whole numbers.
    of_bytes: bool,
    /// Nothing where neighbours cannot share what was decoded.
    pieces: Option<Pieces>,
}

/// Pieces for each thread that stay though tiles further east are read already, which some
/// thread may be ahead with.
const AT_HAND: usize = 6;

/// How a raster is cut into pieces of whole blocks.
#[derive(Debug)]
struct Pieces {
    cols: usize,
    rows: usize,
    /// Those that neighbours may need again.
    of_neighbours: usize,
    held: Chunks,
}

impl Pieces {
    fn of(file: &RasterFile, grid_cols: usize) -> Pieces {
        let whole_blocks = |least: usize, block: usize| least.div_ceil(block.max(1)).max(1) * block.max(1);
        let cols = whole_blocks(TILE_CELLS, file.block.0).min(file.cols.max(1));
        let rows = whole_blocks(LEAST_CELLS / cols, file.block.1).min(file.rows.max(1));
        // The rows of a band of the grid with a cell around, wherever it starts.
        let down = (TILE_CELLS + 2).div_ceil(rows) + 1;
        let across = (grid_cols.div_ceil(cols) + 1).min(file.cols.div_ceil(cols));
        // While pieces come in on the last of these rows, those of the first go.
        let of_neighbours = (down - 1) * across + AT_HAND * rayon::current_num_threads();
        let of_neighbours = of_neighbours.min(file.rows.div_ceil(rows) * across);
        Pieces {
            cols,
            rows,
            of_neighbours,
            held: Chunks::with_room_for(of_neighbours),
        }
    }

    /// Cells of those that are kept at most.
    fn most_cells(&self) -> usize {
        self.of_neighbours * self.cols * self.rows
    }

    fn cells(&self, (row, col): Place, file: &RasterFile) -> Cells {
        let (row, col) = (row * self.rows, col * self.cols);
        Cells {
            row,
            col,
            rows: self.rows.min(file.rows - row),
            cols: self.cols.min(file.cols - col),
        }
    }
}

/// Where `count` cells from a first one meet those from 0 to an end: first cell met,
/// how many lie before it, how many are met.
fn overlap(first: i64, count: usize, end: usize) -> Option<(usize, usize, usize)> {
    let before = usize::try_from(first.checked_neg()?.max(0)).ok()?;
    let met = usize::try_from(first.max(0)).ok()?;
    let left = count.checked_sub(before)?.min(end.checked_sub(met)?);
    (left > 0).then_some((met, before, left))
}

impl RasterSource {
    /// One band of a raster, counted from 1, for a grid of so many columns. What the
    /// user says about system and nodata takes the place of what the file says.
    #[must_use]
    pub fn new(
        file: RasterFile,
        band: usize,
        crs_override: Option<Crs>,
        nodata_override: Option<f64>,
        grid_cols: usize,
    ) -> RasterSource {
        let facts = band.checked_sub(1).and_then(|index| file.bands.get(index));
        let pieces = facts
            .filter(|facts| fits_f32(facts))
            .map(|_| Pieces::of(&file, grid_cols));
        let pieces = pieces.filter(|pieces| pieces.cols * pieces.rows <= MOST_CELLS);
        #[expect(clippy::float_cmp, reason = "1 and 0 stand for no scale and no offset")]
        let of_bytes = facts.is_some_and(|facts| facts.is_byte && facts.scale == 1.0 && facts.offset == 0.0);
        RasterSource {
            of_bytes,
            file,
            band,
            crs_override,
            nodata_override,
            idle: Mutex::default(),
            same: OnceLock::new(),
            pieces,
        }
    }

    /// The file.
    #[must_use]
    pub fn file(&self) -> &RasterFile {
        &self.file
    }

    /// The most memory that cells kept for neighbouring tiles can take.
    ///
    /// # Units
    /// Bytes.
    #[must_use]
    pub fn kept_bytes(&self) -> u64 {
        let bytes_a_cell = if self.of_bytes { 1 } else { size_of::<f32>() };
        let cells = self.pieces.as_ref().map_or(0, Pieces::most_cells);
        (cells * bytes_a_cell) as u64
    }

    /// Whether its values are small whole numbers.
    #[must_use]
    pub fn holds_bytes(&self) -> bool {
        self.of_bytes
    }

    /// Lets cells go that were kept for neighbours in a pass that is over, and files that
    /// are open, with what GDAL keeps of them.
    pub fn end_pass(&self) {
        if let Some(pieces) = &self.pieces {
            pieces.held.let_go();
        }
        self.idle().clear();
    }

    /// The readers are whole even when another thread broke off.
    fn idle(&self) -> MutexGuard<'_, Vec<RasterReader>> {
        self.idle.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The values of a grid of `rows` x `cols` cells that fills an extent.
    ///
    /// # Missing
    /// NaN where the source has no value, holds NaN or infinity, or does not reach.
    ///
    /// # Method
    /// Where the grid lies on the raster's own cells, within 2^-22 of a cell and in the
    /// same system, each cell's value is its own: what [`RasterReader::read`] gives for
    /// nearest and bilinear resampling, bit by bit. Else that way is taken.
    ///
    /// # Errors
    /// A file that can no longer be opened, a corrupt block, no way between the systems, a
    /// class code too large.
    pub fn read(
        &self,
        target: &Extent,
        rows: usize,
        cols: usize,
        crs: &Crs,
        how: Resampling,
    ) -> Result<Raster<f32>, GisError> {
        let one_to_one = matches!(how, Resampling::Nearest | Resampling::Bilinear);
        let affine = Affine::of_extent(target, rows, cols);
        if let (true, Some(affine)) = (one_to_one && self.is_in(crs), affine)
            && let Some(first) = plain_cells::lies_on(affine, rows, cols, self.file.affine)
        {
            return self.read_plain(first, rows, cols, how == Resampling::Nearest);
        }
        self.with_reader(|reader| reader.read(target, rows, cols, crs, how))
    }

    /// Whether the raster's system is exactly this one.
    fn is_in(&self, crs: &Crs) -> bool {
        let own = self.crs_override.as_ref().or(self.file.crs.as_ref());
        let compare = || own.is_some_and(|own| self.is_flat(own) && crs::same_system(own, crs));
        let (known, same) = self.same.get_or_init(|| (crs.clone(), compare()));
        if known == crs { *same } else { compare() }
    }

    /// Longitudes may be counted in two ways, which the warper settles.
    fn is_flat(&self, own: &Crs) -> bool {
        !self.file.rotated && crs::crs_facts(own).is_ok_and(|facts| !facts.geographic)
    }

    fn read_plain(
        &self,
        (first_row, first_col): (i64, i64),
        rows: usize,
        cols: usize,
        classes: bool,
    ) -> Result<Raster<f32>, GisError> {
        let whole = Window {
            row: 0,
            col: 0,
            rows,
            cols,
        };
        let mut raster = Raster::filled(whole, f32::NAN);
        let down = overlap(first_row, rows, self.file.rows);
        let along = overlap(first_col, cols, self.file.cols);
        let (Some((row, to_row, rows)), Some((col, to_col, cols))) = (down, along) else {
            return Ok(raster);
        };
        let wanted = Cells { row, col, rows, cols };
        let mut copy = |from: Cells, values: &PackedCells| {
            let (top, left) = (from.row.max(row), from.col.max(col));
            let bottom = (from.row + from.rows).min(row + rows);
            let width = (from.col + from.cols).min(col + cols) - left;
            for line in top..bottom {
                let start = (line - from.row) * from.cols + left - from.col;
                let to = to_col + left - col;
                let to = &mut raster.row_mut(to_row + line - row)[to..to + width];
                values.copy(start..start + width, to);
            }
        };
        if let Some(pieces) = &self.pieces {
            let meets =
                |first: usize, count: usize, side: usize| first / side..(first + count).div_ceil(side);
            let (down, across) = (meets(row, rows, pieces.rows), meets(col, cols, pieces.cols));
            // What lies in one piece no neighbour is likely to need.
            if down.len() * across.len() > 1 {
                let places = down.flat_map(|row| across.clone().map(move |col| (row, col)));
                let read = |place| {
                    let cells = pieces.cells(place, &self.file);
                    let values = self.with_reader(|reader| reader.cells(cells, classes));
                    values.map(|values| PackedCells::of(values.into()))
                };
                let all = pieces.held.each(places, read, |place, values| {
                    copy(pieces.cells(place, &self.file), values);
                });
                // A spoilt block of a piece may lie beside the cells that are wanted.
                if all.is_ok() {
                    return Ok(raster);
                }
            }
        }
        let values = self.with_reader(|reader| reader.cells(wanted, classes))?;
        copy(wanted, &PackedCells::Floats(values));
        Ok(raster)
    }

    /// Does something with an open reader, which nobody else has meanwhile.
    fn with_reader<T>(&self, work: impl FnOnce(&RasterReader) -> Result<T, GisError>) -> Result<T, GisError> {
        let taken = self.idle().pop();
        let reader = match taken {
            Some(reader) => reader,
            None => RasterReader::open(
                &self.file,
                self.band,
                self.crs_override.as_ref(),
                self.nodata_override,
            )?,
        };
        let done = work(&reader);
        self.idle().push(reader);
        done
    }
}
