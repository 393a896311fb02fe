//! What can go wrong at the door to GDAL, in the words a user can act on.

use thiserror::Error;

use crate::plural::{counted, one_or_many};

/// Why a file, a coordinate reference system or a transformation cannot be used.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum GisError {
    /// Nothing lies at the path.
    #[error("{path}: no such file or folder")]
    NotFound {
        /// The path as given.
        path: String,
    },
    /// The file is there, but no raster.
    #[error("{path} cannot be read as a raster: {}", with_a_way_in(path, reason))]
    NotRaster {
        /// The path as given.
        path: String,
        /// GDAL's own words.
        reason: String,
    },
    /// The file is there, but no vector file.
    #[error("{path} cannot be read as a vector file: {}", with_a_way_in(path, reason))]
    NotVector {
        /// The path as given.
        path: String,
        /// GDAL's own words.
        reason: String,
    },
    /// A raster without a position on the ground.
    #[error(
        "{path} does not say where its cells lie (no geotransform, no world file); georeference it first"
    )]
    NoPosition {
        /// The path as given.
        path: String,
    },
    /// A layer without a coordinate reference system.
    #[error(
        "{path} has no coordinate reference system; say `crs = \"EPSG:...\"` for the layer in the project file"
    )]
    NoCrs {
        /// The path as given, with the layer's name where there are several.
        path: String,
    },
    /// Coordinates that cannot be in the system they are said to be in.
    #[error(
        "{path}: {doubt}; give the layer's true system as `crs` if the file tells a wrong one, or mend the file"
    )]
    Doubt {
        /// The path as given, with the layer's name.
        path: String,
        /// What speaks against it.
        doubt: String,
    },
    /// A text that names no coordinate reference system.
    #[error(
        "`{text}` is no coordinate reference system: {reason}; a code like `EPSG:26915`, well-known text or a PROJ text is needed"
    )]
    Crs {
        /// The text as given.
        text: String,
        /// GDAL's own words.
        reason: String,
    },
    /// A coordinate reference system that is not of the kind needed.
    #[error("{crs} is {found}; {needed} is needed")]
    CrsKind {
        /// The system's name.
        crs: String,
        /// What it is.
        found: String,
        /// What would do.
        needed: String,
    },
    /// No way from one system to the other is known.
    #[error("no transformation from {from} to {to}: {reason}")]
    NoTransform {
        /// Where the coordinates come from.
        from: String,
        /// Where they should go.
        to: String,
        /// PROJ's own words.
        reason: String,
    },
    /// Points that cannot be transformed.
    #[error(
        "{failed} of {} cannot be brought from {from} to {to}, the first is x {x}, y {y}: {} where the systems do not hold, or the coordinate reference system is not the one the file is in",
        counted(*of, "point"),
        one_or_many(*failed, "it lies", "they lie")
    )]
    TransformPoints {
        /// Where the coordinates come from.
        from: String,
        /// Where they should go.
        to: String,
        /// Number of points that failed.
        failed: usize,
        /// Number of points.
        of: usize,
        /// The first failing point.
        x: f64,
        /// The first failing point.
        y: f64,
    },
    /// A problem with coordinates, in a file.
    #[error("{path}: {problem}")]
    InFile {
        /// The path as given, with the layer's name for vectors.
        path: String,
        /// What is wrong.
        problem: Box<GisError>,
    },
    /// The band is not there.
    #[error("{path} has no band {band}; it has {bands}")]
    NoBand {
        /// The path as given.
        path: String,
        /// The band asked for, counted from 1.
        band: usize,
        /// Number of bands.
        bands: usize,
    },
    /// The layer is not there.
    #[error("{path} has no layer `{layer}`; it has {}", quoted(have))]
    NoLayer {
        /// The path as given.
        path: String,
        /// The layer asked for.
        layer: String,
        /// The layers there are.
        have: Vec<String>,
    },
    /// The file holds several layers, and none was chosen.
    #[error("{path} has several layers, say `sublayer = \"...\"`: {}", quoted(have))]
    SeveralLayers {
        /// The path as given.
        path: String,
        /// The layers there are.
        have: Vec<String>,
    },
    /// The field is not there.
    #[error("layer `{layer}` of {path} has no field `{field}`; it has {}", quoted(have))]
    NoField {
        /// The path as given.
        path: String,
        /// The layer.
        layer: String,
        /// The field asked for.
        field: String,
        /// The fields there are.
        have: Vec<String>,
    },
    /// The field is not there because nothing is.
    #[error(
        "layer `{layer}` of {path} is empty: it has no feature, and no field `{field}`; give it its features, or leave it out of the project"
    )]
    EmptyLayer {
        /// The path as given.
        path: String,
        /// The layer.
        layer: String,
        /// The field asked for.
        field: String,
    },
    /// A filter that cannot be used.
    #[error(
        "the filter `{filter}` on layer `{layer}` of {path} {fault}; needed is a condition on its fields ({}), with text in single quotes, such as `kind = 'planting'`",
        quoted(have)
    )]
    Filter {
        /// The path as given.
        path: String,
        /// The layer.
        layer: String,
        /// The filter as given.
        filter: String,
        /// What is wrong with it, as the end of a sentence on it.
        fault: String,
        /// The fields there are.
        have: Vec<String>,
    },
    /// Cells that cannot be read.
    #[error(
        "{path}, band {band}: the cells for {area} cannot be read, the file may be cut off or corrupt: {reason}"
    )]
    ReadRaster {
        /// The path as given.
        path: String,
        /// The band, counted from 1.
        band: usize,
        /// The part of the target that was asked for.
        area: String,
        /// GDAL's own words, which name the block.
        reason: String,
    },
    /// Features that cannot be read.
    #[error("{path}, layer `{layer}`: reading stopped after {}: {reason}", counted(*read, "feature"))]
    ReadVector {
        /// The path as given.
        path: String,
        /// The layer.
        layer: String,
        /// Number of features read before.
        read: usize,
        /// GDAL's own words.
        reason: String,
    },
    /// A code that a raster of 32-bit floats cannot hold.
    #[error(
        "{path}, band {band}: the class code {code} is above 16777216 and cannot be held exactly; smaller codes are needed"
    )]
    CodeTooLarge {
        /// The path as given.
        path: String,
        /// The band, counted from 1.
        band: usize,
        /// The code.
        code: f64,
    },
    /// A folder without tiles.
    #[error("the folder {path} holds no raster tiles")]
    NoTiles {
        /// The path as given.
        path: String,
    },
    /// A tile that does not fit the others.
    #[error(
        "{tile} does not fit the other tiles of its folder: its {what} is {found}, that of {first} is {needed}"
    )]
    TilesDiffer {
        /// The odd tile.
        tile: String,
        /// The tile it is compared with.
        first: String,
        /// What differs.
        what: String,
        /// What the odd tile has.
        found: String,
        /// What the first one has.
        needed: String,
    },
    /// GDAL refuses something that has nothing to do with the user's files.
    #[error("GDAL cannot {what}: {reason}")]
    Internal {
        /// What was tried.
        what: String,
        /// GDAL's own words.
        reason: String,
    },
}

