//! The files that a layer consists of on disk.

use std::path::{Path, PathBuf};

use super::{GisError, inspect_raster, inspect_vector};

/// The files of a raster or vector layer: several for a shapefile or a folder of
/// tiles.
///
/// # Errors
/// Nothing GDAL can read.
pub fn files_of(path: &Path) -> Result<Vec<PathBuf>, GisError> {
    match inspect_raster(path) {
        Ok(raster) => Ok(raster.files),
        Err(_) => inspect_vector(path).map(|vector| vector.files),
    }
}
