//! From GDAL's geometries to plain ones in two dimensions, and the repair of
//! polygons that are not valid. Knows no fields and no systems.

use gdal::cpl::CslStringList;
use gdal::vector::{Geometry, OGRwkbGeometryType as Kind, geometry_type_flatten};
use geo::{Area, Coord, CoordsIter, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon};

use super::messages;
use super::plain_ring::plain_polygon;

/// A geometry read, and whether it had to be repaired.
pub(super) struct Shape {
    /// What it is, in two dimensions.
    pub geometry: geo::Geometry<f64>,
    /// What it was before the repair.
    pub before: Option<geo::Geometry<f64>>,
}

/// Why no shape comes out.
#[derive(Debug, PartialEq)]
pub(super) enum NoShape {
    /// There is nothing in it.
    Empty,
    /// It cannot be repaired; GDAL's words.
    Broken(String),
}

/// A geometry as it was read, ready to go to another thread.
pub(super) enum Raw {
    /// The well-known bytes of polygons.
    Polygons(Vec<u8>),
    /// What takes no time to make.
    Done(Result<Shape, NoShape>),
}

/// What a geometry holds. Polygons are left for later, as their check takes time.
pub(super) fn raw(read: &Geometry) -> Raw {
    let polygons = matches!(
        read.geometry_type(),
        Kind::wkbPolygon | Kind::wkbPolygon25D | Kind::wkbMultiPolygon | Kind::wkbMultiPolygon25D
    );
    let bytes = polygons.then(|| read.wkb().ok()).flatten();
    bytes.map_or_else(|| Raw::Done(shape(read)), Raw::Polygons)
}

impl Raw {
    /// The plain geometry, repaired where it must be.
    pub fn shape(self) -> Result<Shape, NoShape> {
        match self {
            Raw::Done(shape) => shape,
            Raw::Polygons(bytes) => {
                if let Some(polygon) = plain_polygon(&bytes) {
                    return Ok(Shape {
                        geometry: geo::Geometry::Polygon(polygon),
                        before: None,
                    });
                }
                messages::forget();
                let read = Geometry::from_wkb(&bytes);
                shape(&read.map_err(|error| NoShape::Broken(messages::reason(&error)))?)
            }
        }
    }
}

/// A plain geometry. Of a mixture the parts of the highest dimension are kept.
fn shape(read: &Geometry) -> Result<Shape, NoShape> {
    let found = plain(read).ok_or(NoShape::Empty)?;
    // The repair would drop such a corner without a word.
    if let Some(corner) = found
        .coords_iter()
        .find(|corner| !(corner.x.is_finite() && corner.y.is_finite()))
    {
        return Err(NoShape::Broken(format!(
            "its corner {} {} is no place",
            corner.x, corner.y
        )));
    }
    let is_area = matches!(found, geo::Geometry::Polygon(_) | geo::Geometry::MultiPolygon(_));
    if !is_area || messages::unheard(|| read.is_valid()) {
        return Ok(Shape {
            geometry: found,
            before: None,
        });
    }
    let repaired = messages::unheard(|| repaired(read))?;
    let geometry = plain(&repaired).filter(|geometry| geometry.unsigned_area() > 0.0);
    match geometry {
        Some(geometry) => Ok(Shape {
            geometry,
            before: Some(found),
        }),
        None => Err(NoShape::Broken("nothing is left of it".to_owned())),
    }
}

fn repaired(read: &Geometry) -> Result<Geometry, NoShape> {
    let mut flat = read.clone();
    flat.flatten_to_2d();
    // By structure: parts that lie over each other become one, where the older
    // method would cut a hole. It needs GEOS 3.10.
    let mut structure = CslStringList::new();
    let named = structure.set_name_value("METHOD", "STRUCTURE").is_ok();
    let by_structure = named.then(|| flat.make_valid(&structure).ok()).flatten();
    match by_structure.filter(|found| !found.is_empty()) {
        Some(found) => Ok(found),
        None => flat
            .make_valid(&CslStringList::new())
            .map_err(|error| NoShape::Broken(messages::reason(&error))),
    }
}

#[derive(Default)]
struct Parts {
    polygons: Vec<Polygon<f64>>,
    lines: Vec<LineString<f64>>,
    points: Vec<Point<f64>>,
}

fn plain(read: &Geometry) -> Option<geo::Geometry<f64>> {
    let mut parts = Parts::default();
    collect(read, &mut parts);
    let Parts {
        mut polygons,
        mut lines,
        mut points,
    } = parts;
    match (polygons.len(), lines.len(), points.len()) {
        (1, ..) => polygons.pop().map(geo::Geometry::Polygon),
        (2.., ..) => Some(geo::Geometry::MultiPolygon(MultiPolygon(polygons))),
        (0, 1, _) => lines.pop().map(geo::Geometry::LineString),
        (0, 2.., _) => Some(geo::Geometry::MultiLineString(MultiLineString(lines))),
        (0, 0, 1) => points.pop().map(geo::Geometry::Point),
        (0, 0, 2..) => Some(geo::Geometry::MultiPoint(MultiPoint(points))),
        (0, 0, 0) => None,
    }
}

fn collect(read: &Geometry, parts: &mut Parts) {
    if read.is_empty() {
        return;
    }
    match geometry_type_flatten(read.geometry_type()) {
        Kind::wkbPoint => {
            let (x, y, _) = read.get_point(0);
            parts.points.push(Point::new(x, y));
        }
        Kind::wkbLineString => parts.lines.push(line(read)),
        Kind::wkbPolygon | Kind::wkbTriangle => {
            let mut rings = (0..read.geometry_count()).map(|ring| line(&read.get_geometry(ring)));
            if let Some(outer) = rings.next() {
                let holes = rings.filter(|ring| !ring.0.is_empty()).collect();
                parts.polygons.push(Polygon::new(outer, holes));
            }
        }
        _ => {
            for part in 0..read.geometry_count() {
                collect(&read.get_geometry(part), parts);
            }
        }
    }
}

fn line(read: &Geometry) -> LineString<f64> {
    let mut points = Vec::new();
    read.get_points(&mut points);
    LineString(points.into_iter().map(|(x, y, _)| Coord { x, y }).collect())
}
