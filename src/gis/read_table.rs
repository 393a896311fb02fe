//! Reads a table or layer as text, for the tests of the writers of every stage.

use std::path::Path;

use gdal::Dataset;
use gdal::vector::{FieldValue, LayerAccess};

/// A table as it stands in a file.
pub(crate) struct Table {
    /// The code of its CRS.
    pub(crate) epsg: Option<i32>,
    /// Its columns.
    pub(crate) columns: Vec<String>,
    /// Its rows, missing values as nothing.
    pub(crate) rows: Vec<Vec<Option<String>>>,
    /// Kind and area of the geometry of each row.
    pub(crate) geometries: Vec<(String, f64)>,
}

impl Table {
    pub(crate) fn value(&self, row: usize, column: &str) -> Option<&str> {
        let index = self.columns.iter().position(|name| name == column).expect(column);
        self.rows[row][index].as_deref()
    }
}

pub(crate) fn read_table(path: &Path, name: &str) -> Table {
    let dataset = Dataset::open(path).unwrap();
    let mut layer = dataset.layer_by_name(name).unwrap();
    let mut table = Table {
        epsg: layer.spatial_ref().and_then(|srs| srs.auth_code().ok()),
        columns: layer.defn().fields().map(|field| field.name()).collect(),
        rows: Vec::new(),
        geometries: Vec::new(),
    };
    for feature in layer.features() {
        let values = feature.fields().map(|(_, value)| {
            Some(match value? {
                FieldValue::StringValue(text) => text,
                FieldValue::RealValue(number) => number.to_string(),
                FieldValue::Integer64Value(number) => number.to_string(),
                other => format!("{other:?}"),
            })
        });
        table.rows.push(values.collect());
        if let Some(geometry) = feature.geometry() {
            assert!(geometry.is_valid());
            table.geometries.push((geometry.geometry_name(), geometry.area()));
        }
    }
    table
}
