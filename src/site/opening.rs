//! Opens all layers of a site: looks at rasters, lays the grid, reads vectors, and
//! gathers every problem before giving up.

use std::collections::BTreeMap;

use super::area::{CellCandidate, GridChoice, source_cell_m};
use super::burn::PolygonIndex;
use super::exclude_layer::{self, ExcludeLayer};
use super::factor_layer::{
    FactorLayer, Origin, PolygonLayer, RasterPlan, distance_index, polygon_layer, polygon_values,
};
use super::finding::Findings;
use super::raster_checks;
use super::site::{Sections, Site};
use super::vector_layer::{VectorLayer, Wanted};
use super::{LayerFact, SiteError};
use crate::factor::Kind;
use crate::gis::{self, RasterFile, Resampling, Transform};
use crate::grid::{Crs, Extent, Grid};
use crate::project::{FactorSection, FactorSource, LayerRef};

/// A raster looked at, with the CRS that counts.
struct Looked {
    file: RasterFile,
    crs: Crs,
    crs_override: Option<Crs>,
}

/// What tells two readings of a vector layer apart.
type LayerKey = (std::path::PathBuf, Option<String>, Option<String>, Option<String>);

pub fn open(sections: Sections) -> Result<Site, SiteError> {
    let mut findings = Findings::default();
    let site = open_all(sections, &mut findings);
    let failed = findings.has_errors();
    let list = findings.into_list();
    match site {
        Some(mut site) if !failed => {
            site.findings = list;
            Ok(site)
        }
        _ => Err(SiteError::Problems { findings: list }),
    }
}

fn open_all(sections: Sections, findings: &mut Findings) -> Option<Site> {
    let rasters: Vec<Option<Looked>> = sections
        .factors
        .iter()
        .map(|section| match &section.source {
            FactorSource::Raster { layer, band, .. }
            | FactorSource::Slope {
                elevation: layer,
                band,
                ..
            } => look(section, layer, *band, findings),
            FactorSource::Polygons { .. } | FactorSource::Distance { .. } => None,
        })
        .collect();
    let lines_matter = !sections.exclude.is_empty()
        || sections
            .factors
            .iter()
            .any(|section| matches!(section.source, FactorSource::Distance { .. }));
    let choice = {
        let named = sections.factors.iter().zip(&rasters);
        let decisive = named.filter_map(|(section, looked)| Some((section, looked.as_ref()?)));
        let candidates: Vec<CellCandidate> = decisive
            .filter(|(section, _)| section.factor.decisive && section.factor.id != "hardiness")
            .map(|(section, looked)| CellCandidate {
                name: &section.factor.id,
                file: &looked.file,
                crs: &looked.crs,
            })
            .collect();
        let layer_crs: Vec<Crs> = rasters
            .iter()
            .flatten()
            .map(|looked| looked.crs.clone())
            .collect();
        GridChoice::new(sections.area, &candidates, &layer_crs, lines_matter, findings)?
    };
    let grid = choice.grid;
    let area = Extent::around(
        choice
            .boundary
            .iter()
            .flatten()
            .flat_map(|polygon| polygon.exterior().coords())
            .map(|point| (point.x, point.y)),
    )?;
    let mut opening = Opening {
        grid: &grid,
        area,
        findings,
        vectors: BTreeMap::new(),
        polygon_layers: Vec::new(),
        polygon_numbers: BTreeMap::new(),
        facts: Vec::new(),
    };
    opening.read_vectors(sections);
    let layers: Vec<Option<FactorLayer>> = sections
        .factors
        .iter()
        .zip(rasters)
        .map(|(section, looked)| opening.factor(section, looked))
        .collect();
    let excludes: Vec<Option<ExcludeLayer>> = sections
        .exclude
        .iter()
        .map(|section| {
            let name = exclude_layer::layer_name(section);
            let layer = opening.vectors.get(&key(&section.layer))?;
            opening
                .facts
                .extend(fact_of_vector(&name, &section.layer, layer, &area, None));
            ExcludeLayer::new(section, &grid, layer, opening.findings)
        })
        .collect();
    let Opening {
        polygon_layers,
        facts,
        ..
    } = opening;
    let boundary = findings.take("area.boundary", PolygonIndex::new(&grid, choice.boundary))?;
    let cell_areas = findings.take("area", gis::cell_areas(&grid))?;
    let mut all_facts = vec![LayerFact {
        name: "area.boundary".to_owned(),
        path: sections.area.boundary.as_written.clone(),
        kind: "polygons".to_owned(),
        transform: choice.transform,
        resampling: None,
        support_m: None,
        nodata: None,
        covers: 1.0,
        features: None,
        date: None,
    }];
    all_facts.extend(facts);
    Some(Site {
        cell_areas,
        boundary,
        polygon_layers,
        layers: layers.into_iter().collect::<Option<_>>()?,
        factors: sections
            .factors
            .iter()
            .map(|section| section.factor.clone())
            .collect(),
        excludes: excludes.into_iter().collect::<Option<_>>()?,
        facts: all_facts,
        findings: Vec::new(),
        cell_set_by: choice.cell_set_by,
        crs_set_by: choice.crs_set_by,
        grid,
    })
}

