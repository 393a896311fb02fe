//! GDAL's own words: an error handler that never prints and keeps the messages of
//! each thread, and the settings made once for the process.

use std::cell::RefCell;
use std::sync::Once;

use gdal::config::{set_config_option, set_error_handler};
use gdal::errors::{CplErrType, GdalError};

use super::c_interface;

/// The messages kept for a thread: the first, which is nearest to the cause, and the
/// latest.
const KEPT: usize = 16;

thread_local! {
    static FAILURES: RefCell<Vec<String>> = const { RefCell::new(Vec::new()) };
}

/// Makes GDAL ready for this process and sets the memory of its block cache.
/// It may be called again with another size. GDAL no longer prints; PROJ stays
/// off the network; nothing is written beside the user's files.
pub fn start(cache_mb: usize) {
    start_once();
    c_interface::set_cache_mb(cache_mb);
}

/// What every way into `gis` calls first.
pub(super) fn start_once() {
    static STARTED: Once = Once::new();
    STARTED.call_once(|| {
        set_error_handler(|severity, _number, text| {
            if matches!(severity, CplErrType::Failure | CplErrType::Fatal) {
                keep(text);
            }
        });
        // GDAL_PAM_ENABLED stays on: off, it would hide what stands in side
        // files, nodata and names of classes among it. Nothing is written there,
        // because files are opened for reading and no statistics are asked for.
        for (key, value) in [("GDAL_NUM_THREADS", "1"), ("SHAPE_RESTORE_SHX", "NO")] {
            // A key or value with a zero byte is the only way this can fail.
            let _ = set_config_option(key, value);
        }
        c_interface::network_off();
        c_interface::linear_geometries();
    });
}

fn keep(text: &str) {
    // While a thread ends its storage may be gone already.
    let _ = FAILURES.try_with(|failures| {
        if let Ok(mut failures) = failures.try_borrow_mut() {
            if failures.len() == KEPT {
                failures.remove(1);
            }
            failures.push(text.trim().to_owned());
        }
    });
}

/// Forgets what this thread was told.
pub(super) fn forget() {
    start_once();
    drop(take());
}

/// The failures this thread was told since it last asked.
pub(super) fn take() -> Vec<String> {
    FAILURES.with(RefCell::take)
}

/// Runs something whose failures do not count.
pub(super) fn unheard<T>(run: impl FnOnce() -> T) -> T {
    let before = take();
    let result = run();
    FAILURES.set(before);
    result
}

/// What the work returns, unless GDAL reported a failure while it went on. Closing and
/// flushing return nothing in GDAL 3.6, so a full disk shows only in its messages.
///
/// # Errors
/// The first failure GDAL reported, in its words, else the error the work returned.
pub(super) fn heeded<T>(work: impl FnOnce() -> Result<T, GdalError>) -> Result<T, String> {
    start_once();
    let before = take();
    let result = work();
    let first = FAILURES
        .with(|failures| failures.replace(before))
        .into_iter()
        .next();
    match (first, result) {
        (Some(message), _) => Err(message),
        (None, result) => result.map_err(|error| error.to_string()),
    }
}

/// The words for an error: what GDAL said since it was last asked, else what the binding says.
pub(super) fn reason(error: &GdalError) -> String {
    let said = said();
    if said.is_empty() { error.to_string() } else { said }
}

/// What GDAL said on this thread since it was last asked, in one line.
pub(super) fn said() -> String {
    let mut said = take();
    said.dedup();
    said.retain(|text| !text.is_empty());
    said.join("; ")
}

#[cfg(test)]
mod tests {
    use gdal::{Dataset, DatasetOptions, GdalOpenFlags};

    use super::*;

    fn open_loudly(path: &str) -> Result<Dataset, GdalError> {
        let options = DatasetOptions {
            open_flags: GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
            ..DatasetOptions::default()
        };
        Dataset::open_ex(path, options)
    }

    #[test]
    fn what_gdal_says_comes_out_as_an_error() {
        let message = heeded(|| open_loudly("no such file.gpkg")).err().unwrap();
        assert!(message.contains("no such file.gpkg"), "{message}");
    }

    #[test]
    fn a_failure_that_only_the_handler_sees_is_not_lost() {
        let result = heeded(|| {
            let _ = open_loudly("first.gpkg");
            for number in 0..2 * KEPT {
                let _ = open_loudly(&format!("{number}.gpkg"));
            }
            Ok(1)
        });
        assert!(result.unwrap_err().contains("first.gpkg"));
        assert_eq!(heeded(|| Ok(1)), Ok(1), "the next piece of work starts afresh");
    }

    #[test]
    fn work_that_is_heeded_leaves_what_was_said_before() {
        forget();
        let _ = open_loudly("before.gpkg");
        assert!(heeded(|| open_loudly("within.gpkg")).is_err());
        let said = said();
        assert!(
            said.contains("before.gpkg") && !said.contains("within.gpkg"),
            "{said}"
        );
    }
}
