//! Where a layer or a table lies: the path as written, made relative to the
//! project file, and looked for. Opens nothing.

use std::path::{Component, Path, PathBuf};

use super::reader::{Found, Spot};
use super::table::Table;
use crate::nearest::{nearest, quoted};

/// A layer as the project file names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LayerRef {
    /// The file, the folder of tiles or the `/vsi...` path to open.
    pub path: PathBuf,
    /// The path as the project file has it, which is how messages call the layer.
    pub as_written: String,
    /// The layer inside the file, for files that hold several.
    pub sublayer: Option<String>,
    /// The features to take: a condition as after `WHERE` in OGR SQL.
    pub filter: Option<String>,
    /// The coordinate reference system, where the file does not tell it.
    pub crs: Option<String>,
}

impl LayerRef {
    /// The layer whose path stands under `key`; `sublayer`, `filter` and `crs`
    /// are keys of the same table.
    pub(super) fn read(table: &Table, key: &'static str) -> Option<LayerRef> {
        let sublayer = table.text("sublayer");
        let filter = table.text("filter");
        let crs = table.text("crs");
        let path = table.text(key)?;
        Some(LayerRef {
            path: existing(&path)?,
            as_written: path.value.to_owned(),
            sublayer: sublayer.map(|found| found.value.to_owned()),
            filter: filter.map(|found| found.value.to_owned()),
            crs: crs.map(|found| found.value.to_owned()),
        })
    }
}

/// Whether GDAL, and not the file system, is to find the path.
pub(super) fn is_virtual(path: &Path) -> bool {
    path.to_str().is_some_and(|path| path.starts_with("/vsi"))
}

/// The path a project file means: relative ones start at its folder.
pub(super) fn resolved(folder: &Path, written: &str) -> PathBuf {
    folder.join(written)
}

/// The path under a key, when there is something there; a `/vsi...` path is
/// taken as it is.
pub(super) fn existing(found: &Found<&str>) -> Option<PathBuf> {
    let written = found.value;
    if let Some((scheme, _)) = written.split_once("://").filter(|_| !written.starts_with("/vsi")) {
        let way = match scheme {
            "http" | "https" | "ftp" => format!("; write `/vsicurl/{written}`"),
            "s3" => "; write `/vsis3/...`".to_owned(),
            _ => String::new(),
        };
        found.spot.problem(format!(
            "found the web address {}, needed a path{way}",
            quoted(written)
        ));
        return None;
    }
    if written.contains('\0') {
        found
            .spot
            .problem(format!("found {}, needed a path", quoted(written)));
        return None;
    }
    let path = resolved(found.spot.folder(), written);
    if is_virtual(&path) {
        return Some(inside_archive(found.spot.folder(), written).unwrap_or(path));
    }
    must_exist(&path, written, &found.spot).then_some(path)
}

/// A path into an archive whose own path is relative: like all others it starts at the
/// project's folder. Nothing when no such archive lies there.
fn inside_archive(folder: &Path, written: &str) -> Option<PathBuf> {
    const ARCHIVES: [&str; 5] = ["/vsizip/", "/vsigzip/", "/vsitar/", "/vsi7z/", "/vsirar/"];
    let archive = ARCHIVES.iter().find(|archive| written.starts_with(**archive))?;
    let inside = written.strip_prefix(archive)?;
    // GDAL takes an archive of an unusual name in braces.
    let (brace, inside) = match inside.strip_prefix('{') {
        Some(inside) => ("{", inside),
        None => ("", inside),
    };
    if inside.starts_with('/') {
        return None;
    }
    let folder = std::path::absolute(folder).ok()?;
    let whole = folder.join(inside.replace('}', ""));
    let is_there = |path: &&Path| path.starts_with(&folder) && path.is_file();
    whole.ancestors().find(is_there)?;
    Some(PathBuf::from(format!(
        "{archive}{brace}{}",
        folder.join(inside).display()
    )))
}

/// Reports a path with nothing there, with the nearest name beside it.
pub(super) fn must_exist(path: &Path, written: &str, spot: &Spot) -> bool {
    match path.try_exists() {
        Ok(true) => return true,
        Ok(false) => {}
        Err(error) => {
            spot.problem(format!("{} cannot be looked at: {error}", quoted(written)));
            return false;
        }
    }
    let folder = path.parent().unwrap_or(path);
    let Ok(entries) = std::fs::read_dir(folder) else {
        spot.problem(format!(
            "no such file: {}; there is no folder {}",
            quoted(written),
            folder.display()
        ));
        return false;
    };
    let mut names: Vec<String> = entries
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .collect();
    names.sort();
    let wanted = path.file_name().map(|name| name.to_string_lossy().into_owned());
    let near = nearest(&wanted.unwrap_or_default(), names.iter().map(String::as_str));
    let hint = near.map_or_else(String::new, |name| format!("; nearest there is `{name}`"));
    spot.problem(format!(
        "no such file: {} in folder {}{hint}",
        quoted(written),
        folder.display()
    ));
    false
}

/// The path without `.` and `..`, and through links where it exists: for
/// comparing two paths.
pub(super) fn settled(path: &Path) -> PathBuf {
    let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let mut plain = PathBuf::new();
    for part in whole.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => {
                plain.pop();
            }
            part => plain.push(part),
        }
    }
    // The part that exists may lead through links; the rest is still to be made.
    for known in plain.ancestors() {
        if let Ok(real) = known.canonicalize() {
            let rest = plain.strip_prefix(known).unwrap_or(Path::new(""));
            return real.join(rest);
        }
    }
    plain
}