/// Looks at a raster and settles its CRS.
fn look(section: &FactorSection, layer: &LayerRef, band: usize, findings: &mut Findings) -> Option<Looked> {
    let name = format!("factors.{}", section.factor.id);
    let file = findings.take(&name, gis::inspect_raster(&layer.path))?;
    let crs_override = match &layer.crs {
        None => None,
        Some(text) => Some(findings.take(&name, gis::crs_from_text(text))?),
    };
    let crs = crs_override.clone().or_else(|| file.crs.clone());
    let Some(crs) = crs else {
        findings.error(
            &name,
            format!(
                "{} has no coordinate reference system: say `crs = \"EPSG:...\"` for the layer",
                layer.as_written
            ),
        );
        return None;
    };
    raster_checks::check(&name, section, layer, &file, band, &crs, findings).then_some(Looked {
        file,
        crs,
        crs_override,
    })
}

fn key(layer: &LayerRef) -> LayerKey {
    (
        layer.path.clone(),
        layer.sublayer.clone(),
        layer.filter.clone(),
        layer.crs.clone(),
    )
}

/// The work of opening, once the grid is known.
struct Opening<'a> {
    grid: &'a Grid,
    area: Extent,
    findings: &'a mut Findings,
    vectors: BTreeMap<LayerKey, VectorLayer>,
    polygon_layers: Vec<PolygonLayer>,
    polygon_numbers: BTreeMap<LayerKey, usize>,
    facts: Vec<LayerFact>,
}

