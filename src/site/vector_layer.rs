//! Vector layers read once, in the grid's CRS, whoever uses them.

use std::collections::BTreeMap;

use geo::Geometry;
use thiserror::Error;

use super::burn::Crossings;
use super::finding::Findings;
use crate::gis::{self, Features, FieldValue, VectorQuery};
use crate::grid::{Crs, Extent, Grid};
use crate::plural::{counted, one_or_many};
use crate::project::LayerRef;

/// Which layer is read with which fields and how far around the area.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// What the project file calls it.
    pub name: String,
    /// The layer.
    pub layer: LayerRef,
    /// Fields that are needed.
    pub fields: Vec<String>,
    /// How far beyond the area features matter, in metres.
    pub reach_m: f64,
    /// Whether outlines are needed, or only the ground that polygons own.
    pub outlines: bool,
}

/// What is kept of where a feature lies.
#[derive(Debug)]
pub struct Kept {
    /// Its outline, if it was asked for.
    outline: Option<Geometry<f64>>,
    /// The ground it owns, if it was asked for.
    ground: Option<Ground>,
}

/// The ground that a feature owns on a grid.
#[derive(Debug)]
pub enum Ground {
    /// That of a polygon.
    ///
    /// # Missing
    /// Its coordinates are not finite.
    Owned(Option<Crossings>),
    /// It is no polygon.
    NoPolygon,
}

impl Ground {
    fn of(grid: &Grid, outline: &Geometry<f64>) -> Ground {
        match outline {
            Geometry::Polygon(polygon) => Ground::Owned(Crossings::of(grid, [polygon])),
            Geometry::MultiPolygon(polygons) => Ground::Owned(Crossings::of(grid, polygons)),
            _ => Ground::NoPolygon,
        }
    }
}

