//! Ground that is not rated: pavement, water, buildings, with their widths and
//! setbacks.

use geo::Geometry;

use super::distance::DistanceIndex;
use super::finding::Findings;
use super::vector_layer::VectorLayer;
use super::{GeometryError, SiteError};
use crate::gis::FieldValue;
use crate::grid::{Grid, Raster, Window};
use crate::plural::{counted, one_or_many};
use crate::project::{Exclude, Width};

/// Ground not to be rated because of one layer.
#[derive(Debug)]
pub struct ExcludeLayer {
    /// The project's word for it: `pavement`.
    pub name: String,
    index: DistanceIndex,
    half_widths_m: Vec<f64>,
    setback_m: f64,
}

impl ExcludeLayer {
    /// The exclude of a section; widths that are missing are told.
    pub fn new(
        section: &Exclude,
        grid: &Grid,
        layer: &VectorLayer,
        findings: &mut Findings,
    ) -> Option<ExcludeLayer> {
        ExcludeLayer::called(&layer_name(section), section, grid, layer, findings)
    }

    /// The same, for ground that messages call otherwise.
    pub fn called(
        name: &str,
        section: &Exclude,
        grid: &Grid,
        layer: &VectorLayer,
        findings: &mut Findings,
    ) -> Option<ExcludeLayer> {
        let geometries = findings.take(name, layer.outlines())?;
        let no_area =
            |geometry: &&Geometry<f64>| !matches!(geometry, Geometry::Polygon(_) | Geometry::MultiPolygon(_));
        let half_widths_m = match &section.width {
            Some(Width::Metres(width)) => vec![width / 2.0; geometries.len()],
            Some(Width::Attribute(attribute)) => widths(name, attribute, layer, findings)?,
            None => {
                let lines = geometries.iter().copied().filter(no_area).count();
                if lines > 0 && section.setback_m <= 0.0 {
                    findings.error(
                        name,
                        format!(
                            "{} {}, which {} no ground: `width_m`, `width_attribute` or `setback_m` is needed",
                            counted(lines, "feature"),
                            one_or_many(lines, "is a line or a point", "are lines or points"),
                            one_or_many(lines, "covers", "cover")
                        ),
                    );
                    return None;
                }
                vec![0.0; geometries.len()]
            }
        };
        let index = findings.take(name, DistanceIndex::new(grid, geometries, 0.0))?;
        Some(ExcludeLayer {
            name: section.name.clone(),
            index,
            half_widths_m,
            setback_m: section.setback_m,
        })
    }

    /// 1 where ground is excluded, else 0.
    ///
    /// # Errors
    /// Widths that are no lengths.
    pub fn covers(&self, window: Window) -> Result<Raster<u8>, SiteError> {
        let failed = |source: GeometryError| SiteError::Geometry {
            layer: format!("exclude {}", self.name),
            source,
        };
        self.index
            .within(window, &self.half_widths_m, self.setback_m)
            .map_err(failed)
    }
}

/// What messages call an exclude.
pub fn layer_name(section: &Exclude) -> String {
    format!("exclude {}", section.name)
}

/// How far around the area an exclude's features matter: half the widest width and
/// the setback, of a road no wider than 200 m.
pub fn reach_m(section: &Exclude) -> f64 {
    let half_width = match section.width {
        Some(Width::Metres(width)) => width / 2.0,
        Some(Width::Attribute(_)) => 100.0,
        None => 0.0,
    };
    half_width + section.setback_m
}

fn widths(name: &str, attribute: &str, layer: &VectorLayer, findings: &mut Findings) -> Option<Vec<f64>> {
    let mut wrong: Vec<String> = Vec::new();
    let fields = layer.field(attribute)?.zip(&layer.features.items);
    let widths = fields
        .map(|(field, feature)| {
            let width = match field {
                FieldValue::Number(width) => Some(*width),
                FieldValue::Text(text) => text.trim().parse().ok(),
                FieldValue::Missing => None,
            };
            if let Some(width) = width.filter(|width| width.is_finite() && *width >= 0.0) {
                width / 2.0
            } else {
                wrong.push(feature.fid.to_string());
                0.0
            }
        })
        .collect();
    if wrong.is_empty() {
        return Some(widths);
    }
    findings.error(
        name,
        format!(
            "`{attribute}` is no width in metres on {} (the first is {}): a number of 0 or more is needed on each, or `width_m` for all",
            counted(wrong.len(), "feature"),
            wrong[0]
        ),
    );
    None
}
