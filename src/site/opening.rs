//! Opens a site: looks at rasters, lays the grid, opens all layers onto it, and
//! gathers every problem before giving up.

use rayon::prelude::*;

use super::area::{CellCandidate, GridChoice};
use super::burn::PolygonIndex;
use super::factor_layer::FactorLayer;
use super::finding::Findings;
use super::kept_tiles::KeptTiles;
use super::layer_opener::{LayerOpener, Vectors};
use super::raster_plan::{Looked, Place};
use super::site::{Sections, Site};
use super::sun::warn_of_open_sky;
use super::{EXCLUDED, LayerFact, SiteError, true_to_scale};
use crate::gis;
use crate::grid::{Crs, Extent, Grid};
use crate::plural::counted;
use crate::project::{FactorSection, FactorSource, RoadSalt};

/// Most exclude layers: a byte tells which one takes a cell out.
const MOST_EXCLUDES: usize = (u8::MAX - EXCLUDED) as usize;

/// Opens all layers of a site.
///
/// # Errors
/// Every problem with any layer, at once.
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
    let rasters = look_at_rasters(sections, findings);
    warn_of_open_sky(sections.factors, findings);
    let choice = lay_grid(sections, &rasters, findings)?;
    let grid = choice.grid;
    let corners = choice
        .boundary
        .iter()
        .flatten()
        .flat_map(|polygon| polygon.exterior().coords());
    let area = Extent::around(corners.map(|point| (point.x, point.y)))?;

    let place = Place { grid: &grid, area };
    if !not_endless(&grid, findings) {
        return None;
    }
    let fits = |mut findings: Findings| {
        let fits = true_to_scale::lies_on_one_side(grid.crs(), &area, &mut findings)
            && true_to_scale::check(grid.crs(), &area, &mut findings);
        (fits, findings, gis::cell_areas(&grid))
    };
    // Asking PROJ takes as long as reading a layer.
    let ((fits, told, cell_areas), vectors) =
        rayon::join(|| fits(Findings::default()), || Vectors::read(sections, &place));
    findings.take_over(told);
    if !fits {
        return None;
    }
    let mut opener = LayerOpener::new(sections, vectors, place, findings);
    let salt = sections
        .road_salt
        .map(|salt| opener.road_salt(salt, sections.factors));
    let factors = sections.factors.iter().zip(rasters);
    // All are opened before any is given up, so that all problems show.
    let layers: Vec<_> = factors
        .map(|(section, looked)| opener.factor(section, looked))
        .collect();
    let excludes: Vec<_> = sections
        .exclude
        .iter()
        .map(|section| opener.exclude(section))
        .collect();
    let survey = opener.placed_survey(sections);
    let (polygon_layers, layer_facts) = (opener.polygon_layers, opener.facts);

    if excludes.len() > MOST_EXCLUDES {
        let text = format!(
            "found {} of them, at most {MOST_EXCLUDES} can be told apart: put some into one layer",
            excludes.len()
        );
        findings.error("exclude", text);
    }
    let boundary = findings.take("area.boundary", PolygonIndex::new(&grid, &choice.boundary))?;
    if holds_no_centre(&boundary, &grid) {
        findings.error(
            "area.boundary",
            format!(
                "the centre of no cell lies in it, so there is nothing to rate: a `cell_m` under {} m is needed",
                grid.cell_m()
            ),
        );
        return None;
    }
    let cell_areas = findings.take("area", cell_areas)?;
    let mut facts = vec![LayerFact::of_vector(
        "area.boundary",
        &sections.area.boundary,
        &choice.features,
    )];
    facts.extend(layer_facts);
    let layers: Vec<FactorLayer> = layers.into_iter().collect::<Option<_>>()?;
    let layers_factors = layers.iter().map(|layer| layer.factor.clone()).collect();
    Some(Site {
        cell_areas,
        boundary,
        polygon_layers,
        layers,
        survey,
        factors: layers_factors,
        salt: match salt {
            // What is wrong with it is told already.
            Some(salt) => Some(salt?),
            None => None,
        },
        excludes: excludes.into_iter().collect::<Option<_>>()?,
        kept: KeptTiles::default(),
        can_be_read: true,
        facts,
        findings: Vec::new(),
        cell_set_by: choice.cell_set_by,
        crs_set_by: choice.crs_set_by,
        grid,
    })
}

