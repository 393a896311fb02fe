//! Writes a GeoPackage: polygon layers, plain tables, an index, a default style.
//! In come columns and rows of plain values, out goes one file. Does not know what
//! a column means.

use std::borrow::Cow;
use std::path::{Path, PathBuf};

use gdal::config::{clear_thread_local_config_option, set_thread_local_config_option};
use gdal::errors::GdalError;
use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};
use gdal::vector::sql::Dialect;
use gdal::vector::{
    Feature, FieldDefn, Geometry, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType,
};
use gdal::{Dataset, DriverManager, Metadata};

use super::WriteError;
use super::c_interface::{forget_number, set_text};
use super::messages::heeded;
use super::table_row::{Row, Value};
use crate::grid::Crs;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnKind {
    /// Text.
    Text,
    /// Whole numbers.
    Integer,
    /// Numbers.
    Real,
    /// Dates with the time, given as text: `2026-01-31T12:00:00Z`.
    DateTime,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub kind: ColumnKind,
}

impl Column {
    /// A column so named.
    #[must_use]
    pub fn new(name: &str, kind: ColumnKind) -> Column {
        Column {
            name: name.to_owned(),
            kind,
        }
    }
}

/// Names and words of a layer or a table.
#[derive(Debug, Clone, Copy)]
pub struct TableText<'a> {
    /// The name of the table.
    pub name: &'a str,
    /// The title for people; no two tables of a file may have the same.
    pub title: &'a str,
    /// What it holds.
    pub description: &'a str,
}

/// Rows written in one transaction; bounds the journal without a commit for each row.
const ROWS_A_TRANSACTION: usize = 100_000;

/// Writes one GeoPackage on the thread that made it.
pub struct GeoPackageWriter {
    path: PathBuf,
    dataset: Dataset,
    /// Dropped after the dataset, which still writes a date when it is closed.
    _date: ThreadDate,
}

/// The date GDAL writes on this thread instead of the time now.
struct ThreadDate;

impl ThreadDate {
    const OPTION: &str = "OGR_CURRENT_DATE";

    fn set(date: &str) -> Result<ThreadDate, GdalError> {
        set_thread_local_config_option(ThreadDate::OPTION, date).map(|()| ThreadDate)
    }
}

impl Drop for ThreadDate {
    fn drop(&mut self) {
        // Fails only for a name with a zero byte in it.
        let _ = clear_thread_local_config_option(ThreadDate::OPTION);
    }
}

impl GeoPackageWriter {
    /// A new, empty file, whose date of change will be `date`
    /// (`2026-01-31T12:00:00.000Z`), so that the same content gives the same bytes.
    ///
    /// # Errors
    /// The file cannot be made.
    pub fn create(path: &Path, title: &str, date: &str) -> Result<GeoPackageWriter, WriteError> {
        let (dataset, date) = heeded(|| {
            let date = ThreadDate::set(date)?;
            let mut dataset = DriverManager::get_driver_by_name("GPKG")?.create_vector_only(path)?;
            dataset.set_metadata_item("TITLE", title, "")?;
            Ok((dataset, date))
        })
        .map_err(WriteError::write(path, "making the file"))?;
        Ok(GeoPackageWriter {
            path: path.to_owned(),
            dataset,
            _date: date,
        })
    }

    /// Adds a layer of polygons with a spatial index, still without rows.
    ///
    /// # Errors
    /// The CRS is none GDAL knows, or the layer cannot be made.
    pub fn add_layer(&mut self, text: TableText, crs: &Crs, columns: &[Column]) -> Result<(), WriteError> {
        let srs = heeded(|| {
            let mut srs = SpatialRef::from_wkt(&crs.wkt)?;
            srs.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
            Ok(srs)
        })
        .map_err(WriteError::write(
            &self.path,
            format!("reading the CRS {}", crs.label()),
        ))?;
        self.make(text, Some(&srs), columns)
    }

    /// Adds a table without geometry, still without rows.
    ///
    /// # Errors
    /// The table cannot be made.
    pub fn add_table(&mut self, text: TableText, columns: &[Column]) -> Result<(), WriteError> {
        self.make(text, None, columns)
    }

    fn make(
        &mut self,
        text: TableText,
        srs: Option<&SpatialRef>,
        columns: &[Column],
    ) -> Result<(), WriteError> {
        let failed = WriteError::write(&self.path, format!("layer {}", text.name));
        heeded(|| create_layer(&mut self.dataset, text, srs, columns)).map_err(failed)
    }

