//! Phase 2 of merging: zones join strictly cheapest first, to the end, and every
//! merge is written down with the fidelity after it. The zones of phase 1 and
//! their tallies come in, the order of merges goes out; knows no outlines.

mod best;
mod cheapest;
mod costs;
mod hubs;
mod joined_counts;
mod order;
mod sums;
mod zones;

use order::Merging;
use zones::MergingZones;

use super::absorb::PhaseOne;
use super::error::ZonesError;
use super::fidelity::Fidelity;
use super::merge_rules::MergeRules;
use super::regions::Border;
use super::tally::Tallies;

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

/// Merges zones as long as any two may. `borders` are all those between them; they go as
/// soon as zones know their neighbours.
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
    borders: Vec<Border>,
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
    Ok(merge_with_hubs(
        phase_one,
        borders,
        tallies,
        rules,
        HUB_NEIGHBOURS,
    ))
}

/// Zones with so many neighbours or more are hubs from then on.
const HUB_NEIGHBOURS: usize = 192;

fn merge_with_hubs(
    phase_one: &PhaseOne,
    borders: Vec<Border>,
    tallies: &Tallies,
    rules: &MergeRules,
    hub_neighbours: usize,
) -> MergeSequence {
    let start = Fidelity::of(tallies, &phase_one.cells, &rules.listing);
    let zones = MergingZones::new(phase_one, &borders, tallies, *rules);
    drop(borders);
    let mut merging = Merging::new(zones, hub_neighbours);
    let mut fidelity = start;
    let mut merges = Vec::new();
    while let Some((one, other)) = merging.cheapest() {
        for zone in [one, other] {
            fidelity.take(merging.zones.fidelity(zone));
        }
        let (into, from) = merging.zones.pair(one, other);
        let cost = merging.zones.exact_cost(one, other).get();
        let stays = merging.merge(one, other);
        fidelity.add(merging.zones.fidelity(stays));
        merges.push(Merge {
            into,
            from,
            cost,
            fidelity,
        });
    }
    MergeSequence {
        zones: super::runs::narrow(phase_one.len()),
        start,
        merges,
    }
}

#[cfg(test)]
pub(crate) mod tests;
