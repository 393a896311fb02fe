//! Reading the features of one layer in the system asked for, with the fields
//! asked for: filtered, repaired, reprojected. What is repaired or in doubt is
//! told; what the fields mean is not known here.

use std::ffi::c_int;
use std::iter;
use std::path::Path;

use encoding_rs::WINDOWS_1252;
use gdal::Dataset;
use gdal::vector::{Feature as Found, Layer, LayerAccess, OGRFieldType};
use geo::Area;

use super::geometry::{self, NoShape};
use super::shapes::{SHAPES_AT_ONCE, Shapes, brought_over};
use super::{GisError, Transform, TransformTold, c_interface, crs, messages, vector_file};
use crate::grid::{Crs, Extent};

/// Whole numbers above this are kept as text: 64-bit floats would round them.
const EXACT_F64: i64 = 1 << 53;

/// Which features to read.
#[derive(Debug, Clone, Copy)]
pub struct VectorQuery<'a> {
    /// The file.
    pub path: &'a Path,
    /// The layer; it may be left out where there is only one.
    pub layer: Option<&'a str>,
    /// What comes after WHERE in GDAL's SQL.
    pub filter: Option<&'a str>,
    /// The fields to read, in order.
    pub fields: &'a [&'a str],
    /// The layer's system, where the user says one.
    pub crs_override: Option<&'a Crs>,
    /// The system the features are wanted in.
    pub to: &'a Crs,
    /// Only features that come near this extent, in this system.
    pub within: Option<(Extent, &'a Crs)>,
}

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

/// One feature.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature {
    /// Its number in the file.
    pub fid: u64,
    /// Where it lies, in two dimensions.
    pub geometry: geo::Geometry<f64>,
    /// The fields asked for, in the order asked.
    pub fields: Vec<FieldValue>,
}

/// A polygon that was not valid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repair {
    /// The feature.
    pub fid: u64,
    /// The area enclosed as it was read, in square units of the system asked for;
    /// NaN where its corners cannot be brought to that system.
    pub area_before: f64,
    /// The area of what it became.
    pub area_after: f64,
}

/// What was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Features {
    /// The features, in the file's order.
    pub items: Vec<Feature>,
    /// The layer's name.
    pub layer: String,
    /// What the layer covers in the system it came from, whatever was asked for.
    pub lies: Option<Extent>,
    /// The system the file names, where it names one.
    pub own_crs: Option<Crs>,
    /// The system they came from: the user's word, else the file's.
    pub source_crs: Crs,
    /// Which way they went.
    pub transform: TransformTold,
    /// Polygons that were not valid and are now.
    pub repaired: Vec<Repair>,
    /// Polygons that could not be repaired and are left out: number and reason.
    pub broken: Vec<(u64, String)>,
    /// Number of features without a geometry, left out.
    pub without_geometry: usize,
    /// What the user should look at.
    pub doubts: Vec<String>,
}

/// The features of one layer.
///
/// # Method
/// Polygons that are not valid are repaired by structure with GEOS; arcs and
/// curves become straight pieces; heights are dropped; of mixed collections the
/// parts of the highest dimension are kept.
///
/// # Errors
/// No such file, layer or field, a wrong filter, no system, a file cut off,
/// points that cannot be transformed.
pub fn read_features(query: &VectorQuery) -> Result<Features, GisError> {
    let dataset = vector_file::open(query.path)?;
    let path = query.path.display().to_string();
    let mut layer = chosen_layer(&dataset, query)?;
    let name = layer.name();
    let source_crs = source_crs(&dataset, &layer, query)?;
    let fields = fields(&layer, query.path, query.fields)?;
    let place = format!("{path}, layer `{name}`");
    let lies = vector_file::extent(&layer);
    if let Some(doubt) = lies.and_then(|lies| crs::corners_doubt(&lies, &source_crs)) {
        return Err(GisError::Doubt { path: place, doubt });
    }
    let transform = Transform::new(&source_crs, query.to).map_err(|error| error.in_file(&place))?;
    if let Some(filter) = query.filter {
        set_filter(&mut layer, filter, &path)?;
    }
    if let Some((extent, of)) = &query.within {
        // Without a way for the whole extent everything is read.
        if let Some(near) = Transform::new(of, &source_crs)?.extent(extent) {
            layer.set_spatial_filter_rect(near.west, near.south, near.east, near.north);
        }
    }
    let mut features = Features {
        items: Vec::new(),
        layer: name.clone(),
        own_crs: layer.spatial_ref().and_then(|found| crs::of_file(&found).0),
        lies,
        source_crs,
        transform: transform.told().clone(),
        repaired: Vec::new(),
        broken: Vec::new(),
        without_geometry: 0,
        doubts: Vec::new(),
    };
    let Read {
        before,
        not_utf8,
        said,
    } = read_items(&mut layer, &fields, &mut features);
    if !said.is_empty() {
        return Err(GisError::ReadVector {
            path,
            layer: name,
            read: features.items.len(),
            reason: said,
        });
    }
    let geometries = features.items.iter_mut().map(|feature| &mut feature.geometry);
    brought_over(geometries, &transform).map_err(|error| error.in_file(&place))?;
    for (item, mut was) in before {
        let feature = &features.items[item];
        let tried = brought_over(iter::once(&mut was), &transform).is_ok();
        features.repaired.push(Repair {
            fid: feature.fid,
            area_before: if tried { was.unsigned_area() } else { f64::NAN },
            area_after: feature.geometry.unsigned_area(),
        });
    }
    for (number, field) in fields.iter().enumerate() {
        let count = not_utf8.iter().filter(|(_, found)| *found == number).count();
        if count == 0 {
            continue;
        }
        features.doubts.push(format!(
            "field `{}` of {path} is not UTF-8 in {count} features; taken as Windows-1252",
            field.name
        ));
    }
    Ok(features)
}

