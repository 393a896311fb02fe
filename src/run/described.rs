//! What is said of the zones of a cut.

use std::borrow::Cow;
use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

use super::drawn::{FinalRows, square_metres};
use super::final_sums::FinalSums;
use super::page;
use super::prepared::Prepared;
use super::settings::ZoneSettings;
use super::species_areas::{SpeciesArea, SpeciesAreas};
use super::spread::{self, Spread, SpreadZone};
use crate::error::Error;
use crate::grid::CellIndex;
use crate::output::{RowChoice, order};
use crate::range::ZoneRanges;
use crate::rating::CellRater;
use crate::zones::outlines::{AnchorFinder, stable_id};
use crate::zones::{
    Describer, Listing, ReasonBook, SpeciesCells, Zone, ZoneGround, ZoneSums, border_factors, borders_of,
};

/// Zones that a thread describes at least with what it has learnt.
const ZONES_AT_ONCE: usize = 128;

/// What is said of zones.
pub struct Described {
    /// The zones, by number, with the species that have rows.
    pub zones: Vec<Zone>,
    /// Which species have rows.
    pub choice: RowChoice,
    /// How often a suiting species is left off a list because it is not documented.
    pub left_out: u64,
    /// Species that suit somewhere, but whose ground puts them on no list.
    pub species_lost: Vec<usize>,
    /// Areas of species and spreads of factors; nothing where no page is written.
    pub for_page: Option<(Vec<SpeciesArea>, Vec<Spread>)>,
}

/// Describes the zones of a cut.
///
/// # Errors
/// Rows that are not those of the grid.
pub fn describe(
    prepared: &Prepared,
    rater: &CellRater,
    rows: &FinalRows,
    sums: &FinalSums,
    settings: &ZoneSettings,
    ranges: Option<&ZoneRanges>,
) -> Result<Described, Error> {
    let suited = sums.suits_anywhere();
    let with_page = page::is_written(prepared.project, sums.zones() as u64);
    let held = with_page.then(|| Held::new(sums));
    let spreads = held.as_ref().map(|held| held.spreads(prepared, rater, sums));
    let choice = RowChoice::for_size(sums.zones(), suited.len(), prepared.project.outputs.all_rows);
    let documented_only = prepared.project.range.as_ref();
    let documented_only = ranges.filter(|_| documented_only.is_some_and(|range| range.documented_only));
    let anchors = anchors(rows)?;
    let supports = prepared.site.supports_m();
    let border_factor = coarse_border_factors(prepared, rater, rows, sums, &supports);
    let book = ReasonBook::default();
    let new_describer = || {
        let (questions, listing) = (&prepared.questions, settings.merge.listing);
        let describer = Describer::new(questions, rater, prepared.settings, listing, &supports, &book);
        (describer, SpeciesCells::default())
    };
    let areas = SpeciesAreas::new(suited.len(), prepared.site.factors().len());
    let is_listed: Vec<AtomicBool> = suited.iter().map(|_| AtomicBool::new(false)).collect();
    let zones: Vec<Zone> = (0..sums.zones())
        .into_par_iter()
        .with_min_len(ZONES_AT_ONCE)
        .map_init(new_describer, |(describer, counts), index| {
            sums.count_species(index, counts);
            let ground = match &held {
                Some(held) => Cow::Borrowed(&held.grounds[index]),
                None => Cow::Owned(sums.ground(index)),
            };
            let id = anchors[index].map(|anchor| stable_id(prepared.site.grid(), anchor));
            let sums = ZoneSums {
                number: u32::try_from(index + 1).unwrap_or(u32::MAX),
                stable_id: &id.unwrap_or_default(),
                cells: sums.cells(index),
                area_m2: square_metres(sums.area_mm2(index)),
                known: &counts.known,
                suits: &counts.suits,
                ground: &ground,
                border_factor: border_factor.get(index).copied().flatten(),
            };
            // What no file shows need not be told: with many zones it is most of it.
            let mut zone = describer.zone(
                &sums,
                |listing| choice.takes(listing),
                |species| {
                    if with_page {
                        areas.add_passed_over(sums.area_m2, species);
                    }
                },
            );
            for entry in zone.species.iter().filter(|entry| entry.listing.is_listed()) {
                is_listed[entry.index()].store(true, Ordering::Relaxed);
            }
            if let Some(ranges) = documented_only {
                ranges.leave_out(index, &mut zone);
            }
            if with_page {
                areas.add(&zone);
            }
            order::sort_zone_species(&mut zone.species, &prepared.catalogue.species, &suited);
            zone
        })
        .collect();
    let entries = zones.iter().flat_map(|zone| &zone.species);
    let left_out = entries.filter(|entry| entry.listing == Listing::NotDocumented);
    let lost = |&species: &usize| suited[species] > 0 && !is_listed[species].load(Ordering::Relaxed);
    Ok(Described {
        left_out: left_out.count() as u64,
        species_lost: (0..suited.len()).filter(lost).collect(),
        for_page: spreads.map(|spreads| (areas.finish(), spreads)),
        zones,
        choice,
    })
}

/// Sums of all zones at once, as the page needs them, which is for few zones.
struct Held {
    grounds: Vec<ZoneGround>,
}

impl Held {
    fn new(sums: &FinalSums) -> Held {
        let zones = (0..sums.zones()).into_par_iter();
        Held {
            grounds: zones.map(|zone| sums.ground(zone)).collect(),
        }
    }

    fn spreads(&self, prepared: &Prepared, rater: &CellRater, sums: &FinalSums) -> Vec<Spread> {
        let zones = self.grounds.iter().enumerate();
        let zones: Vec<SpreadZone> = zones
            .map(|(zone, ground)| SpreadZone {
                ground,
                cells: sums.cells(zone),
                area_m2: square_metres(sums.area_mm2(zone)),
            })
            .collect();
        spread::spreads(prepared, rater, &zones)
    }
}

/// The anchor of each zone. One entry a zone, so that no id can slip to another zone.
fn anchors(rows: &FinalRows) -> Result<Vec<Option<CellIndex>>, Error> {
    let mut anchors = AnchorFinder::new(rows.cols());
    rows.each(|row| Ok(anchors.push_row(row)?))?;
    Ok(anchors.finish())
}

/// For each zone that is smaller than what some factor's source shows the factor that draws
/// its border; of others nothing is asked, and where there are none the list is empty.
fn coarse_border_factors(
    prepared: &Prepared,
    rater: &CellRater,
    rows: &FinalRows,
    sums: &FinalSums,
    supports_m: &[Option<f64>],
) -> Vec<Option<usize>> {
    let coarsest = supports_m.iter().flatten().copied().fold(0.0, f64::max);
    let is_small = |zone: usize| square_metres(sums.area_mm2(zone)) < coarsest * coarsest;
    let small: Vec<bool> = (0..sums.zones()).into_par_iter().map(is_small).collect();
    if !small.contains(&true) {
        return Vec::new();
    }
    let is_small = |zone: u32| small[zone as usize - 1];
    let mut borders = borders_of(&rows.relabelled());
    borders.retain(|border| is_small(border.a) || is_small(border.b));
    let ground = |zone| sums.ground(zone);
    border_factors(&borders, sums.zones(), ground, &prepared.questions, rater)
}