impl GisError {
    /// The same, with the file's name before it.
    pub(super) fn in_file(self, path: &str) -> GisError {
        GisError::InFile {
            path: path.to_owned(),
            problem: Box::new(self),
        }
    }
}

/// GDAL's words, and the way into an archive for a path that only names it.
fn with_a_way_in(path: &str, reason: &str) -> String {
    let ending = path
        .rsplit_once('.')
        .map(|(_, ending)| ending.to_ascii_lowercase());
    let (way, inside) = match ending.as_deref() {
        Some("zip") => ("/vsizip/", "/NAME"),
        Some("tar" | "tgz") => ("/vsitar/", "/NAME"),
        Some("gz") => ("/vsigzip/", ""),
        _ => return reason.to_owned(),
    };
    if path.starts_with("/vsi") {
        return reason.to_owned();
    }
    let reason = reason.trim_end_matches('.');
    format!("{reason}; to read what is inside, write `{way}{path}{inside}`")
}

fn quoted(names: &[String]) -> String {
    if names.is_empty() {
        return "none".to_owned();
    }
    let quoted: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    quoted.join(", ")
}

#[cfg(test)]
mod tests {
    use super::GisError;

    #[test]
    fn an_archive_without_a_way_into_it_gets_one() {
        let told = |path: &str| {
            GisError::NotVector {
                path: path.to_owned(),
                reason: "no".to_owned(),
            }
            .to_string()
        };
        assert!(told("a/soils.ZIP").ends_with("write `/vsizip/a/soils.ZIP/NAME`"));
        assert!(told("soils.geojson.gz").ends_with("write `/vsigzip/soils.geojson.gz`"));
        assert!(told("/vsizip/a.zip").ends_with("file: no"));
        assert!(told("soils.gpkg").ends_with("file: no"));
    }
}
