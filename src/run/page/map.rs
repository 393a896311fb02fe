//! What is drawn on the page.

use super::PageParts;
use crate::error::Error;
use crate::report::{Course, MapData};
use crate::zones::outlines::Corner;

/// The map of a run.
///
/// # Errors
/// A layer behind the map can no longer be read.
#[expect(clippy::unnecessary_wraps, reason = "layers behind the map are read next")]
pub fn map(parts: &PageParts) -> Result<MapData, Error> {
    let borders = &parts.for_page.borders;
    Ok(MapData {
        borders: borders.courses.iter().map(|course| corners(course)).collect(),
        rings: borders.zones.clone(),
        lines: Vec::new(),
        relief: None,
        not_rated: None,
        simplify_m: parts.for_page.simplify_m,
        simplify_files_m: parts.settings.simplify_m,
    })
}

fn corners(course: &[Corner]) -> Course {
    let whole = |number: u32| i32::try_from(number).unwrap_or(i32::MAX);
    Course(
        course
            .iter()
            .map(|corner| (whole(corner.col), whole(corner.row)))
            .collect(),
    )
}
