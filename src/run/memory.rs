//! Whether a run fits the memory that is free.

use super::prepared::Prepared;
use crate::error::Error;

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

/// Memory that can be had without swapping; nothing where the system does not tell.
fn free_bytes() -> Option<u64> {
    available(&std::fs::read_to_string("/proc/meminfo").ok()?)
}

fn available(told: &str) -> Option<u64> {
    let line = told.lines().find_map(|line| line.strip_prefix("MemAvailable:"))?;
    let kilobytes: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    kilobytes.checked_mul(1024)
}

#[cfg(test)]
mod tests {
    use super::available;

    #[test]
    fn free_memory_is_read_from_what_the_system_tells() {
        let told = "MemTotal:       24576000 kB\nMemFree:          100000 kB\nMemAvailable:   16000000 kB\n";
        assert_eq!(available(told), Some(16_384_000_000));
        assert_eq!(available("MemTotal: 1 kB"), None);
    }
}
