//! A way between two systems that may go from thread to thread, so that what was
//! opened once serves the whole run. Knows no coordinates.
#![expect(
    unsafe_code,
    reason = "the safe binding says nothing of sending a transformation"
)]

use std::ops::Deref;

use gdal::spatial_ref::CoordTransform;

/// GDAL's transformation, used by one thread at a time but not always the same.
#[derive(Debug)]
pub(super) struct Sent(CoordTransform);

// SAFETY: nothing but this value refers to the transformation (the binding clones the
// two systems it is made from), and the type is not `Sync`, so one thread at a time
// uses it. GDAL hands PROJ the context of the thread that calls, at each use and when
// the transformation is destroyed, so no context of another thread is touched.
unsafe impl Send for Sent {}

impl Sent {
    pub fn new(transform: CoordTransform) -> Sent {
        Sent(transform)
    }
}

impl Deref for Sent {
    type Target = CoordTransform;

    fn deref(&self) -> &CoordTransform {
        &self.0
    }
}
