//! Rows of a table of a database, whether or not it has geometries: for tables that
//! belong to a layer by a key. What the fields mean is not known here.

use std::path::Path;

use gdal::vector::LayerAccess;

use super::field_values::{field_value, fields};
use super::{FieldValue, GisError, c_interface, messages, vector_file};
use crate::plural::counted;

/// Which table and which of its fields.
#[derive(Debug, Clone, Copy)]
pub struct TableQuery<'a> {
    /// The database.
    pub path: &'a Path,
    /// The table; capitals do not matter where one table alone has the name.
    pub table: &'a str,
    /// The fields, in the order in which they are wanted.
    pub fields: &'a [&'a str],
}

/// The rows of a table that `keep` takes, in the file's order, and what the user should
/// look at.
///
/// # Missing
/// As with features: null, not set, blank, or no number.
///
/// # Errors
/// No such file, table or field; a file cut off.
pub fn read_rows(
    query: &TableQuery,
    mut keep: impl FnMut(&[FieldValue]) -> bool,
) -> Result<(Vec<Vec<FieldValue>>, Vec<String>), GisError> {
    let dataset = vector_file::open(query.path)?;
    let path = query.path.display().to_string();
    let have: Vec<String> = dataset.layers().map(|layer| layer.name()).collect();
    let alike = |name: &&String| name.eq_ignore_ascii_case(query.table);
    let exact = have.iter().position(|name| name == query.table);
    let only = || {
        let mut found = have.iter().filter(alike);
        let first = found.next().filter(|_| found.next().is_none())?;
        have.iter().position(|name| name == first)
    };
    let Some(mut layer) = exact.or_else(only).and_then(|at| dataset.layers().nth(at)) else {
        return Err(GisError::NoLayer {
            path,
            layer: query.table.to_owned(),
            have,
        });
    };
    let fields = fields(&layer, query.path, query.fields)?;
    let mut not_utf8 = vec![0_usize; fields.len()];
    let mut rows = Vec::new();
    let mut read = 0;
    messages::forget();
    for feature in c_interface::features(&mut layer) {
        read += 1;
        let row: Vec<FieldValue> = fields
            .iter()
            .zip(&mut not_utf8)
            .map(|(field, not_utf8)| {
                let (value, is_utf8) = field_value(&feature, field);
                *not_utf8 += usize::from(!is_utf8);
                value
            })
            .collect();
        if keep(&row) {
            rows.push(row);
        }
    }
    let said = messages::said();
    if !said.is_empty() {
        return Err(GisError::ReadVector {
            path,
            layer: query.table.to_owned(),
            read,
            reason: said,
        });
    }
    let doubts = query.fields.iter().zip(not_utf8).filter(|(_, count)| *count > 0);
    let doubts = doubts.map(|(field, count)| {
        format!(
            "field `{field}` of table `{}` of {path} is not UTF-8 in {}; taken as Windows-1252",
            query.table,
            counted(count, "row")
        )
    });
    Ok((rows, doubts.collect()))
}