/// For each factor what its raster holds, if it comes from one; all are looked at at the
/// same time.
fn look_at_rasters(sections: Sections, findings: &mut Findings) -> Vec<Option<Looked>> {
    let look = |section: &FactorSection| {
        let mut findings = Findings::default();
        let mut new = |layer, band| Looked::new(section, layer, band, &mut findings);
        let looked = match &section.source {
            FactorSource::Raster { layer, band, .. } => new(layer, *band),
            FactorSource::Slope { elevation, band, .. } => new(elevation, *band),
            FactorSource::Terrain(source) => new(&source.elevation, source.band),
            FactorSource::Sun(source) => new(&source.elevation, source.band),
            FactorSource::RoadSalt => heights_for_salt(section, sections.road_salt, &mut findings),
            FactorSource::Polygons { .. }
            | FactorSource::Distance { .. }
            | FactorSource::Limit { .. }
            | FactorSource::SoilSurvey { .. } => None,
        };
        (looked, findings)
    };
    let looked: Vec<_> = sections.factors.par_iter().map(look).collect();
    let looked = looked.into_iter();
    looked
        .map(|(looked, found)| {
            findings.take_over(found);
            looked
        })
        .collect()
}

/// The elevation that a soil salinity needs, if there is one.
fn heights_for_salt(
    section: &FactorSection,
    salt: Option<&RoadSalt>,
    findings: &mut Findings,
) -> Option<Looked> {
    let root = &salt.filter(|_| section.factor.id == "soil_salinity")?.root_zone;
    Looked::new(section, root.elevation.as_ref()?, root.band, findings)
}

/// Most cells of a grid: at a few million cells a second they take half a day.
const MOST_CELLS: usize = 100_000_000_000;

/// Whether a grid has no more cells than can be rated; else tells what would fit.
fn not_endless(grid: &Grid, findings: &mut Findings) -> bool {
    if grid.cells() <= MOST_CELLS {
        return true;
    }
    #[expect(clippy::cast_precision_loss, reason = "a size for people")]
    let needed_m = grid.cell_m() * (grid.cells() as f64 / MOST_CELLS as f64).sqrt();
    findings.error(
        "area",
        format!(
            "{} x {} of {} m are {} cells, and a run takes at most {MOST_CELLS}: a `cell_m` of {needed_m:.2} m or more is needed, or a smaller area",
            counted(grid.rows(), "row"),
            counted(grid.cols(), "column"),
            grid.cell_m(),
            grid.cells()
        ),
    );
    false
}

/// Whether a boundary slips between the centres of all cells. Looked at only where
/// that may be: on small grids.
fn holds_no_centre(boundary: &PolygonIndex, grid: &Grid) -> bool {
    const FEW: usize = 1_000_000;
    grid.cells() <= FEW
        && boundary
            .covers(grid.window())
            .values()
            .iter()
            .all(|&covered| covered == 0)
}

/// The grid, as the project says or as the layers suggest.
fn lay_grid(sections: Sections, rasters: &[Option<Looked>], findings: &mut Findings) -> Option<GridChoice> {
    let distances = sections.factors.iter().any(|section| {
        matches!(
            section.source,
            FactorSource::Distance { .. } | FactorSource::Limit { .. } | FactorSource::RoadSalt
        )
    });
    let lines_matter = distances || !sections.exclude.is_empty();
    let looked_at = sections
        .factors
        .iter()
        .zip(rasters)
        .filter_map(|(section, looked)| Some((section, looked.as_ref()?)));
    // Regional layers such as climate do not set the grid.
    let decisive = looked_at.filter(|(section, _)| {
        section.factor.decisive
                && section.factor.id != "hardiness"
                // Heights only tell what lies below a pavement.
                && section.source != FactorSource::RoadSalt
    });
    let candidates: Vec<CellCandidate> = decisive
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
    GridChoice::new(sections.area, &candidates, &layer_crs, lines_matter, findings)
}
