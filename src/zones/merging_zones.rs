//! The zones while phase 2 merges them: cells, sums, tallies and borders of each.
//! Knows not which merge comes next.

use pulp::Arch;
use rayon::prelude::*;

use super::absorb::PhaseOne;
use super::fidelity::Fidelity;
use super::listing::ListedInZone;
use super::merge_rules::MergeRules;
use super::merging_costs::{May, single};
use super::runs::narrow;
use super::tally::Tallies;

/// Kinds of counts of a zone: sums, known and suiting cells.
pub(super) const COUNTS: usize = 3;

/// Counts stand in groups of so many species, the last filled up with zeros: nothing
/// known is never listed and differs from nothing. Sums of each lane of the groups are
/// made side by side, so that the processor can add them at once; the order of
/// additions is fixed.
pub(super) const LANES: usize = 8;

pub(super) type Group = [u32; LANES];

/// A neighbour of a zone.
#[derive(Debug, Clone, Copy)]
pub(super) struct Neighbour {
    pub(super) zone: u32,
    /// Length of the border in cell edges.
    pub(super) length: u32,
    /// What a hub has noted of it; see [`Hub`](super::hubs::Hub).
    pub(super) stamp: u32,
    /// The growth of the neighbour (see [`MergingZones::refresh`]) that `cost` and
    /// `may` were found at.
    seen: u32,
    /// Cost of the merge to within its slack; not kept up at the borders of hubs.
    pub(super) cost: f32,
    /// Whether the pair may merge as both are now.
    pub(super) may: May,
}

/// Zones stand in slots that count from 0. A merged zone stands in the slot of
/// either part and bears the lower number.
pub(super) struct MergingZones {
    pub(super) species: usize,
    pub(super) rules: MergeRules,
    /// The lowest number of phase 1 in each slot.
    numbers: Vec<u32>,
    /// Length of the way the means of each slot have gone, rounded up.
    moved: Vec<f64>,
    pub(super) cells: Vec<u32>,
    /// How often each slot has grown.
    grown: Vec<u32>,
    /// For each slot the sums, the known and the suiting cells of all species.
    counts: Vec<Group>,
    /// Groups of one kind of counts of a slot.
    groups: usize,
    fidelities: Vec<Fidelity>,
    /// Neighbours of each zone in the order of their numbers.
    neighbours: Vec<Vec<Neighbour>>,
    pub(super) arch: Arch,
}

impl MergingZones {
    pub(super) fn new(phase_one: &PhaseOne, tallies: &Tallies, rules: MergeRules) -> MergingZones {
        let (zones, species) = (phase_one.len(), phase_one.species);
        let groups = species.div_ceil(LANES);
        let mut counts = vec![[0; LANES]; zones * groups * COUNTS];
        let mut fidelities = vec![Fidelity::default(); zones];
        if groups > 0 {
            counts
                .par_chunks_exact_mut(groups * COUNTS)
                .zip(&mut fidelities)
                .enumerate()
                .with_min_len(256)
                .for_each(|(at, (counts, fidelity))| {
                    let zone = narrow(at + 1);
                    let parts = [
                        &phase_one.sums[at * species..(at + 1) * species],
                        tallies.known(zone),
                        tallies.suits(zone),
                    ];
                    for (to, from) in counts.chunks_exact_mut(groups).zip(parts) {
                        to.as_flattened_mut()[..species].copy_from_slice(from);
                    }
                    *fidelity = fidelity_of(&rules, phase_one.cells[at], parts[1], parts[2]);
                });
        }
        let mut all = MergingZones {
            species,
            arch: Arch::new(),
            rules,
            numbers: (1..=narrow(zones)).collect(),
            // At first the means stand where they are.
            moved: vec![0.0; zones],
            // Cells of a site are under 2^31.
            cells: phase_one
                .cells
                .iter()
                .map(|&cells| u32::try_from(cells).unwrap_or(u32::MAX))
                .collect(),
            grown: vec![0; zones],
            counts,
            groups,
            fidelities,
            neighbours: Vec::new(),
        };
        let costs: Vec<f32> = phase_one
            .borders
            .par_iter()
            .with_min_len(1024)
            .map(|border| single(all.near_cost(border.a - 1, border.b - 1)))
            .collect();
        let mut lengths = vec![0; zones];
        for border in &phase_one.borders {
            lengths[border.a as usize - 1] += 1;
            lengths[border.b as usize - 1] += 1;
        }
        all.neighbours = lengths.into_iter().map(Vec::with_capacity).collect();
        // Borders are sorted by pair, so each list comes out sorted.
        for (border, cost) in phase_one.borders.iter().zip(costs) {
            let (a, b) = (border.a - 1, border.b - 1);
            for (zone, neighbour) in [(b, a), (a, b)] {
                let entry = Neighbour {
                    zone: neighbour,
                    length: border.length,
                    stamp: 0,
                    seen: 0,
                    cost,
                    may: May::NotAsked,
                };
                all.neighbours[zone as usize].push(entry);
            }
        }
        all
    }

