//! Phase 2 of merging: zones join strictly cheapest first, to the end, and every
//! merge is written down with the fidelity after it. The zones of phase 1 and
//! their tallies come in, the order of merges goes out; knows no outlines.

use super::absorb::PhaseOne;
use super::cheapest::CheapestFirst;
use super::error::ZonesError;
use super::fidelity::Fidelity;
use super::listing::ListingRules;
use super::merging_zones::{MergingZones, Price};
use super::share::Share;
use super::tally::Tallies;

/// What guards lists while zones merge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct MergeRules {
    /// When a species is listed.
    pub listing: ListingRules,
    /// Least similarity (Sorensen) that the cells of either part must have to the
    /// merged list; the limit itself is allowed.
    pub keep: Share,
}

/// One merge of two zones, named by the numbers of phase 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Merge {
    /// The zone that stays: the one with the lower first cell.
    pub into: u32,
    /// The zone that joins it.
    pub from: u32,
    /// What the merge adds to the squared error, in cells.
    pub cost: f64,
    /// Fidelity of the site after it.
    pub fidelity: Fidelity,
}

/// All merges of a site, in order. Any number of the first of them gives zones.
#[derive(Debug, Clone, PartialEq)]
pub struct MergeSequence {
    /// Number of zones after phase 1.
    pub zones: u32,
    /// Fidelity after phase 1.
    pub start: Fidelity,
    /// The merges.
    pub merges: Vec<Merge>,
}

/// Merges zones as long as any two may.
///
/// # Method
/// Ward 1963 under contiguity ([`Cost`](super::Cost)), strictly cheapest first; ties go to the
/// longer border, then to the pair with the lower first cell, of the other zone
/// where the first is the same. Costs are compared as exact fractions. No merge is
/// made that leaves the cells of either part under `keep`.
///
/// # Errors
/// When the tallies are not those of these zones.
pub fn merge_zones(
    phase_one: &PhaseOne,
    tallies: &Tallies,
    rules: &MergeRules,
) -> Result<MergeSequence, ZonesError> {
    for (what, found, needed) in [
        ("zones in the tallies", tallies.zones(), phase_one.len()),
        ("species in the tallies", tallies.species(), phase_one.species),
    ] {
        if found != needed {
            return Err(ZonesError::SizesDiffer { what, found, needed });
        }
    }
    let start = Fidelity::of(tallies, &phase_one.cells, &rules.listing);
    let mut merging = Merging {
        zones: MergingZones::new(phase_one, tallies, *rules),
        best: vec![None; phase_one.len()],
        order: CheapestFirst::new(phase_one.len()),
    };
    for zone in 0..merging.zones.len() {
        merging.find_best(zone);
    }
    let mut fidelity = start;
    let mut merges = Vec::new();
    while let Some(best) = merging.order.first().and_then(|zone| merging.best[zone as usize]) {
        let (into, from) = (best.low, best.high);
        for zone in [into, from] {
            fidelity.take(merging.zones.fidelity(zone));
        }
        merging.merge(into, from);
        fidelity.add(merging.zones.fidelity(into));
        merges.push(Merge {
            into: into + 1,
            from: from + 1,
            cost: best.price.exact.get(),
            fidelity,
        });
    }
    Ok(MergeSequence {
        zones: super::runs::narrow(phase_one.len()),
        start,
        merges,
    })
}

/// The cheapest merge of a zone that may be made.
#[derive(Debug, Clone, Copy)]
struct Best {
    price: Price,
    length: u32,
    low: u32,
    high: u32,
}

impl Best {
    fn other(&self, zone: u32) -> u32 {
        if self.low == zone { self.high } else { self.low }
    }

    /// Whether this merge comes before another.
    fn is_before(&self, other: &Best) -> bool {
        self.price
            .cmp(&other.price)
            .then(other.length.cmp(&self.length))
            .then((self.low, self.high).cmp(&(other.low, other.high)))
            .is_lt()
    }
}

struct Merging {
    zones: MergingZones,
    /// For each zone, exact for the state of the moment.
    best: Vec<Option<Best>>,
    order: CheapestFirst,
}

impl Merging {
    fn merge(&mut self, into: u32, from: u32) {
        self.zones.merge(into, from);
        self.set_best(from, None);
        for at in 0..self.zones.neighbours(into).len() {
            let neighbour = self.zones.neighbours(into)[at].zone;
            // Only the border with the merged zone has changed.
            match self.best[neighbour as usize] {
                Some(best) if [into, from].contains(&best.other(neighbour)) => self.find_best(neighbour),
                best => {
                    let entry = self.zones.neighbours(into)[at];
                    let price = self.zones.price(into, neighbour, entry.cost);
                    let (low, high) = (into.min(neighbour), into.max(neighbour));
                    let may_win = best.is_none_or(|best| price.may_be_at_most(&best.price));
                    if may_win {
                        let price = price.exact(|| self.zones.exact_cost(into, neighbour));
                        let new = Best {
                            price,
                            length: entry.length,
                            low,
                            high,
                        };
                        if best.is_none_or(|best| new.is_before(&best))
                            && self.zones.may_merge(into, neighbour)
                        {
                            self.set_best(neighbour, Some(new));
                        }
                    }
                }
            }
        }
        self.find_best(into);
    }

    /// Finds the best merge of a zone among all its neighbours.
    fn find_best(&mut self, zone: u32) {
        let mut best: Option<Best> = None;
        for at in 0..self.zones.neighbours(zone).len() {
            let entry = self.zones.neighbours(zone)[at];
            if entry.is_barred {
                continue;
            }
            let price = self.zones.price(zone, entry.zone, entry.cost);
            if best.is_some_and(|best| !price.may_be_at_most(&best.price)) {
                continue;
            }
            let price = price.exact(|| self.zones.exact_cost(zone, entry.zone));
            let (low, high) = (zone.min(entry.zone), zone.max(entry.zone));
            let new = Best {
                price,
                length: entry.length,
                low,
                high,
            };
            if best.is_some_and(|best| !new.is_before(&best)) {
                continue;
            }
            if self.zones.may_merge(zone, entry.zone) {
                best = Some(new);
            } else {
                self.zones.bar(zone, at);
            }
        }
        self.set_best(zone, best);
    }

    fn set_best(&mut self, zone: u32, best: Option<Best>) {
        self.best[zone as usize] = best;
        let all = &self.best;
        self.order.update(zone, |one, other| {
            match (&all[one as usize], &all[other as usize]) {
                (Some(one), Some(other)) => one.is_before(other),
                (one, _) => one.is_some(),
            }
        });
    }
}

#[cfg(test)]
#[path = "merging_tests.rs"]
pub(crate) mod tests;
