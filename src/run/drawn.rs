//! Zones at a cut: their outlines, their places, and what there is to say of each.

use super::counted::Merged;
use super::described::describe;
use super::final_sums::FinalSums;
use super::page::{self, ForPage, PageBorders};
use super::prepared::Prepared;
use super::settings::ZoneSettings;
use crate::error::Error;
use crate::gis::{self, Transform};
use crate::output::RowChoice;
use crate::range::ZoneRanges;
use crate::rating::CellRater;
use crate::zones::outlines::{OutlineBuilder, ZoneOutlines};
use crate::zones::{Cut, RunRows, Zone};

/// The zones of a cut, ready to be written.
pub struct Drawn {
    /// The zones, by number, with the species that have rows.
    pub zones: Vec<Zone>,
    /// Their outlines.
    pub outlines: ZoneOutlines,
    /// Borders in all.
    pub borders: usize,
    /// Borders that are not simplified in longitude and latitude.
    pub borders_unsimplified: usize,
    /// Which species have rows.
    pub choice: RowChoice,
    /// Where species are documented, where the project tells.
    pub ranges: Option<ZoneRanges>,
    /// How often a suiting species is left off a list because it is not documented.
    pub left_out: u64,
    /// Species that suit somewhere, but whose ground puts them on no list.
    pub species_lost: Vec<usize>,
    /// Greatest change of a zone's area by simplifying, as a share of it.
    pub greatest_area_change: f64,
    /// What only the page shows; nothing where none is written.
    pub for_page: Option<ForPage>,
}

/// Rows of final zones, told from those of phase 1.
pub struct FinalRows<'a> {
    rows: &'a RunRows,
    zone_of: &'a [u32],
}

impl FinalRows<'_> {
    /// Number of columns.
    pub fn cols(&self) -> u32 {
        self.rows.cols()
    }

    /// Hands each row on, from north to south; neighbouring runs may have one zone.
    ///
    /// # Errors
    /// The first failure of `take`.
    pub fn each(&self, mut take: impl FnMut(&[(u32, u32)]) -> Result<(), Error>) -> Result<(), Error> {
        let mut relabelled = Vec::new();
        for row in 0..self.rows.rows() {
            let runs = self.rows.row(row).iter();
            relabelled.clear();
            relabelled.extend(runs.map(|&(end, zone)| (end, self.zone_of[zone as usize])));
            take(&relabelled)?;
        }
        Ok(())
    }

    /// All rows at once, for those who need neighbours.
    pub fn relabelled(&self) -> RunRows {
        self.rows.relabelled(self.zone_of)
    }
}

/// Zones up to which outlines are drawn while the zones are described.
const MOST_SIDE_BY_SIDE: usize = 60_000;

/// Draws the zones of a cut.
///
/// # Errors
/// When an outline cannot be brought to longitude and latitude.
pub fn draw(
    prepared: &Prepared,
    rater: &CellRater,
    merged: &Merged,
    cut: &Cut,
    settings: &ZoneSettings,
) -> Result<Drawn, Error> {
    let assignment = merged.log.sequence.assignment(cut);
    let rows = FinalRows {
        rows: merged.log.rows.as_ref().ok_or(Error::NoRows)?,
        zone_of: &assignment.zone_of,
    };
    let ranges = prepared.range.as_ref().map(|range| {
        let (grid, zones) = (prepared.site.grid(), assignment.zones as usize);
        ZoneRanges::new(range, grid, &rows.relabelled(), zones, prepared.project.units)
    });
    let sums = FinalSums::new(prepared, merged, &assignment);
    let outline = || outline(prepared, &rows, settings);
    let describe = || describe(prepared, rater, &rows, &sums, settings, ranges.as_ref());
    // Outlines and what is said of zones need nothing of each other. But while borders are
    // simplified they take much memory, and much of it must not come on top of many zones.
    let (shapes, described) = if sums.zones() <= MOST_SIDE_BY_SIDE {
        let (shapes, described) = rayon::join(outline, describe);
        (shapes?, described?)
    } else {
        let shapes = outline()?;
        gis::give_memory_back();
        (shapes, describe()?)
    };
    let for_page = shapes.for_page.zip(described.for_page);
    let for_page = for_page.map(|(borders, (areas, spreads))| ForPage {
        borders: borders.borders,
        simplify_m: borders.simplify_m,
        areas,
        spreads,
    });
    Ok(Drawn {
        zones: described.zones,
        outlines: shapes.outlines,
        borders: shapes.borders,
        borders_unsimplified: shapes.borders_unsimplified,
        choice: described.choice,
        ranges,
        left_out: described.left_out,
        species_lost: described.species_lost,
        greatest_area_change: shapes.greatest_area_change,
        for_page,
    })
}

/// The outlines of zones.
struct Shapes {
    outlines: ZoneOutlines,
    borders: usize,
    borders_unsimplified: usize,
    greatest_area_change: f64,
    for_page: Option<PageBorders>,
}

fn outline(prepared: &Prepared, rows: &FinalRows, settings: &ZoneSettings) -> Result<Shapes, Error> {
    let grid = prepared.site.grid();
    let row_count = u32::try_from(grid.rows()).unwrap_or(u32::MAX);
    let mut builder = OutlineBuilder::new(row_count, rows.cols());
    rows.each(|row| Ok(builder.push_row(row)?))?;
    let arcs = builder.finish()?;
    let simplified = arcs.simplified(grid, settings.simplify_m);
    gis::give_memory_back();
    let lon_lat = gis::lon_lat()?;
    let lines = simplified.geographic(grid, &|| {
        let to_degrees = Transform::untold(grid.crs(), &lon_lat)?;
        Ok(move |points: &mut [(f64, f64)]| to_degrees.apply(points))
    })?;
    let changes = simplified.area_changes();
    let greatest_area_change = changes
        .iter()
        .map(|change| (change.area_after_m2 / change.area_before_m2 - 1.0).abs())
        .fold(0.0, f64::max);
    let for_page = page::is_written(prepared.project, arcs.zones() as u64)
        .then(|| PageBorders::of(&arcs, &simplified, grid, settings.simplify_m));
    let courses = simplified.into_courses();
    Ok(Shapes {
        borders: lines.arcs(),
        borders_unsimplified: lines.arcs_unsimplified,
        outlines: ZoneOutlines::new(arcs, courses, lines),
        greatest_area_change,
        for_page,
    })
}

/// Square metres of an area in square millimetres.
#[expect(
    clippy::cast_precision_loss,
    reason = "areas for people and files; sums are made before"
)]
pub fn square_metres(area_mm2: u128) -> f64 {
    area_mm2 as f64 / 1e6
}