impl Opening<'_> {
    /// Reads each vector layer once, with all fields that anyone needs.
    fn read_vectors(&mut self, sections: Sections) {
        let mut all: BTreeMap<LayerKey, Wanted> = BTreeMap::new();
        let mut want = |name: String, layer: &LayerRef, field: Option<&String>, reach_m: f64| {
            let wanted = all.entry(key(layer)).or_insert_with(|| Wanted {
                name,
                layer: layer.clone(),
                fields: Vec::new(),
                reach_m: 0.0,
            });
            wanted.reach_m = wanted.reach_m.max(reach_m);
            wanted
                .fields
                .extend(field.filter(|field| !wanted.fields.contains(field)).cloned());
        };
        for section in sections.factors {
            let name = format!("factors.{}", section.factor.id);
            match &section.source {
                FactorSource::Polygons { layer, attribute, .. } => want(name, layer, Some(attribute), 0.0),
                FactorSource::Distance { layer, reach_m } => want(name, layer, None, *reach_m),
                FactorSource::Raster { .. } | FactorSource::Slope { .. } => {}
            }
        }
        for section in sections.exclude {
            let field = match &section.width {
                Some(crate::project::Width::Attribute(field)) => Some(field),
                Some(crate::project::Width::Metres(_)) | None => None,
            };
            want(
                exclude_layer::layer_name(section),
                &section.layer,
                field,
                exclude_layer::reach_m(section),
            );
        }
        for (key, wanted) in all {
            // A cell at the edge may reach out by half its diagonal.
            let wanted = Wanted {
                reach_m: wanted.reach_m + self.grid.cell_m(),
                ..wanted
            };
            if let Some(layer) = VectorLayer::read(&wanted, self.grid.crs(), &self.area, self.findings) {
                self.vectors.insert(key, layer);
            }
        }
    }

    fn factor(&mut self, section: &FactorSection, looked: Option<Looked>) -> Option<FactorLayer> {
        let name = format!("factors.{}", section.factor.id);
        match &section.source {
            FactorSource::Polygons {
                layer: layer_ref,
                attribute,
                nodata,
                unit,
            } => {
                let layer = self.vectors.get(&key(layer_ref))?;
                self.facts.extend(fact_of_vector(
                    &name,
                    layer_ref,
                    layer,
                    &self.area,
                    section.support_m,
                ));
                let values = polygon_values(section, attribute, *nodata, unit.as_ref(), layer, self.findings);
                let number = match self.polygon_numbers.get(&key(layer_ref)) {
                    Some(&number) => number,
                    None => {
                        let burned = polygon_layer(&name, self.grid, layer, self.findings)?;
                        self.polygon_layers.push(burned);
                        let number = self.polygon_layers.len() - 1;
                        self.polygon_numbers.insert(key(layer_ref), number);
                        number
                    }
                };
                let origin = Origin::Polygons {
                    layer: number,
                    values,
                };
                Some(FactorLayer::new(section, origin, None))
            }
            FactorSource::Distance {
                layer: layer_ref,
                reach_m,
            } => {
                let layer = self.vectors.get(&key(layer_ref))?;
                self.facts.extend(fact_of_vector(
                    &name,
                    layer_ref,
                    layer,
                    &self.area,
                    section.support_m,
                ));
                let index = distance_index(&name, self.grid, layer, *reach_m, self.findings)?;
                Some(FactorLayer::new(section, Origin::Distance(index), None))
            }
            FactorSource::Raster {
                layer, band, nodata, ..
            } => {
                let (plan, cell_m) = self.raster(section, layer, *band, *nodata, looked?)?;
                Some(FactorLayer::new(section, Origin::Raster(plan), Some(cell_m)))
            }
            FactorSource::Slope {
                elevation,
                band,
                nodata,
                vertical_unit,
            } => {
                let looked = looked?;
                let given = vertical_unit.as_ref().map(|unit| unit.multiply);
                let metres_per_unit = raster_checks::metres_per_unit(
                    &name,
                    elevation,
                    &looked.file,
                    *band,
                    given,
                    self.findings,
                )?;
                let (plan, cell_m) = self.raster(section, elevation, *band, *nodata, looked)?;
                let origin = Origin::Slope {
                    elevation: plan,
                    metres_per_unit,
                };
                Some(FactorLayer::new(section, origin, Some(cell_m)))
            }
        }
    }

    /// How a raster is read, and its cell in metres of the grid.
    fn raster(
        &mut self,
        section: &FactorSection,
        layer: &LayerRef,
        band: usize,
        nodata: Option<f64>,
        looked: Looked,
    ) -> Option<(RasterPlan, f64)> {
        let name = format!("factors.{}", section.factor.id);
        let cell_m = self.findings.take(
            &name,
            source_cell_m(&looked.file, &looked.crs, self.grid.crs(), &self.area),
        )?;
        let finer = cell_m < self.grid.cell_m() * 0.99;
        // Cuts turn numbers into classes after reading, so the numbers are measured.
        let classes = section.cuts.is_none() && matches!(section.factor.kind, Kind::Classes { .. });
        let resampling = match (classes, finer) {
            (true, true) => Resampling::Mode,
            (true, false) => Resampling::Nearest,
            (false, true) => Resampling::Average,
            (false, false) => Resampling::Bilinear,
        };
        let transform = self
            .findings
            .take(&name, Transform::new(&looked.crs, self.grid.crs()))?;
        let covers = self.covers(
            &name,
            &layer.as_written,
            &looked.file.extent,
            &looked.crs,
            &transform,
        )?;
        if transform.told().ballpark {
            self.findings.warn(
                &name,
                format!(
                    "no exact way from {} to {} is known here: a ballpark one is used, which can be metres off; install the datum's grid or give the layer in the grid's CRS",
                    transform.told().from,
                    transform.told().to
                ),
            );
        }
        self.facts.push(LayerFact {
            name,
            path: layer.as_written.clone(),
            kind: format!("raster, {}", if classes { "classes" } else { "measured" }),
            transform: transform.told().clone(),
            resampling: Some(resampling.word()),
            support_m: Some(section.support_m.unwrap_or(cell_m)),
            nodata: nodata.or(looked.file.bands[band - 1].nodata),
            covers,
            features: None,
            date: section.date.clone(),
        });
        let plan = RasterPlan {
            file: looked.file,
            band,
            crs_override: looked.crs_override,
            nodata_override: nodata,
            resampling,
        };
        Some((plan, cell_m))
    }

    /// The share of the area's extent that a raster covers; an error when none.
    fn covers(
        &mut self,
        name: &str,
        path: &str,
        extent: &Extent,
        crs: &Crs,
        transform: &Transform,
    ) -> Option<f64> {
        let mut points = around(extent);
        self.findings.take(name, transform.apply(&mut points))?;
        let there = Extent::around(points)?;
        let covers = self.area.share_covered_by(&there);
        let show = |extent: &Extent| {
            format!(
                "x {:.0} to {:.0}, y {:.0} to {:.0}",
                extent.west, extent.east, extent.south, extent.north
            )
        };
        if covers <= 0.0 {
            self.findings.error(
                name,
                format!(
                    "{path} misses the area: in {} it lies at {} (its CRS is {}), the area at {}; a layer that covers the area is needed, or the right `crs` for this one",
                    self.grid.crs().label(),
                    show(&there),
                    crs.label(),
                    show(&self.area)
                ),
            );
            return None;
        }
        if covers < 0.999 {
            self.findings.warn(
                name,
                format!(
                    "{path} covers {:.0} % of the area's extent; the rest is missing",
                    covers * 100.0
                ),
            );
        }
        Some(covers)
    }
}

