//! Catches what GDAL reports while it works. Closing and flushing return nothing
//! in GDAL 3.6, so a full disk shows only in its error handler. In comes a piece of
//! work, out goes its result, or the first error GDAL spoke of on this thread.

#![expect(
    unsafe_code,
    reason = "GDAL's error handler stack is reached through its C interface only"
)]

use std::cell::RefCell;
use std::ffi::{CStr, c_char};

use gdal::Dataset;
use gdal::errors::GdalError;
use gdal_sys::{CPLErr, CPLErrorNum, CPLPopErrorHandler, CPLPushErrorHandler};

thread_local! {
    /// The messages of each trap that is open on this thread, the innermost last.
    static CAUGHT: RefCell<Vec<Vec<String>>> = const { RefCell::new(Vec::new()) };
}

unsafe extern "C" fn catch(class: CPLErr::Type, _number: CPLErrorNum, message: *const c_char) {
    if class < CPLErr::CE_Failure || message.is_null() {
        return;
    }
    // SAFETY: GDAL hands over a text that ends in a zero byte and lives through the call.
    let text = unsafe { CStr::from_ptr(message) };
    let text = text.to_string_lossy().into_owned();
    CAUGHT.with_borrow_mut(|traps| {
        if let Some(messages) = traps.last_mut() {
            messages.push(text);
        }
    });
}

/// Takes the handler off again, also when the work panics.
struct Trap;

impl Trap {
    fn open() -> Trap {
        CAUGHT.with_borrow_mut(|traps| traps.push(Vec::new()));
        // SAFETY: `catch` has the signature GDAL asks for, never unwinds on what GDAL
        // gives it, and is popped on the same thread when the trap is dropped.
        unsafe { CPLPushErrorHandler(Some(catch)) };
        Trap
    }

    fn messages() -> Vec<String> {
        CAUGHT.with_borrow_mut(|traps| traps.last_mut().map(std::mem::take).unwrap_or_default())
    }
}

impl Drop for Trap {
    fn drop(&mut self) {
        // SAFETY: pops the handler that `open` pushed; traps close in reverse order.
        unsafe { CPLPopErrorHandler() };
        CAUGHT.with_borrow_mut(Vec::pop);
    }
}

/// What the work returns, unless GDAL reported an error while it went on.
///
/// # Errors
/// The first error GDAL reported, in its words, else the error the work returned.
pub(super) fn trapped<T>(work: impl FnOnce() -> Result<T, GdalError>) -> Result<T, String> {
    let trap = Trap::open();
    let result = work();
    let first = Trap::messages().into_iter().next();
    drop(trap);
    match (first, result) {
        (Some(message), _) => Err(message),
        (None, Err(error)) => Err(error.to_string()),
        (None, Ok(value)) => Ok(value),
    }
}

/// A dataset that is closed under a trap also when it is dropped half-way, so that
/// GDAL does not print what the caller has been told already.
pub(super) struct OpenDataset(Option<Dataset>);

impl OpenDataset {
    pub(super) fn new(dataset: Dataset) -> OpenDataset {
        OpenDataset(Some(dataset))
    }

    pub(super) fn get(&mut self) -> Result<&mut Dataset, GdalError> {
        let closed = || GdalError::BadArgument("the file is closed".to_owned());
        self.0.as_mut().ok_or_else(closed)
    }

    /// Closes the dataset; to be called within a trap.
    pub(super) fn close(mut self) -> Result<(), GdalError> {
        self.0.take().map_or(Ok(()), Dataset::close)
    }
}

impl Drop for OpenDataset {
    fn drop(&mut self) {
        if let Some(dataset) = self.0.take() {
            let _ = trapped(|| dataset.close());
        }
    }
}

#[cfg(test)]
mod tests {
    use gdal::{DatasetOptions, GdalOpenFlags};

    use super::*;

    fn open_loudly() -> Result<Dataset, GdalError> {
        let options = DatasetOptions {
            open_flags: GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
            ..DatasetOptions::default()
        };
        Dataset::open_ex("no such file.gpkg", options)
    }

    #[test]
    fn what_gdal_says_comes_out_as_an_error() {
        let message = trapped(open_loudly).err().unwrap();
        assert!(message.contains("no such file.gpkg"), "{message}");
    }

    #[test]
    fn an_error_that_only_the_handler_sees_is_not_lost() {
        let result = trapped(|| {
            let _ = open_loudly();
            Ok(1)
        });
        assert!(result.is_err());
        assert_eq!(trapped(|| Ok(1)), Ok(1), "the next piece of work starts afresh");
    }
}
