//! One factor's way from its layer to values on the grid.

use std::collections::BTreeMap;

use super::SiteError;
use super::distance::DistanceIndex;
use super::exclude_layer::ExcludeLayer;
use super::finding::Findings;
use super::polygon_layer::PolygonLayer;
use super::possible::{Impossible, Possible};
use super::raster_plan::RasterPlan;
use super::salt::reading::{Elevation, SaltValue};
use super::slope::slope_pct;
use super::sun::{ShadeMet, SunLayer};
use super::terrain::{TerrainLayer, TerrainMet};
use super::vector_layer::VectorLayer;
use crate::factor::{Factor, Kind, first_at_or_above};
use crate::grid::{Grid, Raster, Window};
use crate::project::{Cuts, FactorSection, Meaning, PlantLimit, UnitConversion, Words};

/// Values that are looked at together.
const AT_ONCE: usize = 64;

/// Where a factor's raw values come from.
#[derive(Debug)]
pub enum Origin {
    /// The polygon layer with this number owns cells; a value for each polygon.
    Polygons {
        /// Number of the layer in the site.
        layer: usize,
        /// For each polygon the factor's value, ready to use.
        values: Vec<f32>,
    },
    /// Cells of a raster.
    Raster(RasterPlan),
    /// Slope of an elevation raster.
    Slope {
        /// The elevation.
        elevation: RasterPlan,
        /// Metres in a unit of elevation.
        metres_per_unit: f64,
    },
    /// Hours of sun.
    Sun(Box<SunLayer>),
    /// Other shapes of the ground.
    Terrain(Box<TerrainLayer>),
    /// Distance to features.
    Distance(DistanceIndex),
    /// Ground on which plants must stay low or thin.
    Limit(ExcludeLayer),
    /// Computed from road salt, once all other factors are read.
    RoadSalt {
        /// What of it.
        value: SaltValue,
        /// Elevation, for the salinity of the soil.
        elevation: Option<Elevation>,
    },
}

/// Cuts for cells, whose values are held in single precision.
#[derive(Debug)]
struct CellCuts {
    bounds: Vec<f32>,
    classes: Vec<f32>,
}

impl CellCuts {
    fn new(cuts: &Cuts) -> CellCuts {
        CellCuts {
            bounds: cuts
                .bounds
                .iter()
                .map(|&bound| first_at_or_above(bound))
                .collect(),
            classes: cuts.classes.iter().map(|&class| f32::from(class)).collect(),
        }
    }

    /// Turns values into their classes.
    #[expect(clippy::float_cmp, reason = "the very same value is looked up once")]
    fn classify(&self, values: &mut [f32]) {
        for some in values.chunks_mut(AT_ONCE) {
            // Most ground lies far from what a distance is measured to: beyond the reach.
            let first = some[0];
            let is_first = |value: f32| value == first;
            if some.iter().fold(true, |all, &value| all & is_first(value)) {
                some.fill(self.class_of(first));
                continue;
            }
            for value in some {
                *value = self.class_of(*value);
            }
        }
    }

    /// The class of a value; a value on a bound lies beyond it.
    fn class_of(&self, value: f32) -> f32 {
        if value.is_nan() {
            return value;
        }
        let piece = self.bounds.partition_point(|&bound| bound <= value);
        self.classes.get(piece).copied().unwrap_or(f32::NAN)
    }
}

/// A factor with its origin and what turns raw values into the factor's.
#[derive(Debug)]
pub struct FactorLayer {
    /// What the project file calls it: `factors.canopy`.
    pub name: String,
    /// The factor.
    pub factor: Factor,
    /// Where raw values come from.
    pub origin: Origin,
    /// Side of a source cell, or smallest delineation, in metres.
    pub support_m: Option<f64>,
    unit: Option<UnitConversion>,
    cuts: Option<CellCuts>,
    possible: Possible,
    words: Words,
    /// The raster's own names of its codes.
    code_names: Vec<(f64, String)>,
}

/// Codes of class rasters that no table knows, with their cells.
pub type UnknownCodes = BTreeMap<i64, u64>;

/// Cells whose raw value cannot be used.
#[derive(Debug, Default)]
pub struct Unusable {
    /// Codes that no table knows.
    pub codes: UnknownCodes,
    /// Values that no ground has.
    pub impossible: Impossible,
    /// Heights that no ground has.
    pub heights: Impossible,
    /// What hours of sun came upon.
    pub shade: ShadeMet,
    /// What shapes of the ground came upon.
    pub terrain: TerrainMet,
}

