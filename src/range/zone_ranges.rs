//! How every species stands in every zone.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::range::Range;
use super::standing::{Documented, RecordWords, Standing};
use super::zone_cells::{ZoneCells, ZoneShape};
use crate::grid::Grid;
use crate::project::Units;
use crate::zones::{Listing, RunRows, Zone};

/// How every species of the catalogue stands in every zone.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneRanges {
    /// By zone, then by species.
    standings: Vec<Vec<Standing>>,
    /// Words for the nearest records.
    pub words: RecordWords,
}

impl ZoneRanges {
    /// Looks up all zones, which are the labels of `rows` from 1 on.
    ///
    /// A zone touches a region that owns the centre of one of its cells; distances are from
    /// the nearest edge of a cell of the zone, on the plane of the grid.
    #[must_use]
    pub fn new(range: &Range, grid: &Grid, rows: &RunRows, zones: usize, units: Units) -> ZoneRanges {
        let mut touched = vec![Vec::new(); zones];
        for (region, zones) in touching(range, grid, rows).into_iter().enumerate() {
            for zone in zones {
                touched[zone as usize - 1].push(region);
            }
        }
        let cells = ZoneCells::new(rows, zones);
        let standings = touched
            .par_iter()
            .enumerate()
            .map(|(zone, touched)| range.standings(touched, &ZoneShape::new(grid, cells.of_zone(zone))))
            .collect();
        ZoneRanges {
            standings,
            words: range.record_words(units),
        }
    }

    /// Some standings, for tests of what is written.
    #[must_use]
    pub fn of(standings: Vec<Vec<Standing>>, words: RecordWords) -> ZoneRanges {
        ZoneRanges { standings, words }
    }

    /// How a species stands in the zone at `zone` in the list of zones.
    #[must_use]
    pub fn standing(&self, zone: usize, species: usize) -> Standing {
        self.standings[zone][species]
    }

    /// Takes the species that are not documented here off the list of the zone at `index`
    /// in the list of zones. They keep their share, class and rating.
    pub fn leave_out(&self, index: usize, zone: &mut Zone) {
        for entry in &mut zone.species {
            let here = self.standing(index, entry.index()).documented == Documented::Here;
            if entry.listing.is_listed() && !here {
                entry.listing = Listing::NotDocumented;
            }
        }
        let listed = zone.species.iter().filter(|entry| entry.listing.is_listed());
        zone.best_class = listed.filter_map(|entry| entry.class).min();
    }

    /// How many pairs of zone and species stand so.
    #[must_use]
    pub fn count(&self, documented: Documented) -> u64 {
        let all = self.standings.iter().flatten();
        all.filter(|standing| standing.documented == documented).count() as u64
    }

    /// How many zones touch no region.
    #[must_use]
    pub fn zones_without_region(&self) -> usize {
        let no_region = |standing: &Standing| standing.documented == Documented::NoRegion;
        self.standings
            .iter()
            .filter(|zone| zone.iter().any(no_region))
            .count()
    }
}

/// For each region the zones that it touches.
fn touching(range: &Range, grid: &Grid, rows: &RunRows) -> Vec<BTreeSet<u32>> {
    let bands: Vec<_> = grid.bands().collect();
    let of_region = range.cells().iter().map(|cells| {
        let of_bands = bands.par_iter().map(|&band| {
            let covered = cells.covers(band);
            let mut zones = BTreeSet::new();
            for row in 0..band.rows {
                let mut from = 0;
                for &(to, zone) in rows.row(band.row + row) {
                    let here = &covered.row(row)[from..to as usize];
                    if zone > 0 && here.contains(&1) {
                        zones.insert(zone);
                    }
                    from = to as usize;
                }
            }
            zones
        });
        of_bands.reduce(BTreeSet::new, |mut all, zones| {
            all.extend(zones);
            all
        })
    });
    of_region.collect()
}
