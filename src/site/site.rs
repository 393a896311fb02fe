//! The opened site: its grid and every layer, ready to be read band by band.

use super::burn::PolygonIndex;
use super::exclude_layer::ExcludeLayer;
use super::factor_layer::{FactorLayer, Origin};
use super::finding::Finding;
use super::kept_tiles::KeptTiles;
use super::polygon_layer::{PolygonLayer, overlap_text};
use super::possible::Possible;
use super::raster_plan::RasterPlan;
use super::salt::opening::SiteSalt;
use super::soil_survey::Survey;
use super::{LayerFact, Met, SiteError, opening};
use crate::factor::Factor;
use crate::grid::{CellAreas, Grid, TILE_CELLS};
use crate::plural::counted;
use crate::project::{Area, Exclude, FactorSection, FactorSource, RoadSalt, SoilSurvey};
use crate::soil::{SoilFactor, SoilMixes};

/// Most memory that tiles take when they are kept for another pass.
const MOST_KEPT_BYTES: usize = 256 << 20;

/// The sections of a project that name layers.
#[derive(Debug, Clone, Copy)]
pub struct Sections<'a> {
    /// The ground to rate.
    pub area: &'a Area,
    /// The factors, in the project's order.
    pub factors: &'a [FactorSection],
    /// The roads that factors are computed from.
    pub road_salt: Option<&'a RoadSalt>,
    /// What is not to be rated.
    pub exclude: &'a [Exclude],
    /// The soil survey that factors may be drawn from.
    pub soil_survey: Option<&'a SoilSurvey>,
}

/// A site with all its layers open.
#[derive(Debug)]
pub struct Site {
    pub(super) grid: Grid,
    pub(super) cell_areas: CellAreas,
    pub(super) boundary: PolygonIndex,
    pub(super) polygon_layers: Vec<PolygonLayer>,
    pub(super) layers: Vec<FactorLayer>,
    pub(super) factors: Vec<Factor>,
    pub(super) salt: Option<SiteSalt>,
    pub(super) excludes: Vec<ExcludeLayer>,
    pub(super) survey: Option<Survey>,
    pub(super) facts: Vec<LayerFact>,
    pub(super) findings: Vec<Finding>,
    pub(super) cell_set_by: String,
    pub(super) crs_set_by: String,
    pub(super) kept: KeptTiles,
    /// Whether no layer has been let go.
    pub(super) can_be_read: bool,
}

impl Site {
    /// Opens all layers and lays the grid.
    ///
    /// # Errors
    /// Every problem with any layer, at once.
    pub fn open(sections: Sections) -> Result<Site, SiteError> {
        opening::open(sections)
    }

    /// The grid.
    #[must_use]
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// Geodesic areas of the cells.
    #[must_use]
    pub fn cell_areas(&self) -> &CellAreas {
        &self.cell_areas
    }

    /// The factors, in the project's order.
    #[must_use]
    pub fn factors(&self) -> &[Factor] {
        &self.factors
    }

    /// For each factor whether its values come from the cells of a raster.
    #[must_use]
    pub fn from_raster(&self) -> Vec<bool> {
        self.layers.iter().map(FactorLayer::is_from_raster).collect()
    }

    /// For each factor the number of the polygon layer whose polygons own its cells;
    /// nothing for factors that come from elsewhere.
    #[must_use]
    pub fn polygon_layers_of_factors(&self) -> Vec<Option<usize>> {
        let number = |layer: &FactorLayer| match layer.origin {
            Origin::Polygons { layer, .. } => Some(layer),
            _ => None,
        };
        self.layers.iter().map(number).collect()
    }

    /// For each factor the side of a source cell or of the smallest delineation.
    ///
    /// # Units
    /// Metres.
    ///
    /// # Missing
    /// Where neither is known.
    #[must_use]
    pub fn supports_m(&self) -> Vec<Option<f64>> {
        self.layers.iter().map(|layer| layer.support_m).collect()
    }