/// What comes beside the features when they are read.
struct Read {
    /// Features that were repaired, and what they were before.
    before: Vec<(usize, geo::Geometry<f64>)>,
    /// Features and fields whose text is not UTF-8.
    not_utf8: Vec<(usize, usize)>,
    /// GDAL's words when it stopped early.
    said: String,
}

/// Reads all features of a layer; their shapes are made by all threads.
fn read_items(layer: &mut Layer, fields: &[Field], features: &mut Features) -> Read {
    // Positions of features and of fields.
    let mut not_utf8: Vec<(usize, usize)> = Vec::new();
    let mut before: Vec<(usize, geo::Geometry<f64>)> = Vec::new();
    messages::forget();
    let shapes = Shapes::default();
    // Whether a polygon is valid takes longer to find out than to read it.
    let said = rayon::in_place_scope(|scope| {
        let mut raws = Vec::new();
        for (index, read) in (0_u64..).zip(c_interface::features(layer)) {
            let fid = read.fid().unwrap_or(index);
            let Ok(found) = read.geometry_by_index(0) else {
                features.without_geometry += 1;
                messages::forget();
                continue;
            };
            raws.push(geometry::raw(found));
            let at = features.items.len();
            let mut value = |(number, field)| {
                let (value, is_utf8) = field_value(&read, field);
                if !is_utf8 {
                    not_utf8.push((at, number));
                }
                value
            };
            let fields = fields.iter().enumerate().map(&mut value).collect();
            features.items.push(Feature {
                fid,
                geometry: geo::Geometry::Point(geo::Point::new(f64::NAN, f64::NAN)),
                fields,
            });
            if raws.len() == SHAPES_AT_ONCE {
                let raws = std::mem::take(&mut raws);
                let first = features.items.len() - raws.len();
                let shapes = &shapes;
                scope.spawn(move |_| shapes.make(first, raws));
            }
        }
        // This thread may do other work while it waits for the rest.
        let said = messages::said();
        shapes.make(features.items.len() - raws.len(), raws);
        said
    });
    let items = std::mem::take(&mut features.items).into_iter();
    for (at, (mut item, shape)) in items.zip(shapes.in_order()).enumerate() {
        if shape.is_err() {
            not_utf8.retain(|(item, _)| *item != at);
        }
        match shape {
            Ok(shape) => {
                if let Some(was) = shape.before {
                    before.push((features.items.len(), was));
                }
                item.geometry = shape.geometry;
                features.items.push(item);
            }
            Err(NoShape::Empty) => features.without_geometry += 1,
            Err(NoShape::Broken(reason)) => features.broken.push((item.fid, reason)),
        }
    }
    Read {
        before,
        not_utf8,
        said,
    }
}

/// A field of a layer that is read.
pub(super) struct Field {
    name: String,
    index: c_int,
    kind: OGRFieldType::Type,
}

fn chosen_layer<'d>(dataset: &'d Dataset, query: &VectorQuery) -> Result<Layer<'d>, GisError> {
    let path = query.path.display().to_string();
    let mut layers: Vec<Layer> = dataset.layers().collect();
    let have: Vec<String> = layers.iter().map(LayerAccess::name).collect();
    let at = match query.layer {
        Some(name) => have
            .iter()
            .position(|layer| layer == name)
            .ok_or_else(|| GisError::NoLayer {
                path,
                layer: name.to_owned(),
                have,
            })?,
        None if have.len() > 1 => return Err(GisError::SeveralLayers { path, have }),
        None if have.is_empty() => {
            return Err(GisError::NotVector {
                path,
                reason: "it has no layers".to_owned(),
            });
        }
        None => 0,
    };
    Ok(layers.swap_remove(at))
}

fn source_crs(dataset: &Dataset, layer: &Layer, query: &VectorQuery) -> Result<Crs, GisError> {
    let own = || crs::of_file(&layer.spatial_ref()?).0;
    query
        .crs_override
        .cloned()
        .or_else(own)
        .ok_or_else(|| GisError::NoCrs {
            path: if dataset.layer_count() > 1 {
                format!("layer `{}` of {}", layer.name(), query.path.display())
            } else {
                query.path.display().to_string()
            },
        })
}

fn set_filter(layer: &mut Layer, filter: &str, path: &str) -> Result<(), GisError> {
    messages::forget();
    let set = layer.set_attribute_filter(filter);
    if set.is_ok() {
        // Some formats look at the filter only when they are read.
        let _ = c_interface::features(layer).next();
    }
    let said = messages::said();
    if set.is_ok() && said.is_empty() {
        return Ok(());
    }
    Err(GisError::Filter {
        path: path.to_owned(),
        layer: layer.name(),
        filter: filter.to_owned(),
        reason: said,
    })
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