    /// Number of zones there were.
    pub(super) fn len(&self) -> u32 {
        narrow(self.cells.len())
    }

    pub(super) fn neighbours(&self, zone: u32) -> &[Neighbour] {
        &self.neighbours[zone as usize]
    }

    /// The border of a zone with another, where there is one.
    pub(super) fn border(&mut self, zone: u32, with: u32) -> Option<&mut Neighbour> {
        let list = &mut self.neighbours[zone as usize];
        let at = list.binary_search_by_key(&with, |entry| entry.zone).ok()?;
        Some(&mut list[at])
    }

    /// Whether the border of two zones bears this stamp.
    pub(super) fn bears(&self, zone: u32, with: u32, stamp: u32) -> bool {
        let list = &self.neighbours[zone as usize];
        list.binary_search_by_key(&with, |entry| entry.zone)
            .is_ok_and(|at| list[at].stamp == stamp)
    }

    /// The lowest number of phase 1 in a slot.
    pub(super) fn number(&self, zone: u32) -> u32 {
        self.numbers[zone as usize]
    }

    /// Length of the way the means of a zone have gone while others joined it, not
    /// below the true one.
    pub(super) fn moved(&self, zone: u32) -> f64 {
        self.moved[zone as usize]
    }

    /// Remembers whether a zone may merge with its neighbour at this place.
    pub(super) fn remember(&mut self, zone: u32, at: usize, may: May) {
        self.neighbours[zone as usize][at].may = may;
    }

    /// Brings the costs of a plain zone's borders up to what its neighbours have
    /// become; its own growth is in them already.
    pub(super) fn refresh(&mut self, zone: u32) {
        for at in 0..self.neighbours[zone as usize].len() {
            let entry = self.neighbours[zone as usize][at];
            if entry.seen != self.grown[entry.zone as usize] {
                self.refresh_at(zone, at);
            }
        }
    }

    fn refresh_at(&mut self, zone: u32, at: usize) {
        let entry = self.neighbours[zone as usize][at];
        self.neighbours[zone as usize][at] = Neighbour {
            seen: self.grown[entry.zone as usize],
            cost: single(self.near_cost(zone, entry.zone)),
            may: May::NotAsked,
            ..entry
        };
    }

    /// Sums, known and suiting cells of a zone.
    pub(super) fn counts(&self, zone: u32) -> [&[Group]; COUNTS] {
        let start = zone as usize * self.groups * COUNTS;
        let (sums, rest) = self.counts[start..start + self.groups * COUNTS].split_at(self.groups);
        let (known, suits) = rest.split_at(self.groups);
        [sums, known, suits]
    }

    pub(super) fn cells(&self, zone: u32) -> u64 {
        u64::from(self.cells[zone as usize])
    }

    /// Fidelity of one zone with its list.
    pub(super) fn fidelity(&self, zone: u32) -> Fidelity {
        self.fidelities[zone as usize]
    }

    /// Merges two neighbours into the slot of the first and hands out the other
    /// neighbours of the second. Unless the first is a hub, all costs in its
    /// own list are those of the merged zone afterwards; those in the lists of others
    /// wait for [`MergingZones::refresh`].
    pub(super) fn merge(&mut self, stays: u32, goes: u32, stays_a_hub: bool) -> Vec<u32> {
        let (to, from) = (stays as usize, goes as usize);
        self.numbers[to] = self.numbers[to].min(self.numbers[from]);
        self.pour(to, from);
        let mut of_other = std::mem::take(&mut self.neighbours[from]);
        of_other.retain(|entry| entry.zone != stays);
        for entry in &of_other {
            self.move_border(entry.zone, goes, stays);
        }
        let mut joined = std::mem::take(&mut self.neighbours[to]);
        if let Ok(at) = joined.binary_search_by_key(&goes, |entry| entry.zone) {
            joined.remove(at);
        }
        join_sorted(&mut joined, &of_other);
        self.grown[to] = self.grown[to].wrapping_add(1);
        if !stays_a_hub {
            for entry in &mut joined {
                entry.seen = self.grown[entry.zone as usize];
                entry.cost = single(self.near_cost(stays, entry.zone));
                entry.may = May::NotAsked;
            }
        }
        self.neighbours[to] = joined;
        of_other.iter().map(|entry| entry.zone).collect()
    }