    /// The sides of the cells of all raster factors, brought to the grid.
    ///
    /// # Units
    /// Metres.
    pub fn raster_cells_m(&self) -> impl Iterator<Item = f64> {
        self.raster_plans().map(|plan| plan.cell_m)
    }

    /// The most memory that decoded cells kept for neighbouring tiles, and about what tiles
    /// kept for another pass over the grid take.
    ///
    /// # Units
    /// Bytes.
    #[must_use]
    pub fn kept_bytes(&self) -> u64 {
        let of_neighbours = self.raster_plans().map(|plan| plan.source.kept_bytes());
        of_neighbours.sum::<u64>() + self.tiles_bytes().unwrap_or(0) as u64
    }

    /// Keeps tiles for another pass over the grid, if all fit into 270 MB.
    pub fn keep_tiles(&self) {
        if self.tiles_bytes().is_some() {
            self.kept.make_room(MOST_KEPT_BYTES);
        }
    }

    /// Room that all tiles take when they are packed, about; nothing where it is more than
    /// they may take.
    fn tiles_bytes(&self) -> Option<usize> {
        let of_a_cell: usize = self.layers.iter().map(FactorLayer::packed_eighths).sum();
        Some(self.grid.cells() * of_a_cell / 8).filter(|&bytes| bytes <= MOST_KEPT_BYTES)
    }

    /// Lets cells go that were kept for neighbours in a pass that is over.
    pub fn end_pass(&self) {
        self.raster_plans().for_each(|plan| plan.source.end_pass());
    }

    /// Lets kept tiles and cells, the ground of polygons and what was computed of the whole
    /// grid go, once the last pass is over. No tile can be read any more.
    pub fn let_layers_go(&mut self) {
        self.kept.make_room(0);
        self.end_pass();
        self.boundary = PolygonIndex::default();
        for layer in &mut self.polygon_layers {
            layer.index = PolygonIndex::default();
        }
        for layer in &mut self.layers {
            if let Origin::Terrain(layer) = &mut layer.origin {
                (layer.wetness, layer.beyond) = (None, None);
            }
        }
        self.can_be_read = false;
    }

    fn raster_plans(&self) -> impl Iterator<Item = &RasterPlan> {
        self.layers.iter().filter_map(FactorLayer::raster)
    }

    /// The most memory that ground around tiles takes where it may throw shade, when so many
    /// threads read tiles.
    ///
    /// # Units
    /// Bytes.
    #[must_use]
    pub fn shade_bytes(&self, threads: usize) -> u64 {
        let tile = (self.grid.rows().min(TILE_CELLS), self.grid.cols().min(TILE_CELLS));
        let of_tile = self.layers.iter().filter_map(|layer| match &layer.origin {
            Origin::Sun(layer) => Some(layer.tile_bytes(&self.grid, tile)),
            _ => None,
        });
        let at_once = threads.min(self.grid.cols().div_ceil(TILE_CELLS)).max(1);
        of_tile.max().unwrap_or(0) * at_once as u64
    }

    /// Names of the exclude layers, in the project's order.
    pub fn exclude_names(&self) -> impl Iterator<Item = &str> {
        self.excludes.iter().map(|exclude| exclude.name.as_str())
    }

    /// How each layer was brought to the grid.
    #[must_use]
    pub fn facts(&self) -> &[LayerFact] {
        &self.facts
    }

    /// What the computing of factors rests on, for people, line by line.
    #[must_use]
    pub fn computed_from(&self) -> &[String] {
        self.salt.as_ref().map_or(&[], |salt| &salt.told)
    }

    /// What a computed factor was computed from, for people; nothing of those that come
    /// as they are.
    #[must_use]
    pub fn notes_of(&self, factor: &str) -> Vec<String> {
        let name = format!("factors.{factor}");
        let fact = self.facts.iter().find(|fact| fact.name == name);
        fact.map_or_else(Vec::new, |fact| fact.notes.clone())
    }

