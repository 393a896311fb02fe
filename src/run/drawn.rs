//! Zones at a cut: their outlines, their places, and what there is to say of each.

use rayon::prelude::*;

use super::counted::{Merged, shape_of};
use super::page::{self, ForPage, PageBorders};
use super::prepared::Prepared;
use super::settings::ZoneSettings;
use super::species_areas::{SpeciesArea, SpeciesAreas};
use super::spread::{self, Spread, SpreadZone};
use crate::error::Error;
use crate::gis::{self, Transform};
use crate::output::{RowChoice, cautions, order, plant_cautions};
use crate::range::ZoneRanges;
use crate::rating::CellRater;
use crate::zones::outlines::{AnchorFinder, GeographicOutlines, OutlineBuilder, stable_id};
use crate::zones::{
    Cut, Describer, Listing, Outline, RunRows, Tallies, Zone, ZoneAssignment, ZoneGround, ZoneSums,
    border_factors, borders_of,
};

/// The zones of a cut, ready to be written.
pub struct Drawn {
    /// The zones, by number, with the species that have rows.
    pub zones: Vec<Zone>,
    /// Outlines in the grid's CRS.
    pub outlines: Vec<Outline>,
    /// Outlines in longitude and latitude.
    pub geographic: GeographicOutlines,
    /// Known and suiting cells by zone.
    pub tallies: Tallies,
    /// Cells by zone.
    pub cells: Vec<u64>,
    /// Which species have rows.
    pub choice: RowChoice,
    /// Where species are documented, where the project tells.
    pub ranges: Option<ZoneRanges>,
    /// How often a suiting species is left off a list because it is not documented.
    pub left_out: u64,
    /// Greatest change of a zone's area by simplifying, as a share of it.
    pub greatest_area_change: f64,
    /// What only the page shows; nothing where none is written.
    pub for_page: Option<ForPage>,
}

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
    let Some(rows) = merged
        .log
        .rows
        .as_ref()
        .map(|rows| rows.relabelled(&assignment.zone_of))
    else {
        return Err(Error::NoRows);
    };
    let ranges = prepared.range.as_ref().map(|range| {
        let zones = assignment.zones as usize;
        ZoneRanges::new(range, prepared.site.grid(), &rows, zones, prepared.project.units)
    });
    // The outlines and what is said of the zones need nothing of each other.
    let (shapes, described) = rayon::join(
        || outline(prepared, &rows, settings),
        || {
            describe(
                prepared,
                rater,
                merged,
                &assignment,
                &rows,
                settings,
                ranges.as_ref(),
            )
        },
    );
    let (shapes, described) = (shapes?, described?);
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
        geographic: shapes.geographic,
        tallies: described.tallies,
        cells: described.cells,
        choice: described.choice,
        ranges,
        left_out: described.left_out,
        greatest_area_change: shapes.greatest_area_change,
        for_page,
    })
}

/// The outlines of zones.
struct Shapes {
    outlines: Vec<Outline>,
    geographic: GeographicOutlines,
    greatest_area_change: f64,
    for_page: Option<PageBorders>,
}

fn outline(prepared: &Prepared, rows: &RunRows, settings: &ZoneSettings) -> Result<Shapes, Error> {
    let grid = prepared.site.grid();
    let row_count = u32::try_from(rows.rows()).unwrap_or(u32::MAX);
    let mut builder = OutlineBuilder::new(row_count, rows.cols());
    for row in 0..rows.rows() {
        builder.push_row(rows.row(row))?;
    }
    let arcs = builder.finish()?;
    let simplified = arcs.simplified(grid, settings.simplify_m);
    let lon_lat = gis::lon_lat()?;
    let geographic = simplified.geographic(grid, &|| {
        let to_degrees = Transform::untold(grid.crs(), &lon_lat)?;
        Ok(move |points: &mut [(f64, f64)]| to_degrees.apply(points))
    })?;
    let changes = simplified.area_changes();
    let greatest_area_change = changes
        .iter()
        .map(|change| (change.area_after_m2 / change.area_before_m2 - 1.0).abs())
        .fold(0.0, f64::max);
    Ok(Shapes {
        outlines: simplified.outlines(grid),
        geographic,
        greatest_area_change,
        for_page: page::is_written(prepared.project, arcs.zones() as u64)
            .then(|| PageBorders::of(&arcs, &simplified, grid, settings.simplify_m)),
    })
}

/// What is said of zones.
struct Described {
    zones: Vec<Zone>,
    tallies: Tallies,
    cells: Vec<u64>,
    choice: RowChoice,
    left_out: u64,
    for_page: Option<(Vec<SpeciesArea>, Vec<Spread>)>,
}

