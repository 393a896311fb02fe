//! A polygon layer on the grid: which polygon owns which cell, what the polygons are
//! called, and what is told where they overlap. Does not know what they stand for.

use super::area::warn_of_others;
use super::burn::{Crossings, Overlaps, PolygonIndex};
use super::finding::Findings;
use super::vector_layer::{Ground, VectorLayer};
use crate::plural::counted;

/// A polygon layer on the grid, with what its polygons are called.
#[derive(Debug)]
pub struct PolygonLayer {
    /// What the project file calls it first.
    pub name: String,
    /// Which polygon owns which cell.
    pub index: PolygonIndex,
    /// Feature ids.
    pub fids: Vec<u64>,
    /// The path as the project has it.
    pub file: String,
}

/// A polygon layer on the grid, from the ground that its features own.
pub fn polygon_layer(name: &str, layer: &mut VectorLayer, findings: &mut Findings) -> Option<PolygonLayer> {
    let ground = findings.take(name, layer.ground())?;
    let features = ground.len();
    let others = ground.iter().filter(|ground| matches!(ground, Ground::NoPolygon));
    let others = others.count();
    warn_of_others(name, others, findings);
    if others == features {
        findings.error(
            name,
            format!(
                "of {} of {} near the area none is a polygon, and polygons are needed to own its ground",
                counted(features, "feature"),
                layer.file
            ),
        );
        return None;
    }
    let none = Crossings::default();
    let crossings = ground.into_iter().map(|ground| match ground {
        Ground::Owned(crossings) => crossings.as_ref(),
        Ground::NoPolygon => Some(&none),
    });
    let index = findings.take(name, PolygonIndex::of(crossings.collect()))?;
    layer.let_ground_go();
    Some(PolygonLayer {
        name: name.to_owned(),
        index,
        fids: layer.features.items.iter().map(|feature| feature.fid).collect(),
        file: layer.file.clone(),
    })
}

/// Overlaps of a polygon layer for people: how many cells, which features.
pub fn overlap_text(layer: &PolygonLayer, overlaps: &Overlaps, cell_m: f64) -> Option<String> {
    let cells = overlaps.cells();
    if cells == 0 {
        return None;
    }
    let sets: Vec<String> = overlaps
        .sets()
        .take(5)
        .map(|(polygons, cells)| {
            let fids: Vec<String> = polygons
                .iter()
                .map(|&polygon| layer.fids[polygon as usize].to_string())
                .collect();
            format!("{} ({})", fids.join(" and "), counted(cells, "cell"))
        })
        .collect();
    #[expect(clippy::cast_precision_loss, reason = "an area for people")]
    let area_ha = cells as f64 * cell_m * cell_m / 10_000.0;
    Some(format!(
        "polygons of {} overlap on {area_ha:.2} ha, whose ground is missing: features {}; mend the layer so that each place has one polygon",
        layer.file,
        sets.join(", ")
    ))
}