impl FactorLayer {
    /// A factor from the section that names it.
    pub fn new(section: &FactorSection, origin: Origin) -> FactorLayer {
        let unit = match &section.source {
            crate::project::FactorSource::Raster { unit, .. } => unit.clone(),
            _ => None,
        };
        let cell_m = match &origin {
            Origin::Raster(plan) | Origin::Slope { elevation: plan, .. } => Some(plan.cell_m),
            Origin::Sun(layer) => Some(layer.elevation.cell_m),
            Origin::Terrain(layer) => Some(layer.elevation.cell_m),
            Origin::Polygons { .. } | Origin::Distance(_) | Origin::Limit(_) | Origin::RoadSalt { .. } => {
                None
            }
        };
        let support_m = section.support_m.or(cell_m);
        let code_names = match &origin {
            Origin::Raster(plan) => plan.source.file().bands[plan.band - 1].classes.clone(),
            Origin::Polygons { .. }
            | Origin::Slope { .. }
            | Origin::Sun(_)
            | Origin::Terrain(_)
            | Origin::Distance(_)
            | Origin::Limit(_)
            | Origin::RoadSalt { .. } => Vec::new(),
        };
        FactorLayer {
            code_names,
            name: format!("factors.{}", section.factor.id),
            factor: section.factor.clone(),
            origin,
            support_m,
            unit,
            cuts: section.cuts.as_ref().map(CellCuts::new),
            possible: Possible::of(&section.factor, section.cuts.is_some()),
            words: section.words.clone(),
        }
    }

    /// Whether its values come from a raster's cells.
    pub fn is_from_raster(&self) -> bool {
        matches!(
            self.origin,
            Origin::Raster(_) | Origin::Slope { .. } | Origin::Sun(_) | Origin::Terrain(_)
        )
    }

    /// The raster it is read from.
    pub fn raster(&self) -> Option<&RasterPlan> {
        match &self.origin {
            Origin::Raster(plan) | Origin::Slope { elevation: plan, .. } => Some(plan),
            Origin::Sun(layer) => Some(&layer.elevation),
            Origin::Terrain(layer) => Some(&layer.elevation),
            Origin::RoadSalt { elevation, .. } => elevation.as_ref().map(|elevation| &elevation.plan),
            Origin::Polygons { .. } | Origin::Distance(_) | Origin::Limit(_) => None,
        }
    }

    /// Room that a cell takes when it is packed, about.
    ///
    /// # Units
    /// Eighths of a byte.
    pub fn packed_eighths(&self) -> usize {
        let is_class = self.cuts.is_some() || matches!(self.factor.kind, Kind::Classes { .. });
        match &self.origin {
            Origin::Polygons { .. } | Origin::Limit(_) => 4,
            Origin::Raster(plan) if plan.source.holds_bytes() => 8,
            _ if is_class => 8,
            _ => 32,
        }
    }

    /// The factor's values in a window of the grid.
    ///
    /// # Missing
    /// Where the layer has no value, where polygons overlap, where a class code is
    /// unknown and where a value is none that ground can have; the latter two are
    /// counted in `unusable`.
    ///
    /// # Errors
    /// When the raster cannot be read.
    pub fn values(
        &self,
        grid: &Grid,
        window: Window,
        status: &Raster<u8>,
        polygon_layers: &[PolygonLayer],
        unusable: &mut Unusable,
    ) -> Result<Raster<f32>, SiteError> {
        let failed = |source| SiteError::Read {
            layer: self.name.clone(),
            source: Box::new(source),
        };
        match &self.origin {
            Origin::Polygons { layer, values } => {
                let mut raster = Raster::filled(window, f32::NAN);
                let index = &polygon_layers[*layer].index;
                index.each_run(window, |row, cols, holders| {
                    if let [owner] = holders {
                        raster.row_mut(row)[cols].fill(values[*owner as usize]);
                    }
                });
                Ok(raster)
            }
            Origin::Limit(ground) => {
                let covered = ground.covers(window)?;
                let mut raster = Raster::filled(window, f32::from(PlantLimit::FREE));
                for (value, &covered) in raster.values_mut().iter_mut().zip(covered.values()) {
                    if covered == 1 {
                        *value = f32::from(PlantLimit::LIMITED);
                    }
                }
                Ok(raster)
            }
            // Put in by `add_road_salt`, once the others are there.
            Origin::RoadSalt { .. } => Ok(Raster::filled(window, f32::NAN)),
            Origin::Distance(index) => {
                let mut raster = index.distances(window);
                self.finish(&mut raster, &mut unusable.codes);
                Ok(raster)
            }
            Origin::Raster(plan) => {
                let mut raster = plan.read(grid, window, 0).map_err(failed)?;
                self.convert(&mut raster);
                self.take_off_impossible(&mut raster, &mut unusable.impossible);
                self.finish(&mut raster, &mut unusable.codes);
                Ok(raster)
            }
            Origin::Sun(layer) => layer
                .values(grid, window, status, &mut unusable.heights, &mut unusable.shade)
                .map_err(failed),
            Origin::Terrain(layer) => layer
                .values(grid, window, status, &mut unusable.heights, &mut unusable.terrain)
                .map_err(failed),
            Origin::Slope {
                elevation,
                metres_per_unit,
            } => {
                let mut heights = elevation.read(grid, window, 1).map_err(failed)?;
                let possible = Possible::heights(*metres_per_unit);
                take_off(&possible, &mut heights, &mut unusable.heights);
                let mut raster = slope_pct(&heights, grid.cell_m(), *metres_per_unit);
                for &slope in raster.values() {
                    unusable.terrain.steepness.count(f64::from(slope));
                }
                self.take_off_impossible(&mut raster, &mut unusable.impossible);
                self.finish(&mut raster, &mut unusable.codes);
                Ok(raster)
            }
        }
    }

