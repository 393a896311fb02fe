//! GDAL's own words: an error handler that never prints and keeps the last
//! messages of each thread, and the settings made once for the process.

use std::cell::RefCell;
use std::sync::Once;

use gdal::config::{set_config_option, set_error_handler};
use gdal::errors::{CplErrType, GdalError};

use super::c_interface;

/// The messages kept for a thread; older ones are dropped.
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
                failures.remove(0);
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
    FAILURES.with(|failures| *failures.borrow_mut() = before);
    result
}

/// The words for an error: what GDAL said last, else what the binding says.
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
