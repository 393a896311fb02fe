//! Whether a run fits the memory that is free.

use super::prepared::Prepared;
use crate::error::Error;
use crate::free_memory::free_bytes;

/// Refuses a run that needs more memory than is free, before anything is written.
///
/// # Errors
/// Too little memory, with a cell size that would fit.
#[expect(clippy::cast_precision_loss, reason = "an estimate for people")]
pub fn refuse_too_large(prepared: &Prepared, needed: u64) -> Result<(), Error> {
    let grid = prepared.site.grid();
    let Some(free) = free_bytes().filter(|free| needed > *free) else {
        return Ok(());
    };
    // Most of it grows with the number of cells.
    let fits_m = grid.cell_m() * (needed as f64 / free.max(1) as f64).sqrt();
    Err(Error::TooLittleMemory {
        rows: grid.rows(),
        cols: grid.cols(),
        needed_mb: needed / 1_000_000,
        free_mb: free / 1_000_000,
        fits_m,
    })
}
