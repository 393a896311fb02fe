//! What a vector file holds: its layers, their systems, extents and fields. Reads
//! no features.

use std::path::{Path, PathBuf};

use gdal::vector::{Layer, LayerAccess, OGRFieldType, geometry_type_to_name};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags};

use super::{GisError, c_interface, crs, messages};
use crate::grid::{Crs, Extent};

/// A field of a layer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldFacts {
    /// Its name.
    pub name: String,
    /// Whether it holds text, and not numbers.
    pub is_text: bool,
}

/// What one layer holds.
#[derive(Debug, Clone, PartialEq)]
pub struct LayerFacts {
    /// Its name.
    pub name: String,
    /// Its system, where the file says one.
    pub crs: Option<Crs>,
    /// Number of features.
    pub feature_count: u64,
    /// What its features cover, in the layer's own system.
    pub extent: Option<Extent>,
    /// The kind of its geometries: `Polygon`, `Line String`.
    pub geometry: String,
    /// Its fields.
    pub fields: Vec<FieldFacts>,
    /// Why its coordinates can hardly be right.
    pub doubt: Option<String>,
}

/// What a vector file holds.
#[derive(Debug, Clone, PartialEq)]
pub struct VectorFile {
    /// The path as given.
    pub path: PathBuf,
    /// GDAL's name for the format.
    pub driver: String,
    /// Its layers.
    pub layers: Vec<LayerFacts>,
    /// The files it is made of, for checksums.
    pub files: Vec<PathBuf>,
}

/// What a vector file holds: any format and path that GDAL reads.
///
/// # Errors
/// No such file, no vector file.
pub fn inspect_vector(path: &Path) -> Result<VectorFile, GisError> {
    let dataset = open(path)?;
    let layers: Vec<LayerFacts> = dataset.layers().map(|layer| layer_facts(&layer)).collect();
    messages::forget();
    Ok(VectorFile {
        path: path.to_owned(),
        driver: dataset.driver().short_name(),
        layers,
        files: c_interface::files(&dataset),
    })
}

/// Opens for reading, vectors only.
pub(super) fn open(path: &Path) -> Result<Dataset, GisError> {
    messages::forget();
    let text = path.to_string_lossy().into_owned();
    let plain = !text.starts_with("/vsi") && !text.contains(':');
    if plain && !path.exists() {
        return Err(GisError::NotFound { path: text });
    }
    let options = DatasetOptions {
        open_flags: GdalOpenFlags::GDAL_OF_READONLY
            | GdalOpenFlags::GDAL_OF_VECTOR
            | GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
        // The sign tells drivers that do not know the option to keep quiet. One
        // would write a file beside the user's data, and fetch another.
        open_options: Some(&["@WRITE_GFS=NO", "@DOWNLOAD_SCHEMA=NO"]),
        ..DatasetOptions::default()
    };
    Dataset::open_ex(path, options).map_err(|error| {
        let mut reason = messages::reason(&error);
        if reason.contains("database is locked") {
            reason.push_str("; close the program that writes to it, or read a copy");
        }
        if !path.exists() && reason.contains("No such file") {
            GisError::NotFound { path: text }
        } else {
            GisError::NotVector { path: text, reason }
        }
    })
}

fn layer_facts(layer: &Layer) -> LayerFacts {
    let (system, _) = match layer.spatial_ref() {
        Some(found) => crs::of_file(&found),
        None => (None, None),
    };
    let feature_count = layer.feature_count();
    let extent = extent(layer).filter(|_| feature_count > 0);
    let doubt = match (&extent, &system) {
        (Some(extent), Some(system)) => crs::coordinates_doubt(extent, system),
        _ => None,
    };
    LayerFacts {
        name: layer.name(),
        crs: system,
        feature_count,
        extent,
        geometry: geometry_type_to_name(layer.defn().geometry_type()),
        fields: layer
            .defn()
            .fields()
            .map(|field| FieldFacts {
                name: field.name(),
                is_text: !is_number(field.field_type()),
            })
            .collect(),
        doubt,
    }
}

/// What the features of a layer cover, in the layer's own system.
pub(super) fn extent(layer: &Layer) -> Option<Extent> {
    let found = messages::unheard(|| layer.get_extent()).ok()?;
    let extent = Extent {
        west: found.MinX,
        south: found.MinY,
        east: found.MaxX,
        north: found.MaxY,
    };
    (extent.west <= extent.east && extent.south <= extent.north).then_some(extent)
}

/// Whether fields of a type hold single numbers.
pub(super) fn is_number(kind: OGRFieldType::Type) -> bool {
    matches!(
        kind,
        OGRFieldType::OFTInteger | OGRFieldType::OFTInteger64 | OGRFieldType::OFTReal
    )
}