    /// What a raster's code means: by the project's words for the code, else by its
    /// words for the raster's own name of it.
    #[expect(clippy::float_cmp, reason = "codes are whole numbers, held exactly")]
    fn meaning_of_code(&self, code: f64) -> Option<Meaning> {
        self.words.meaning_of_number(code).or_else(|| {
            let named = self.code_names.iter().find(|(named, _)| *named == code);
            named.and_then(|(_, name)| self.words.meaning_of(name))
        })
    }

    /// Brings raw numbers to the factor's unit.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "values are held in single precision"
    )]
    fn convert(&self, raster: &mut Raster<f32>) {
        if let Some(unit) = &self.unit {
            for value in raster.values_mut() {
                *value = unit.apply(f64::from(*value)) as f32;
            }
        }
    }

    /// Makes values missing that no ground has.
    fn take_off_impossible(&self, raster: &mut Raster<f32>, impossible: &mut Impossible) {
        if self.cuts.is_some() || matches!(self.factor.kind, Kind::Measured(_)) {
            take_off(&self.possible, raster, impossible);
        }
    }

    /// What is told of values that no ground has.
    pub fn impossible_text(&self, found: &Impossible) -> String {
        self.possible.told(&self.factor, found, "cell")
    }

    /// Turns numbers into the factor's values: by cuts or words.
    #[expect(clippy::cast_possible_truncation, reason = "codes are told as whole numbers")]
    #[expect(clippy::float_cmp, reason = "codes are whole numbers, held exactly")]
    fn finish(&self, raster: &mut Raster<f32>, unknown: &mut UnknownCodes) {
        if let Some(cuts) = &self.cuts {
            cuts.classify(raster.values_mut());
            return;
        }
        if matches!(self.factor.kind, Kind::Measured(_)) {
            return;
        }
        let mut last = (f32::NAN, f32::NAN);
        for value in raster.values_mut() {
            if value.is_nan() {
                continue;
            }
            if *value != last.0 {
                let meaning = self.meaning_of_code(f64::from(*value));
                let class = match meaning {
                    Some(Meaning::Class(class)) => f32::from(class),
                    Some(Meaning::Missing) | None => f32::NAN,
                };
                if meaning.is_none() {
                    *unknown.entry(*value as i64).or_default() += 1;
                    *value = f32::NAN;
                    continue;
                }
                last = (*value, class);
            }
            *value = last.1;
        }
    }
}

/// Makes values missing that cannot be, and counts them.
pub(super) fn take_off(possible: &Possible, raster: &mut Raster<f32>, impossible: &mut Impossible) {
    for some in raster.values_mut().chunks_mut(AT_ONCE) {
        // Nearly all ground can be, and is looked at without a branch.
        if some
            .iter()
            .fold(true, |all, &value| all & possible.holds(f64::from(value)))
        {
            continue;
        }
        for value in some
            .iter_mut()
            .filter(|value| !possible.holds(f64::from(**value)))
        {
            impossible.count(f64::from(*value));
            *value = f32::NAN;
        }
    }
}

/// The index of distances to a layer's features.
pub fn distance_index(
    name: &str,
    grid: &Grid,
    layer: &VectorLayer,
    reach_m: f64,
    findings: &mut Findings,
) -> Option<DistanceIndex> {
    let outlines = findings.take(name, layer.outlines())?;
    findings.take(name, DistanceIndex::new(grid, outlines, reach_m))
}
