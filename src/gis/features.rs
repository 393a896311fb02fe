//! Reading the features of one layer in the system asked for, with the fields
//! asked for: filtered, repaired, reprojected. What is repaired or in doubt is
//! told; what the fields mean is not known here.

use std::iter;
use std::path::Path;

use gdal::Dataset;
use gdal::vector::{Layer, LayerAccess};
use geo::Area;
use rayon::prelude::*;

use super::field_values::{Field, FieldValue, field_value, fields};
use super::filter::set_filter;
use super::geometry::{self, NoShape, Shape};
use super::shapes::{SHAPES_AT_ONCE, Shapes, brought_over};
use super::{GisError, Transform, TransformTold, c_interface, crs, messages, vector_file};
use crate::grid::{Crs, Extent};
use crate::plural::counted;

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

/// One feature.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature<G = geo::Geometry<f64>> {
    /// Its number in the file.
    pub fid: u64,
    /// Where it lies, in two dimensions, or what was made of that.
    pub geometry: G,
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
pub struct Features<G = geo::Geometry<f64>> {
    /// The features, in the file's order.
    pub items: Vec<Feature<G>>,
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
    read_features_as(query, |geometry| geometry)
}

/// The same, with what `make` makes of each geometry in its place, on any thread. Where
/// geometries need not be brought over they are let go while others are still read.
///
/// # Errors
/// As [`read_features`].
pub fn read_features_as<G: Send>(
    query: &VectorQuery,
    make: impl Fn(geo::Geometry<f64>) -> G + Sync,
) -> Result<Features<G>, GisError> {
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
        if let Some(near) = Transform::untold(of, &source_crs)?.extent(extent) {
            layer.set_spatial_filter_rect(near.west, near.south, near.east, near.north);
        }
    }
    let own_crs = layer.spatial_ref().and_then(|found| crs::of_file(&found).0);
    let made = |geometry: geo::Geometry<f64>, area_before: Option<f64>| {
        let areas = area_before.map(|before| (before, geometry.unsigned_area()));
        (make(geometry), areas)
    };
    let whole = |said: &str, read: usize| match said {
        "" => Ok(()),
        reason => Err(GisError::ReadVector {
            path: path.clone(),
            layer: name.clone(),
            read,
            reason: reason.to_owned(),
        }),
    };
    let (read, items) = if transform.told().same {
        let (read, items) = read_items(&mut layer, &fields, |shape| {
            let area_before = shape.before.map(|was| was.unsigned_area());
            made(shape.geometry, area_before)
        });
        whole(&read.said, items.len())?;
        (read, items)
    } else {
        let (read, mut items) = read_items(&mut layer, &fields, |shape| shape);
        whole(&read.said, items.len())?;
        let geometries = items.iter_mut().map(|item| &mut item.geometry.geometry);
        brought_over(geometries, &transform).map_err(|error| error.in_file(&place))?;
        let area_before = |mut was: geo::Geometry<f64>| {
            let tried = brought_over(iter::once(&mut was), &transform);
            tried.map_or(f64::NAN, |()| was.unsigned_area())
        };
        let items: Vec<_> = items
            .into_iter()
            .map(|item| item.with(|shape| (shape.geometry, shape.before.map(area_before))))
            .collect();
        let items = items.into_par_iter();
        let items = items.map(|item| item.with(|(geometry, area_before)| made(geometry, area_before)));
        (read, items.collect())
    };
    let mut features = Features {
        items: Vec::with_capacity(items.len()),
        layer: name,
        own_crs,
        lies,
        source_crs,
        transform: transform.told().clone(),
        repaired: Vec::new(),
        broken: read.broken,
        without_geometry: read.without_geometry,
        doubts: Vec::new(),
    };
    for item in items {
        let (fid, (geometry, areas)) = (item.fid, item.geometry);
        features
            .repaired
            .extend(areas.map(|(area_before, area_after)| Repair {
                fid,
                area_before,
                area_after,
            }));
        features.items.push(Feature {
            fid,
            geometry,
            fields: item.fields,
        });
    }
    for (number, field) in fields.iter().enumerate() {
        let not_utf8 = read.not_utf8.iter();
        let count = not_utf8.filter(|(_, found)| *found == number).count();
        if count == 0 {
            continue;
        }
        features.doubts.push(format!(
            "field `{}` of {path} is not UTF-8 in {}; taken as Windows-1252",
            field.name,
            counted(count, "feature")
        ));
    }
    Ok(features)
}

impl<G> Feature<G> {
    /// The same with something else for its geometry.
    fn with<H>(self, make: impl FnOnce(G) -> H) -> Feature<H> {
        Feature {
            fid: self.fid,
            geometry: make(self.geometry),
            fields: self.fields,
        }
    }
}

/// What comes beside the features when they are read.
#[derive(Default)]
struct Read {
    /// Features and fields whose text is not UTF-8.
    not_utf8: Vec<(usize, usize)>,
    broken: Vec<(u64, String)>,
    without_geometry: usize,
    /// GDAL's words when it stopped early.
    said: String,
}

/// Reads all features of a layer; their shapes, and what is made of them, are made by
/// all threads.
fn read_items<T: Send>(
    layer: &mut Layer,
    fields: &[Field],
    make: impl Fn(Shape) -> T + Sync,
) -> (Read, Vec<Feature<T>>) {
    let mut found = Read::default();
    let mut without_shape: Vec<Feature<()>> = Vec::new();
    messages::forget();
    let shapes = Shapes::new(make);
    // Whether a polygon is valid takes longer to find out than to read it.
    found.said = rayon::in_place_scope(|scope| {
        let mut raws = Vec::new();
        for (index, read) in (0_u64..).zip(c_interface::features(layer)) {
            let fid = read.fid().unwrap_or(index);
            let Ok(geometry) = read.geometry_by_index(0) else {
                found.without_geometry += 1;
                messages::forget();
                continue;
            };
            raws.push(geometry::raw(geometry));
            let at = without_shape.len();
            let mut value = |(number, field)| {
                let (value, is_utf8) = field_value(&read, field);
                if !is_utf8 {
                    found.not_utf8.push((at, number));
                }
                value
            };
            without_shape.push(Feature {
                fid,
                geometry: (),
                fields: fields.iter().enumerate().map(&mut value).collect(),
            });
            if raws.len() == SHAPES_AT_ONCE {
                let raws = std::mem::take(&mut raws);
                let first = without_shape.len() - raws.len();
                let shapes = &shapes;
                scope.spawn(move |_| shapes.make(first, raws));
            }
        }
        // This thread may do other work while it waits for the rest.
        let said = messages::said();
        shapes.make(without_shape.len() - raws.len(), raws);
        said
    });
    let mut items = Vec::with_capacity(without_shape.len());
    for (at, (item, shape)) in without_shape.into_iter().zip(shapes.in_order()).enumerate() {
        if shape.is_err() {
            found.not_utf8.retain(|(item, _)| *item != at);
        }
        match shape {
            Ok(shape) => items.push(item.with(|()| shape)),
            Err(NoShape::Empty) => found.without_geometry += 1,
            Err(NoShape::Broken(reason)) => found.broken.push((item.fid, reason)),
        }
    }
    (found, items)
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
