//! The values that features have in the fields of their layer, as numbers and text. What
//! the fields mean is not known here.

use std::ffi::c_int;
use std::path::Path;

use encoding_rs::WINDOWS_1252;
use gdal::vector::{Feature as Found, Layer, LayerAccess, OGRFieldType};

use super::{GisError, c_interface, vector_file};

/// Whole numbers above this are kept as text: 64-bit floats would round them.
const EXACT_F64: i64 = 1 << 53;

/// The value of a field.
#[derive(Debug, Clone, PartialEq)]
pub enum FieldValue {
    /// Null, not set, blank, or no number.
    Missing,
    /// Text, blanks around it taken off; leading zeros stay.
    Text(String),
    /// A number.
    Number(f64),
}

/// A field of a layer that is read.
pub(super) struct Field {
    pub name: String,
    index: c_int,
    kind: OGRFieldType::Type,
}

/// The fields of those names, in their order.
pub(super) fn fields(layer: &Layer, path: &Path, names: &[&str]) -> Result<Vec<Field>, GisError> {
    let have: Vec<Field> = (0..)
        .zip(layer.defn().fields())
        .map(|(index, field)| Field {
            name: field.name(),
            index,
            kind: field.field_type(),
        })
        .collect();
    let field = |wanted: &&str| {
        let exact = have.iter().find(|field| field.name == *wanted);
        // Formats disagree about capitals in the names of fields.
        let mut alike = have
            .iter()
            .filter(|field| field.name.eq_ignore_ascii_case(wanted));
        let alike = alike.next().filter(|_| alike.next().is_none());
        let found = exact.or(alike).ok_or_else(|| {
            let (path, layer_name, field) = (path.display().to_string(), layer.name(), (*wanted).to_owned());
            // Some formats take their fields from the features.
            if have.is_empty() && layer.feature_count() == 0 {
                return GisError::EmptyLayer {
                    path,
                    layer: layer_name,
                    field,
                };
            }
            GisError::NoField {
                path,
                layer: layer_name,
                field,
                have: have.iter().map(|field| field.name.clone()).collect(),
            }
        })?;
        Ok(Field {
            name: found.name.clone(),
            ..*found
        })
    };
    names.iter().map(field).collect()
}

/// The value of a field, and whether its text is as it should be.
pub(super) fn field_value(read: &Found, field: &Field) -> (FieldValue, bool) {
    if c_interface::field_is_missing(read, field.index) {
        return (FieldValue::Missing, true);
    }
    if vector_file::is_number(field.kind) {
        let Ok(index) = usize::try_from(field.index) else {
            return (FieldValue::Missing, true);
        };
        if field.kind == OGRFieldType::OFTInteger64
            && let Ok(Some(number)) = read.field_as_integer64(index)
            && number.unsigned_abs() > EXACT_F64.unsigned_abs()
        {
            return (FieldValue::Text(number.to_string()), true);
        }
        return match read.field_as_double(index) {
            Ok(Some(number)) if number.is_finite() => (FieldValue::Number(number), true),
            _ => (FieldValue::Missing, true),
        };
    }
    let bytes = c_interface::field_bytes(read, field.index);
    let utf8 = std::str::from_utf8(&bytes);
    let text = match utf8 {
        Ok(text) => text.into(),
        Err(_) => WINDOWS_1252.decode_without_bom_handling(&bytes).0,
    };
    let value = match text.trim() {
        "" => FieldValue::Missing,
        text => FieldValue::Text(text.to_owned()),
    };
    (value, utf8.is_ok())
}
