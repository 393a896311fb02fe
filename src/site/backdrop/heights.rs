//! Heights of the ground on coarse cells of the grid.

use rayon::prelude::*;

use crate::gis::{GisError, Resampling};
use crate::grid::{Extent, Grid, Raster, TILE_CELLS, Window};
use crate::project::{ELEVATION_NAME, FactorSection, FactorSource, LayerRef, UnitConversion};
use crate::site::factor_layer::take_off;
use crate::site::finding::Findings;
use crate::site::possible::{Impossible, Possible};
use crate::site::raster_checks;
use crate::site::raster_plan::{Looked, Place, RasterPlan};
use crate::site::{Sections, SiteError};

/// Heights on coarse cells, the first of which lies in the grid's north-west corner.
#[derive(Debug, Clone, PartialEq)]
pub struct Heights {
    /// Side of a coarse cell in cells of the grid. The last row and column may reach
    /// beyond the grid.
    pub cell: usize,
    /// Rows of coarse cells.
    pub rows: usize,
    /// Columns of coarse cells.
    pub cols: usize,
    /// Mean heights in metres, row by row from the north.
    ///
    /// # Missing
    /// NaN where no height in the coarse cell is known.
    pub metres: Vec<f32>,
}

/// An elevation that a factor is computed from, open.
pub struct Elevation {
    name: String,
    plan: RasterPlan,
    metres_per_unit: f64,
}

/// An elevation as the project names it.
struct Named<'a> {
    section: &'a FactorSection,
    name: String,
    layer: &'a LayerRef,
    band: usize,
    nodata: Option<f64>,
    vertical_unit: Option<&'a UnitConversion>,
}

/// Opens the first elevation that a factor is computed from; what is wrong with it is told.
///
/// # Missing
/// Where there is none.
pub fn open(sections: Sections, grid: &Grid, findings: &mut Findings) -> Option<Elevation> {
    let mut factors = sections.factors.iter();
    let named = factors.find_map(|section| named(section, sections))?;
    let looked = Looked::new(named.section, named.layer, named.band, findings)?;
    let given = named.vertical_unit.map(|unit| unit.multiply);
    let (name, band) = (named.name, named.band);
    let unit = raster_checks::metres_per_unit(&name, named.layer, &looked.file, band, given, findings);
    let place = Place {
        grid,
        area: grid.extent(),
    };
    let (plan, _) = looked.plan(named.section, band, named.nodata, &place, findings)?;
    Some(Elevation {
        name,
        plan,
        metres_per_unit: unit?,
    })
}

fn named<'a>(section: &'a FactorSection, sections: Sections<'a>) -> Option<Named<'a>> {
    let named = |layer, band, nodata, unit: &'a Option<UnitConversion>| Named {
        section,
        name: format!("factors.{}", section.factor.id),
        layer,
        band,
        nodata,
        vertical_unit: unit.as_ref(),
    };
    match &section.source {
        FactorSource::Slope {
            elevation,
            band,
            nodata,
            vertical_unit,
        } => Some(named(elevation, *band, *nodata, vertical_unit)),
        FactorSource::Sun(source) => Some(named(
            &source.elevation,
            source.band,
            source.nodata,
            &source.vertical_unit,
        )),
        FactorSource::Terrain(source) => Some(named(
            &source.elevation,
            source.band,
            source.nodata,
            &source.vertical_unit,
        )),
        FactorSource::RoadSalt if section.factor.id == "soil_salinity" => {
            let root = &sections.road_salt?.root_zone;
            let elevation = root.elevation.as_ref()?;
            Some(Named {
                name: ELEVATION_NAME.to_owned(),
                ..named(elevation, root.band, root.nodata, &root.vertical_unit)
            })
        }
        FactorSource::RoadSalt
        | FactorSource::Polygons { .. }
        | FactorSource::Raster { .. }
        | FactorSource::Distance { .. }
        | FactorSource::Limit { .. }
        | FactorSource::SoilSurvey { .. } => None,
    }
}

