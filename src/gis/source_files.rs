//! The files that a layer consists of on disk.

use std::path::{Path, PathBuf};

use super::{GisError, inspect_raster, inspect_vector};

/// The files of a raster or vector layer: several for a shapefile or a folder of
/// tiles.
///
/// # Errors
/// Nothing GDAL can read.
pub fn files_of(path: &Path) -> Result<Vec<PathBuf>, GisError> {
    let found = match inspect_raster(path) {
        Ok(raster) => raster.files,
        Err(_) => inspect_vector(path)?.files,
    };
    let mut files = Vec::new();
    for file in found {
        add_files(file, &mut files);
    }
    if path.is_dir() {
        // GDAL lists a folder as the disk does, which differs from host to host.
        files.sort();
    }
    files.dedup();
    Ok(files)
}

/// Some formats are folders, and GDAL names the folder for all that is in it.
fn add_files(path: PathBuf, files: &mut Vec<PathBuf>) {
    let Some(entries) = std::fs::read_dir(&path).ok().filter(|_| path.is_dir()) else {
        files.push(path);
        return;
    };
    let mut inside: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    inside.sort();
    for path in inside {
        add_files(path, files);
    }
}

#[cfg(test)]
mod tests {
    use super::add_files;

    #[test]
    fn a_folder_stands_for_the_files_in_it() {
        let folder = tempfile::tempdir().unwrap();
        let inner = folder.path().join("a.zarr/ph");
        std::fs::create_dir_all(&inner).unwrap();
        std::fs::write(inner.join("0.0"), "").unwrap();
        std::fs::write(folder.path().join("a.zarr/zgroup"), "").unwrap();
        let mut files = Vec::new();
        add_files(folder.path().join("a.zarr"), &mut files);
        add_files(folder.path().join("none.tif"), &mut files);
        let names = ["a.zarr/ph/0.0", "a.zarr/zgroup", "none.tif"];
        assert_eq!(files, names.map(|name| folder.path().join(name)));
    }
}
