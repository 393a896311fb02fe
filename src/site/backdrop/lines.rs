//! Lines and rings of vector layers, cut down to what lies near the grid and thinned.

use geo::{Coord, Geometry, LineString, Polygon, Simplify};
use rayon::prelude::*;

use crate::grid::{Extent, Grid};
use crate::project::{FactorSource, LayerRef};
use crate::site::Sections;
use crate::site::finding::Findings;
use crate::site::vector_layer::{VectorLayer, Wanted};

/// What lines stand for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineKind {
    /// The edge of the area.
    Boundary,
    /// Roads that salt comes from.
    Road,
    /// Ground that is not to be rated: lines, or the edges of polygons.
    KeepOut,
    /// Lines of another kind that a factor tells the distance from.
    DistanceFrom,
}

/// The lines of one layer.
#[derive(Debug, Clone, PartialEq)]
pub struct BackdropLines {
    /// The name as people know it: `boundary`, `roads`, the name of the exclude, the id
    /// of the factor.
    pub name: String,
    /// What they stand for.
    pub kind: LineKind,
    /// Lines as points (x, y) in map coordinates; one that ends where it began is a ring.
    pub lines: Vec<Vec<(f64, f64)>>,
}

/// Lines are kept so many cells beyond the grid.
const MARGIN_CELLS: f64 = 4.0;

/// Points that are thinned at a time: thinning takes up to the square of their number.
const POINTS_AT_ONCE: usize = 1_000;

/// Which layer, under which name.
struct Shown<'a> {
    name: &'a str,
    kind: LineKind,
    layer: &'a LayerRef,
}

impl Shown<'_> {
    /// What the project file calls the layer.
    fn in_project(&self) -> String {
        match self.kind {
            LineKind::Boundary => "area.boundary".to_owned(),
            LineKind::Road => "road_salt.roads".to_owned(),
            LineKind::KeepOut => format!("exclude {}", self.name),
            LineKind::DistanceFrom => format!("factors.{}", self.name),
        }
    }
}

/// The lines of all layers, in the order in which a map may draw them over each other.
pub fn read(
    sections: Sections,
    grid: &Grid,
    tolerance_m: f64,
    findings: &mut Findings,
) -> Vec<BackdropLines> {
    let margin_m = MARGIN_CELLS * grid.cell_m();
    let near = grid.extent().grown(margin_m);
    let read: Vec<(Option<BackdropLines>, Findings)> = shown(sections)
        .into_par_iter()
        .map(|shown| {
            let mut findings = Findings::default();
            let wanted = Wanted {
                name: shown.in_project(),
                layer: shown.layer.clone(),
                fields: Vec::new(),
                reach_m: margin_m,
                outlines: true,
            };
            let layer = VectorLayer::read(&wanted, grid.crs(), Some(&grid.extent()), None, &mut findings);
            let outlines = layer.as_ref().map(VectorLayer::outlines);
            let outlines = outlines.and_then(|outlines| findings.take(&wanted.name, outlines));
            let lines = outlines.map(|outlines| BackdropLines {
                name: shown.name.to_owned(),
                kind: shown.kind,
                lines: lines_of(&outlines, shown.kind, &near, tolerance_m),
            });
            (lines, findings)
        })
        .collect();
    let mut all = Vec::new();
    for (lines, found) in read {
        findings.take_over(found);
        all.extend(lines.filter(|lines| !lines.lines.is_empty()));
    }
    all
}

/// The layers to show, each once.
fn shown(sections: Sections) -> Vec<Shown> {
    let boundary = Shown {
        name: "boundary",
        kind: LineKind::Boundary,
        layer: &sections.area.boundary,
    };
    let roads = sections.road_salt.map(|salt| Shown {
        name: "roads",
        kind: LineKind::Road,
        layer: &salt.roads,
    });
    let excludes = sections.exclude.iter().map(|exclude| Shown {
        name: &exclude.name,
        kind: LineKind::KeepOut,
        layer: &exclude.layer,
    });
    let distances = sections.factors.iter().filter_map(|section| {
        let FactorSource::Distance { layer, .. } = &section.source else {
            return None;
        };
        Some(Shown {
            name: &section.factor.id,
            kind: LineKind::DistanceFrom,
            layer,
        })
    });
    let mut all: Vec<Shown> = Vec::new();
    for shown in [boundary]
        .into_iter()
        .chain(roads)
        .chain(excludes)
        .chain(distances)
    {
        if all.iter().all(|known| known.layer != shown.layer) {
            all.push(shown);
        }
    }
    all
}

fn lines_of(
    outlines: &[&Geometry<f64>],
    kind: LineKind,
    near: &Extent,
    tolerance_m: f64,
) -> Vec<Vec<(f64, f64)>> {
    let with_rings = kind != LineKind::DistanceFrom;
    outlines
        .iter()
        .flat_map(|outline| lines_in(outline, with_rings))
        .flat_map(|line| parts_near(line, near))
        .filter_map(|part| thinned(&part, tolerance_m))
        .collect()
}

/// The lines of a geometry, and the rings of its polygons if wanted; points are none.
fn lines_in(geometry: &Geometry<f64>, with_rings: bool) -> Vec<&LineString<f64>> {
    match geometry {
        Geometry::LineString(line) => vec![line],
        Geometry::MultiLineString(lines) => lines.iter().collect(),
        Geometry::Polygon(polygon) if with_rings => rings(polygon).collect(),
        Geometry::MultiPolygon(polygons) if with_rings => polygons.iter().flat_map(rings).collect(),
        Geometry::GeometryCollection(parts) => {
            let lines = parts.iter().map(|part| lines_in(part, with_rings));
            lines.flatten().collect()
        }
        _ => Vec::new(),
    }
}

fn rings(polygon: &Polygon<f64>) -> impl Iterator<Item = &LineString<f64>> {
    [polygon.exterior()].into_iter().chain(polygon.interiors())
}

/// The parts of a line whose pieces come near an extent; a piece that does is kept whole.
fn parts_near(line: &LineString<f64>, near: &Extent) -> Vec<Vec<Coord<f64>>> {
    let mut parts: Vec<Vec<Coord<f64>>> = Vec::new();
    let mut follows = false;
    for piece in line.lines() {
        let (from, to) = (piece.start, piece.end);
        let comes_near = from.x.min(to.x) <= near.east
            && from.x.max(to.x) >= near.west
            && from.y.min(to.y) <= near.north
            && from.y.max(to.y) >= near.south;
        match parts.last_mut() {
            Some(part) if comes_near && follows => part.push(to),
            _ if comes_near => parts.push(vec![from, to]),
            _ => {}
        }
        follows = comes_near;
    }
    parts
}

/// A line with fewer points, as Ramer 1972 and Douglas and Peucker 1973 thin it; nothing of
/// one that begins and ends in one place and leaves it by no more than the tolerance.
fn thinned(points: &[Coord<f64>], tolerance_m: f64) -> Option<Vec<(f64, f64)>> {
    let mut thin: Vec<(f64, f64)> = Vec::new();
    let mut from = 0;
    while from + 1 < points.len() {
        let to = (from + POINTS_AT_ONCE).min(points.len() - 1);
        let stretch = LineString::new(points[from..=to].to_vec()).simplify(tolerance_m);
        // The last point of a stretch is the first of the next.
        let again = usize::from(from > 0);
        thin.extend(stretch.coords().skip(again).map(|point| (point.x, point.y)));
        from = to;
    }
    let is_one_place = thin.iter().all(|point| *point == thin[0]);
    (!is_one_place).then_some(thin)
}