impl Elevation {
    /// Mean heights on the smallest coarse cells of which at most so many lie on the longer
    /// side of the grid.
    ///
    /// # Method
    /// Each coarse cell is the mean of square samples no wider than a cell of the raster,
    /// or a cell of the grid where that is wider. So heights come as factors get them, and
    /// numbers that no ground has are taken off before they can spoil a mean.
    ///
    /// # Errors
    /// When GDAL cannot read them.
    pub fn read(&self, grid: &Grid, most_cells: usize) -> Result<Heights, SiteError> {
        let cell = grid.rows().max(grid.cols()).div_ceil(most_cells.max(1));
        let (rows, cols) = (grid.rows().div_ceil(cell), grid.cols().div_ceil(cell));
        let samples = self.samples(grid, cell);
        // As many samples at a time as other layers have cells in a tile.
        let side = TILE_CELLS / samples;
        let mut values = Vec::with_capacity(rows * cols);
        for row in (0..rows).step_by(side) {
            let starts: Vec<usize> = (0..cols).step_by(side).collect();
            let tiles: Vec<Raster<f32>> = starts
                .into_par_iter()
                .map(|col| {
                    let coarse = Window {
                        row,
                        col,
                        rows: side.min(rows - row),
                        cols: side.min(cols - col),
                    };
                    self.tile(grid, coarse, cell, samples)
                })
                .collect::<Result<_, _>>()
                .map_err(|source| SiteError::Read {
                    layer: self.name.clone(),
                    source: Box::new(source),
                })?;
            for line in 0..side.min(rows - row) {
                for tile in &tiles {
                    values.extend_from_slice(tile.row(line));
                }
            }
        }
        Ok(Heights {
            cell,
            rows,
            cols,
            metres: values,
        })
    }

    /// Samples across a coarse cell.
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "held between 1 and the cells of the grid in a coarse cell, at most 1,000,000"
    )]
    fn samples(&self, grid: &Grid, cell: usize) -> usize {
        // A hair less, so that cells of the same size are not taken for smaller ones.
        let across = (cell as f64 * grid.cell_m() / self.plan.cell_m * 0.999).ceil();
        across.clamp(1.0, cell.min(TILE_CELLS) as f64) as usize
    }

    /// The means of a window of coarse cells.
    fn tile(
        &self,
        grid: &Grid,
        coarse: Window,
        cell: usize,
        samples: usize,
    ) -> Result<Raster<f32>, GisError> {
        let (west, north) = grid.corner_to_map(coarse.row * cell, coarse.col * cell);
        let (east, south) = grid.corner_to_map(coarse.row_end() * cell, coarse.col_end() * cell);
        let extent = Extent {
            west,
            south,
            east,
            north,
        };
        let (rows, cols) = (coarse.rows * samples, coarse.cols * samples);
        #[expect(clippy::cast_precision_loss, reason = "a tile has few samples")]
        let sample_m = extent.width() / cols as f64;
        let how = if self.plan.cell_m < sample_m * 0.99 {
            Resampling::Average
        } else {
            Resampling::Bilinear
        };
        let mut fine = self.plan.source.read(&extent, rows, cols, grid.crs(), how)?;
        let possible = Possible::heights(self.metres_per_unit);
        // The run told of them.
        take_off(&possible, &mut fine, &mut Impossible::default());
        let mut means = Raster::filled(coarse, f32::NAN);
        for row in 0..coarse.rows {
            for col in 0..coarse.cols {
                let lines = (row * samples..(row + 1) * samples).map(|line| fine.row(line));
                let block = lines.flat_map(|line| &line[col * samples..(col + 1) * samples]);
                means.row_mut(row)[col] = as_f32(mean(block) * self.metres_per_unit);
            }
        }
        Ok(means)
    }
}

/// The mean of those that are known.
fn mean<'v>(values: impl Iterator<Item = &'v f32>) -> f64 {
    let known = values.filter(|value| !value.is_nan());
    let (sum, count) = known.fold((0.0, 0.0), |(sum, count), &value| {
        (sum + f64::from(value), count + 1.0)
    });
    if count > 0.0 { sum / count } else { f64::NAN }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "rounding to the nearest f32 is meant"
)]
fn as_f32(value: f64) -> f32 {
    value as f32
}