/// What was wanted of a layer is not what was kept of it.
#[derive(Debug, Error)]
#[error("{0} of its features had to be kept when it was read")]
pub struct NotKept(&'static str);

/// A vector layer in the grid's CRS. Vertices are many, so only what is asked for is kept
/// of them.
#[derive(Debug)]
pub struct VectorLayer {
    /// The path as the project has it.
    pub file: String,
    /// What was read.
    pub features: Features<Kept>,
    fields: Vec<String>,
}

impl VectorLayer {
    /// Reads a layer as far as it matters for the area, all of it where there is no
    /// area yet, and tells what is odd. With a grid the ground that polygons own on it is
    /// found out.
    pub fn read(
        wanted: &Wanted,
        to: &Crs,
        area: Option<&Extent>,
        ground_on: Option<&Grid>,
        findings: &mut Findings,
    ) -> Option<VectorLayer> {
        let name = wanted.name.as_str();
        let given = wanted.layer.crs.as_deref().map(gis::crs_from_text);
        let crs_override = match given {
            None => None,
            Some(given) => Some(findings.take(name, given)?),
        };
        let fields: Vec<&str> = wanted.fields.iter().map(String::as_str).collect();
        let query = VectorQuery {
            path: &wanted.layer.path,
            layer: wanted.layer.sublayer.as_deref(),
            filter: wanted.layer.filter.as_deref(),
            fields: &fields,
            crs_override: crs_override.as_ref(),
            to,
            within: area.map(|area| (area.grown(wanted.reach_m), to)),
        };
        let kept = |outline: Geometry<f64>| Kept {
            ground: ground_on.map(|grid| Ground::of(grid, &outline)),
            outline: wanted.outlines.then_some(outline),
        };
        let features = findings.take(name, gis::read_features_as(&query, kept))?;
        let file = wanted.layer.as_written.clone();
        if let Some(given) = &crs_override {
            findings.warn_of_other_crs(name, &file, features.own_crs.as_ref(), given);
        }
        tell(name, &file, &features, findings);
        Some(VectorLayer {
            file,
            features,
            fields: wanted.fields.clone(),
        })
    }

    /// The outlines, feature after feature.
    ///
    /// # Errors
    /// They were not kept.
    pub fn outlines(&self) -> Result<Vec<&Geometry<f64>>, NotKept> {
        let items = self.features.items.iter();
        items
            .map(|feature| feature.geometry.outline.as_ref())
            .collect::<Option<_>>()
            .ok_or(NotKept("the outlines"))
    }

    /// The ground that each feature owns.
    ///
    /// # Errors
    /// It was not found out, or let go.
    pub fn ground(&self) -> Result<Vec<&Ground>, NotKept> {
        let items = self.features.items.iter();
        items
            .map(|feature| feature.geometry.ground.as_ref())
            .collect::<Option<_>>()
            .ok_or(NotKept("the ground"))
    }

    /// Forgets the outlines.
    pub fn let_outlines_go(&mut self) {
        for feature in &mut self.features.items {
            feature.geometry.outline = None;
        }
    }

    /// Forgets the ground that features own.
    pub fn let_ground_go(&mut self) {
        for feature in &mut self.features.items {
            feature.geometry.ground = None;
        }
    }

    /// The values of one field, feature after feature.
    pub fn field(&self, name: &str) -> Option<impl Iterator<Item = &FieldValue>> {
        let index = self.fields.iter().position(|field| field == name)?;
        Some(
            self.features
                .items
                .iter()
                .map(move |feature| &feature.fields[index]),
        )
    }
}

fn tell<G>(name: &str, file: &str, features: &Features<G>, findings: &mut Findings) {
    for doubt in &features.doubts {
        findings.warn(name, doubt.clone());
    }
    for (fid, reason) in features.broken.iter().take(5) {
        findings.warn(
            name,
            format!("feature {fid} of {file} cannot be used and is left out: {reason}"),
        );
    }
    if features.broken.len() > 5 {
        findings.warn(
            name,
            format!("and {}", counted(features.broken.len() - 5, "more such feature")),
        );
    }
    if features.without_geometry > 0 {
        findings.warn(
            name,
            format!(
                "{} of {file} {} no geometry and {} left out",
                counted(features.without_geometry, "feature"),
                one_or_many(features.without_geometry, "has", "have"),
                one_or_many(features.without_geometry, "is", "are")
            ),
        );
    }
    findings.warn_of_ballpark(name, &features.transform);
    if !features.repaired.is_empty() {
        let ids: Vec<String> = features
            .repaired
            .iter()
            .take(5)
            .map(|repair| repair.fid.to_string())
            .collect();
        let before: f64 = features.repaired.iter().map(|repair| repair.area_before).sum();
        let after: f64 = features.repaired.iter().map(|repair| repair.area_after).sum();
        let repaired = features.repaired.len();
        let whose = one_or_many(repaired, "its", "their");
        let change = if before.is_finite() {
            format!("{whose} area goes from {before:.1} to {after:.1} m2")
        } else {
            format!("{whose} area is now {after:.1} m2, what it was cannot be told")
        };
        findings.warn(
            name,
            format!(
                "{} of {file} {} repaired (feature {}{}): {change}",
                counted(repaired, "polygon"),
                one_or_many(repaired, "was invalid and is", "were invalid and are"),
                ids.join(", "),
                if repaired > ids.len() { ", ..." } else { "" }
            ),
        );
    }
}

/// Counts of words that no table knows.
pub fn tell_unknown_words(
    name: &str,
    file: &str,
    attribute: &str,
    classes: &[String],
    unknown: &BTreeMap<String, u64>,
    findings: &mut Findings,
) {
    for (word, count) in unknown.iter().take(10) {
        let near = crate::nearest::nearest(word, classes.iter().map(String::as_str));
        let hint = near.map_or_else(String::new, |class| format!("; is it `{class}`?"));
        findings.warn(
            name,
            format!(
                "`{attribute}` of {file} has the word \"{word}\" ({}), which no table knows{hint}: its ground is missing; say in `words` which class it is",
                counted(*count, "time")
            ),
        );
    }
    if unknown.len() > 10 {
        findings.warn(
            name,
            format!("and {}", counted(unknown.len() - 10, "more such word")),
        );
    }
}
