//! How a run tells how far it is, and how it is told to stop.

use std::sync::atomic::{AtomicBool, Ordering};

use crate::error::Error;

/// Is told how far a run is.
pub trait Progress: Sync {
    /// A stage begins that has so many rows of the grid to do.
    fn begin(&self, stage: &str, rows: u64);
    /// So many more rows are done.
    fn advance(&self, rows: u64);
    /// The stage is done.
    fn end(&self);
}

/// Tells nobody.
pub struct Silent;

impl Progress for Silent {
    fn begin(&self, _stage: &str, _rows: u64) {}
    fn advance(&self, _rows: u64) {}
    fn end(&self) {}
}

/// A flag that asks a run to stop at the next block.
#[derive(Debug, Default)]
pub struct Stop(AtomicBool);

impl Stop {
    /// A flag that does not ask.
    #[must_use]
    pub const fn new() -> Stop {
        Stop(AtomicBool::new(false))
    }

    /// Asks the run to stop.
    pub fn ask(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Goes on unless asked to stop.
    ///
    /// # Errors
    /// When the run was asked to stop.
    pub fn check(&self) -> Result<(), Error> {
        if self.0.load(Ordering::Relaxed) {
            Err(Error::Interrupted)
        } else {
            Ok(())
        }
    }
}