    /// Warnings about the layers.
    #[must_use]
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// The soils of map units, where the project has each rated by itself.
    #[must_use]
    pub fn soil_mixes(&self, sections: &[FactorSection]) -> Option<SoilMixes> {
        let drawn: Vec<(usize, SoilFactor)> = sections
            .iter()
            .enumerate()
            .filter_map(|(position, section)| match section.source {
                FactorSource::SoilSurvey { of, .. } => Some((position, of)),
                _ => None,
            })
            .collect();
        let unit = drawn.iter().find(|(_, of)| *of == SoilFactor::MapUnit)?.0;
        let drawn: Vec<_> = drawn
            .into_iter()
            .filter(|&(position, _)| position != unit)
            .collect();
        Some(SoilMixes {
            salt: self.salt_of_soils(),
            ..self.survey.as_ref()?.mixes(unit, &drawn)
        })
    }

    /// Who set the cell size, for people.
    #[must_use]
    pub fn cell_set_by(&self) -> &str {
        &self.cell_set_by
    }

    /// Who set the grid's CRS, for people.
    #[must_use]
    pub fn crs_set_by(&self) -> &str {
        &self.crs_set_by
    }

    /// What was met while reading, as texts by layer.
    #[must_use]
    pub fn met_texts(&self, met: &Met) -> Vec<(String, String)> {
        let overlaps = met.overlaps.iter().filter_map(|(&number, overlaps)| {
            let layer = &self.polygon_layers[number];
            let text = overlap_text(layer, overlaps, self.grid.cell_m())?;
            Some((layer.name.clone(), text))
        });
        let file_of = |factor: usize| {
            let name = self.layers[factor].name.clone();
            let fact = self.facts.iter().find(|fact| fact.name == name);
            (name, fact.map_or("the raster", |fact| fact.path.as_str()))
        };
        let codes = met.unknown_codes.iter().flat_map(|(&factor, codes)| {
            let (name, file) = file_of(factor);
            codes.iter().take(10).map(move |(code, cells)| {
                let text = format!(
                    "{file} has the code {code} ({}), which no table knows: its ground is missing; say in `words` which class it is",
                    counted(*cells, "cell")
                );
                (name.clone(), text)
            })
        });
        let impossible = met.impossible.iter().map(|(&factor, found)| {
            let (name, file) = file_of(factor);
            let text = match &self.layers[factor].origin {
                Origin::RoadSalt { .. } => Possible::told_of_salinity(found),
                _ => format!("{file}: {}", self.layers[factor].impossible_text(found)),
            };
            (name, text)
        });
        let heights = met.heights.iter().map(|(&factor, found)| {
            let (name, file) = file_of(factor);
            (name, format!("{file}: {}", Possible::told_of_heights(found)))
        });
        let shade = met.shade.iter().flat_map(|(&factor, found)| {
            let (name, _) = file_of(factor);
            let told = match &self.layers[factor].origin {
                Origin::Sun(layer) => layer.told(found, self.grid.cell_m()),
                _ => Vec::new(),
            };
            told.into_iter().map(move |text| (name.clone(), text))
        });
        let terrain = met.terrain.iter().flat_map(|(&factor, found)| {
            let (name, _) = file_of(factor);
            let told = found.told(self.grid.cell_m());
            told.into_iter().map(move |text| (name.clone(), text))
        });
        let all = overlaps.chain(codes).chain(impossible).chain(heights);
        all.chain(shade).chain(terrain).collect()
    }

    pub(super) fn boundary(&self) -> &PolygonIndex {
        &self.boundary
    }

    pub(super) fn polygon_layers(&self) -> &[PolygonLayer] {
        &self.polygon_layers
    }

    pub(super) fn layers(&self) -> &[FactorLayer] {
        &self.layers
    }

    pub(super) fn survey(&self) -> Option<&Survey> {
        self.survey.as_ref()
    }

    pub(super) fn excludes(&self) -> &[ExcludeLayer] {
        &self.excludes
    }
}