    /// Adds the counts of one slot to those of another, works out anew what follows
    /// from them, and adds how far the means went.
    #[expect(clippy::cast_precision_loss, reason = "the number of species is small")]
    fn pour(&mut self, to: usize, from: usize) {
        let width = self.groups * COUNTS;
        let (into, poured) = if to < from {
            let (low, high) = self.counts.split_at_mut(from * width);
            (&mut low[to * width..(to + 1) * width], &high[..width])
        } else {
            let (low, high) = self.counts.split_at_mut(to * width);
            (&mut high[..width], &low[from * width..(from + 1) * width])
        };
        let before = 0.5 / f64::from(self.cells[to]);
        self.cells[to] += self.cells[from];
        let after = 0.5 / f64::from(self.cells[to]);
        // By how much `sum / (2 cells)` changes.
        let mut squares = [0.0; LANES];
        for (sums, more) in into[..self.groups].iter().zip(poured) {
            for lane in 0..LANES {
                let (sum, more) = (f64::from(sums[lane]), f64::from(more[lane]));
                let moved = (sum + more) * after - sum * before;
                squares[lane] += moved * moved;
            }
        }
        for (counts, more) in into.iter_mut().zip(poured) {
            for lane in 0..LANES {
                counts[lane] += more[lane];
            }
        }
        // Each mean is off by 2^-52 at most; a sum of squares by as much for each
        // species.
        let rounding = 2e-15 * (self.species as f64 + 8.0);
        let squares: f64 = squares.iter().sum();
        self.moved[to] += squares.sqrt() * (1.0 + rounding) + rounding;
        let (known, suits) = into[self.groups..].split_at(self.groups);
        let cells = u64::from(self.cells[to]);
        let (known, suits) = (known.as_flattened(), suits.as_flattened());
        self.fidelities[to] = fidelity_of(&self.rules, cells, known, suits);
    }

    /// In the list of `zone`, adds its border with `from` to that with `to`.
    fn move_border(&mut self, zone: u32, from: u32, to: u32) {
        // Out of date as soon as that zone counts its growth.
        let seen = self.grown[to as usize];
        let list = &mut self.neighbours[zone as usize];
        let Ok(old) = list.binary_search_by_key(&from, |entry| entry.zone) else {
            return;
        };
        let entry = list[old];
        match list.binary_search_by_key(&to, |entry| entry.zone) {
            Ok(at) => {
                list[at].length += entry.length;
                list.remove(old);
            }
            Err(at) => {
                let at = if at > old {
                    list[old..at].rotate_left(1);
                    at - 1
                } else {
                    list[at..=old].rotate_right(1);
                    at
                };
                list[at] = Neighbour {
                    zone: to,
                    seen,
                    ..entry
                };
            }
        }
    }
}

fn fidelity_of(rules: &MergeRules, cells: u64, known: &[u32], suits: &[u32]) -> Fidelity {
    let rule = ListedInZone::new(&rules.listing, cells);
    let mut fidelity = Fidelity::default();
    for (&known, &suits) in known.iter().zip(suits) {
        let is_listed = rule.lists(known.into(), suits.into());
        fidelity.count(known.into(), suits.into(), is_listed);
    }
    fidelity
}

/// Adds a list sorted by zone to another; borders with the same zone add up. A
/// short list is put into a long one in place.
fn join_sorted(list: &mut Vec<Neighbour>, more: &[Neighbour]) {
    if more.len() < list.len() / 16 {
        for entry in more {
            match list.binary_search_by_key(&entry.zone, |entry| entry.zone) {
                Ok(at) => list[at].length += entry.length,
                Err(at) => list.insert(at, *entry),
            }
        }
        return;
    }
    list.extend_from_slice(more);
    list.sort_by_key(|entry| entry.zone);
    list.dedup_by(|next, kept| {
        let same = next.zone == kept.zone;
        kept.length += if same { next.length } else { 0 };
        same
    });
}