fn describe(
    prepared: &Prepared,
    rater: &CellRater,
    merged: &Merged,
    assignment: &ZoneAssignment,
    rows: &RunRows,
    settings: &ZoneSettings,
    ranges: Option<&ZoneRanges>,
) -> Result<Described, Error> {
    let grid = prepared.site.grid();
    let mut anchors = AnchorFinder::new(rows.cols());
    for row in 0..rows.rows() {
        anchors.push_row(rows.row(row))?;
    }
    let tallies = assignment.tallies(&merged.log.tallies);
    let cells = assignment.cells(&merged.log.cells);
    // One entry a zone, so that no id can slip to another zone.
    let ids: Vec<String> = anchors
        .finish()
        .into_iter()
        .map(|anchor| anchor.map_or_else(String::new, |anchor| stable_id(grid, anchor)))
        .collect();
    let sums = merged_sums(prepared, merged, &assignment.zone_of, assignment.zones as usize);
    let grounds: Vec<&ZoneGround> = sums.iter().map(|(ground, _)| ground).collect();
    let border_factor = border_factors(&borders_of(rows), &grounds, &prepared.questions, rater);
    let supports = prepared.site.supports_m();
    let suited = tallies.suits_anywhere();
    let choice = RowChoice::for_size(cells.len(), suited.len(), prepared.project.outputs.all_rows);
    let new_describer = || {
        Describer::new(
            &prepared.questions,
            rater,
            prepared.settings,
            settings.merge.listing,
            &supports,
        )
    };
    let documented_only = prepared.project.range.as_ref();
    let documented_only = ranges.filter(|_| documented_only.is_some_and(|range| range.documented_only));
    let with_page = page::is_written(prepared.project, cells.len() as u64);
    let areas = SpeciesAreas::new(suited.len(), prepared.site.factors().len());
    let spreads = with_page.then(|| {
        let zones = sums.iter().zip(&cells);
        let zones: Vec<SpreadZone> = zones
            .map(|((ground, area_mm2), &cells)| SpreadZone {
                ground,
                cells,
                area_m2: square_metres(*area_mm2),
            })
            .collect();
        spread::spreads(prepared, rater, &zones)
    });
    // Each zone's sums go once it is described: with many zones they are much.
    let zones: Vec<Zone> = sums
        .into_par_iter()
        .enumerate()
        .map_init(new_describer, |describer, (index, (ground, area_mm2))| {
            let number = u32::try_from(index + 1).unwrap_or(u32::MAX);
            let counts = tallies.counts(number);
            let mut zone = describer.zone(&ZoneSums {
                number,
                stable_id: &ids[index],
                cells: cells[index],
                area_m2: square_metres(area_mm2),
                known: &counts.known,
                suits: &counts.suits,
                ground: &ground,
                border_factor: border_factor[index],
            });
            if let Some(ranges) = documented_only {
                ranges.leave_out(index, &mut zone);
            }
            if with_page {
                areas.add(&zone);
            }
            order::sort_zone_species(&mut zone.species, &prepared.catalogue.species, &suited);
            // What no file shows need not be held: with many zones it is most of it.
            zone.species.retain(|entry| choice.takes(entry.listing));
            zone.species.shrink_to_fit();
            zone.cautions = cautions::zone_cautions(&zone.ground, prepared.site.factors());
            let listed = zone.species.iter().filter(|entry| entry.listing.is_listed());
            let listed = listed.map(|entry| &prepared.catalogue.species[entry.species]);
            zone.cautions.extend(plant_cautions::plants_caution(listed));
            zone.cautions.extend(cautions::left_out_caution(
                &zone.species,
                &prepared.catalogue.species,
            ));
            zone
        })
        .collect();
    let entries = zones.iter().flat_map(|zone| &zone.species);
    let left_out = entries.filter(|entry| entry.listing == Listing::NotDocumented);
    let for_page = spreads.map(|spreads| (areas.finish(), spreads));
    Ok(Described {
        for_page,
        left_out: left_out.count() as u64,
        zones,
        tallies,
        cells,
        choice,
    })
}

/// Sums of ground and area of the final zones.
fn merged_sums(
    prepared: &Prepared,
    merged: &Merged,
    zone_of: &[u32],
    zones: usize,
) -> Vec<(ZoneGround, u128)> {
    let shape = shape_of(prepared);
    let mut starts = vec![0; zones + 1];
    for &zone in &zone_of[1..] {
        starts[zone as usize] += 1;
    }
    let mut sum = 0;
    for start in &mut starts {
        sum += *start;
        *start = sum;
    }
    // Now each start is the end of the zone before; filling from the back moves the
    // ends to where they should be.
    let mut members = vec![0; zone_of.len() - 1];
    for (member, &zone) in zone_of[1..].iter().enumerate().rev() {
        starts[zone as usize] -= 1;
        members[starts[zone as usize]] = member;
    }
    (0..zones)
        .into_par_iter()
        .map(|zone| {
            let end = starts.get(zone + 2).copied().unwrap_or(members.len());
            let (mut ground, mut area) = (ZoneGround::empty(&shape), 0);
            for &member in &members[starts[zone + 1]..end] {
                ground.merge(&merged.ground.ground(member));
                area += merged.areas_mm2[member];
            }
            (ground, area)
        })
        .collect()
}

/// Square metres of an area in square millimetres.
#[expect(
    clippy::cast_precision_loss,
    reason = "areas for people and files; sums are made before"
)]
pub fn square_metres(area_mm2: u128) -> f64 {
    area_mm2 as f64 / 1e6
}