/// Points along an extent's border, close enough that a bent edge shows.
fn around(extent: &Extent) -> Vec<(f64, f64)> {
    let steps = 20;
    let mut points = Vec::with_capacity(4 * steps);
    for step in 0..steps {
        #[expect(clippy::cast_precision_loss, reason = "a small count")]
        let share = step as f64 / steps as f64;
        let (x, y) = (
            extent.west + share * extent.width(),
            extent.south + share * extent.height(),
        );
        points.extend([
            (x, extent.south),
            (x, extent.north),
            (extent.west, y),
            (extent.east, y),
        ]);
    }
    points.push((extent.east, extent.north));
    points
}

fn fact_of_vector(
    name: &str,
    layer: &LayerRef,
    read: &VectorLayer,
    area: &Extent,
    support_m: Option<f64>,
) -> Option<LayerFact> {
    use geo::BoundingRect;
    let boxes = read
        .features
        .items
        .iter()
        .filter_map(|feature| feature.geometry.bounding_rect());
    let extent = Extent::around(boxes.flat_map(|bounds| {
        let (low, high) = (bounds.min(), bounds.max());
        [(low.x, low.y), (high.x, high.y)]
    }));
    Some(LayerFact {
        name: name.to_owned(),
        path: layer.as_written.clone(),
        kind: "vector".to_owned(),
        transform: read.features.transform.clone(),
        resampling: None,
        support_m,
        nodata: None,
        covers: extent.map_or(0.0, |extent| area.share_covered_by(&extent)),
        features: Some(read.features.items.len()),
        date: None,
    })
}