    /// Adds rows to a layer or a table and gives their number.
    ///
    /// # Errors
    /// There is no such table, or the rows cannot be written.
    pub fn append<'r>(
        &mut self,
        table: &str,
        rows: impl IntoIterator<Item = Row<'r>>,
    ) -> Result<u64, WriteError> {
        let failed = WriteError::write(&self.path, format!("layer {table}"));
        let mut rows = rows.into_iter();
        heeded(|| {
            let mut written = 0;
            loop {
                let mut in_this_one = 0;
                let transaction = self.dataset.start_transaction()?;
                let layer = transaction.layer_by_name(table)?;
                // One for all rows: making a feature takes longer than filling it.
                let mut feature = Feature::new(layer.defn())?;
                let mut text = Vec::new();
                for row in rows.by_ref().take(ROWS_A_TRANSACTION) {
                    for (index, value) in row.values.iter().enumerate() {
                        set(&mut feature, index, value, &mut text)?;
                    }
                    if let Some(wkb) = row.wkb {
                        feature.set_geometry(Geometry::from_wkb(&wkb)?)?;
                    }
                    feature.create(&layer)?;
                    forget_number(&mut feature)?;
                    in_this_one += 1;
                }
                drop(feature);
                transaction.commit()?;
                written += in_this_one as u64;
                if in_this_one < ROWS_A_TRANSACTION {
                    return Ok(written);
                }
            }
        })
        .map_err(failed)
    }

    /// Adds an index over a column of a table.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn add_index(&mut self, table: &str, column: &str) -> Result<(), WriteError> {
        let sql = format!(
            "CREATE INDEX {} ON {} ({})",
            quoted(&format!("{table}_{column}")),
            quoted(table),
            quoted(column)
        );
        heeded(|| {
            // A layer is made in the file only when it is first written out.
            self.dataset.flush_cache()?;
            let made = self.dataset.execute_sql(sql, None, Dialect::DEFAULT);
            made.map(|_| ())
        })
        .map_err(WriteError::write(&self.path, format!("index on {table}")))
    }

    /// Adds the default style of a layer, as a Styled Layer Descriptor, to the
    /// table `layer_styles`, where desktop programs keep styles.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn add_default_style(
        &mut self,
        layer: &str,
        name: &str,
        sld: &str,
        date: &str,
    ) -> Result<(), WriteError> {
        use ColumnKind::{DateTime, Integer, Text};
        let columns = [
            ("f_table_catalog", Text),
            ("f_table_schema", Text),
            ("f_table_name", Text),
            ("f_geometry_column", Text),
            ("styleName", Text),
            ("styleQML", Text),
            ("styleSLD", Text),
            ("useAsDefault", Integer),
            ("description", Text),
            ("owner", Text),
            ("ui", Text),
            ("update_time", DateTime),
        ]
        .map(|(name, kind)| Column::new(name, kind));
        let text = |text| Value::Text(Cow::Borrowed(text));
        let row = vec![
            text(""),
            text(""),
            text(layer),
            text("geom"),
            text(name),
            text(""),
            text(sld),
            Value::Integer(1),
            text("default style"),
            text(""),
            text(""),
            text(date),
        ];
        let table = TableText {
            name: "layer_styles",
            title: "layer_styles",
            description: "styles of the layers of this file",
        };
        self.add_table(table, &columns)?;
        self.append(table.name, [Row::plain(row)]).map(|_| ())
    }

    /// Writes out what is left and closes the file.
    ///
    /// # Errors
    /// The file cannot be written, a full disk for one.
    pub fn finish(self) -> Result<(), WriteError> {
        heeded(|| self.dataset.close()).map_err(WriteError::write(&self.path, "closing the file"))
    }
}

fn create_layer(
    dataset: &mut Dataset,
    text: TableText,
    srs: Option<&SpatialRef>,
    columns: &[Column],
) -> Result<(), GdalError> {
    let options = [
        format!("IDENTIFIER={}", text.title),
        format!("DESCRIPTION={}", text.description),
        "GEOMETRY_NAME=geom".to_owned(),
        "FID=fid".to_owned(),
    ];
    let options: Vec<&str> = options.iter().map(String::as_str).collect();
    let layer = dataset.create_layer(LayerOptions {
        name: text.name,
        srs,
        ty: if srs.is_some() {
            OGRwkbGeometryType::wkbPolygon
        } else {
            OGRwkbGeometryType::wkbNone
        },
        options: Some(&options),
    })?;
    for column in columns {
        let kind = match column.kind {
            ColumnKind::Text => OGRFieldType::OFTString,
            ColumnKind::Integer => OGRFieldType::OFTInteger64,
            ColumnKind::Real => OGRFieldType::OFTReal,
            ColumnKind::DateTime => OGRFieldType::OFTDateTime,
        };
        FieldDefn::new(&column.name, kind)?.add_to_layer(&layer)?;
    }
    Ok(())
}

/// Puts a value into a feature; `buffer` holds a text while it is handed over.
fn set(feature: &mut Feature, index: usize, value: &Value, buffer: &mut Vec<u8>) -> Result<(), GdalError> {
    match value {
        Value::Text(text) => set_text(feature, index, &without_zero_bytes(text), buffer),
        Value::Integer(number) => feature.set_field_integer64(index, *number),
        Value::Real(number) if number.is_finite() => feature.set_field_double(index, *number),
        Value::Missing | Value::Real(_) => feature.set_field_null(index),
    }
}

/// A zero byte ends a text in GDAL; what stands behind it must not get lost.
fn without_zero_bytes(text: &str) -> Cow<'_, str> {
    if text.contains('\0') {
        Cow::Owned(text.replace('\0', "\u{fffd}"))
    } else {
        Cow::Borrowed(text)
    }
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

/// The layers and tables of a file with the number of their rows, counted by
/// reading each row.
///
/// # Errors
/// The file cannot be opened or a row cannot be read.
pub fn count_rows(path: &Path) -> Result<Vec<(String, u64)>, WriteError> {
    heeded(|| {
        let dataset = Dataset::open(path)?;
        dataset
            .layers()
            .map(|mut layer| {
                let rows = layer.features().map(|_| 1).sum();
                Ok((layer.name(), rows))
            })
            .collect()
    })
    .map_err(WriteError::read_back(path))
}

#[cfg(test)]
#[path = "geopackage_tests.rs"]
mod tests;
