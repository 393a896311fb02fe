//! The zones while phase 2 merges them: cells, sums, tallies and borders of each.
//! Knows not which merge comes next.

use pulp::Arch;
use rayon::prelude::*;

use super::costs::{May, Means};
use super::joined_counts::JoinedCounts;
use crate::zones::absorb::PhaseOne;
use crate::zones::fidelity::Fidelity;
use crate::zones::merge_rules::MergeRules;
use crate::zones::regions::Border;
use crate::zones::runs::narrow;
use crate::zones::species_codes::{CodePacker, SpeciesCodes, WORD};
use crate::zones::tally::{SpeciesCells, Tallies, pack_tally};
use crate::zones::voted_sums::{VotedSums, pack_sums, read_sums};

/// A neighbour of a zone.
#[derive(Debug, Clone, Copy)]
pub(super) struct Neighbour {
    pub(super) zone: u32,
    /// Length of the border in cell edges.
    pub(super) length: u32,
    /// In the list of a plain zone the bits of the cost of the merge, to within its slack,
    /// which is not kept up at the borders of hubs. In that of a hub its stamp; see
    /// [`Hub`](super::hubs::Hub).
    noted: u32,
    /// The growth of the neighbour (see [`MergingZones::refresh`]) that the cost was found
    /// at, and in the lowest bits whether the pair may merge as both were then.
    seen: u32,
}

/// A growth counts in steps of so much, so that an answer has room beside it.
const GROWTH: u32 = 4;

impl Neighbour {
    /// Cost of the merge, in the list of a plain zone.
    pub(super) fn cost(&self) -> f32 {
        f32::from_bits(self.noted)
    }

    /// The stamp of the border, in the list of a hub.
    pub(super) fn stamp(&self) -> u32 {
        self.noted
    }

    pub(super) fn may(&self) -> May {
        May::from_bits(self.seen % GROWTH)
    }

    fn new(zone: u32, length: u32, cost: f32) -> Neighbour {
        Neighbour {
            zone,
            length,
            noted: cost.to_bits(),
            seen: 0,
        }
    }

    /// Notes a cost found at a growth; whether the pair may merge is to be asked again.
    fn note(&mut self, cost: f32, grown: u32) {
        self.noted = cost.to_bits();
        self.seen = grown;
    }
}

/// Zones stand in slots that count from 0. A merged zone stands in the slot of
/// either part and bears the lower number.
pub(super) struct MergingZones<'p> {
    pub(super) species: usize,
    pub(super) rules: MergeRules,
    /// The lowest number of phase 1 in each slot.
    numbers: Vec<u32>,
    pub(super) cells: Vec<u32>,
    /// How often each slot has grown, in steps of [`GROWTH`].
    grown: Vec<u32>,
    /// Counts of the zones of phase 1, and so of slots that have not grown.
    sums: &'p VotedSums,
    tallies: &'p Tallies,
    /// Counts of slots that have.
    joined: JoinedCounts,
    /// Neighbours of each zone in the order of their numbers.
    neighbours: Vec<Vec<Neighbour>>,
    pour: Pour,
    pub(super) arch: Arch,
}

/// Room for the counts of two zones while one joins the other.
#[derive(Debug, Default)]
struct Pour {
    sums: Vec<u32>,
    more: Vec<u32>,
    counts: SpeciesCells,
    means: Vec<[f32; WORD]>,
    packer: CodePacker,
}

impl<'p> MergingZones<'p> {
    pub(super) fn new(
        phase_one: &'p PhaseOne,
        borders: &[Border],
        tallies: &'p Tallies,
        rules: MergeRules,
    ) -> MergingZones<'p> {
        let zones = phase_one.len();
        let mut all = MergingZones {
            species: phase_one.species,
            arch: Arch::new(),
            rules,
            numbers: (1..=narrow(zones)).collect(),
            // Cells of a site are under 2^31.
            cells: phase_one
                .cells
                .iter()
                .map(|&cells| u32::try_from(cells).unwrap_or(u32::MAX))
                .collect(),
            grown: vec![0; zones],
            sums: &phase_one.sums,
            tallies,
            joined: JoinedCounts::new(zones, phase_one.species),
            neighbours: Vec::new(),
            pour: Pour::default(),
        };
        let of_one_zone = borders.par_chunk_by(|one, other| one.a == other.a);
        let costs: Vec<f32> = of_one_zone
            .map_init(Means::default, |means, borders| {
                all.stand_at(means, borders[0].a - 1);
                let costs = borders.iter().map(|border| all.near_cost(means, border.b - 1));
                costs.collect::<Vec<f32>>()
            })
            .flatten_iter()
            .collect();
        let mut lengths = vec![0; zones];
        for border in borders {
            lengths[border.a as usize - 1] += 1;
            lengths[border.b as usize - 1] += 1;
        }
        all.neighbours = lengths.into_iter().map(Vec::with_capacity).collect();
        // Borders are sorted by pair, so each list comes out sorted.
        for (border, cost) in borders.iter().zip(costs) {
            let (a, b) = (border.a - 1, border.b - 1);
            for (zone, neighbour) in [(b, a), (a, b)] {
                let entry = Neighbour::new(neighbour, border.length, cost);
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
    pub(super) fn border(&self, zone: u32, with: u32) -> Option<&Neighbour> {
        let list = &self.neighbours[zone as usize];
        let at = list.binary_search_by_key(&with, |entry| entry.zone).ok()?;
        Some(&list[at])
    }

    /// Stamps the border of a hub with another zone, where there is one.
    pub(super) fn stamp(&mut self, hub: u32, with: u32, stamp: u32) -> bool {
        let list = &mut self.neighbours[hub as usize];
        let at = list.binary_search_by_key(&with, |entry| entry.zone);
        if let Ok(at) = at {
            list[at].noted = stamp;
        }
        at.is_ok()
    }

    /// The length of the border of a hub with another zone, where it bears this stamp.
    pub(super) fn stamped(&self, hub: u32, with: u32, stamp: u32) -> Option<u32> {
        let border = self.border(hub, with)?;
        (border.stamp() == stamp).then_some(border.length)
    }

    /// The lower and the higher number of two slots.
    pub(super) fn pair(&self, one: u32, other: u32) -> (u32, u32) {
        let (one, other) = (self.numbers[one as usize], self.numbers[other as usize]);
        (one.min(other), one.max(other))
    }

    /// Remembers whether a zone may merge with its neighbour at this place.
    pub(super) fn remember(&mut self, zone: u32, at: usize, may: May) {
        let seen = &mut self.neighbours[zone as usize][at].seen;
        *seen = *seen / GROWTH * GROWTH + may.bits();
    }

    /// Brings the costs of a plain zone's borders up to what its neighbours have
    /// become; its own growth is in them already.
    pub(super) fn refresh(&mut self, zone: u32, means: &mut Means) {
        let mut list = std::mem::take(&mut self.neighbours[zone as usize]);
        for entry in &mut list {
            let grown = self.grown[entry.zone as usize];
            if entry.seen / GROWTH != grown / GROWTH {
                self.stand_at(means, zone);
                entry.note(self.near_cost(means, entry.zone), grown);
            }
        }
        self.neighbours[zone as usize] = list;
    }

    /// Sums of a zone as voted.
    #[inline(always)]
    pub(super) fn sums(&self, zone: u32) -> SpeciesCodes<'_> {
        match self.joined.sums(zone) {
            Some(sums) => sums,
            None => self.sums.codes(zone as usize),
        }
    }

    /// The means of a zone that others have joined.
    #[inline(always)]
    pub(super) fn means_of(&self, zone: u32) -> Option<&[[f32; WORD]]> {
        self.joined.means(zone)
    }

    /// Known and suiting cells of a zone.
    #[inline(always)]
    pub(super) fn tally(&self, zone: u32) -> SpeciesCodes<'_> {
        match self.joined.tally(zone) {
            Some(tally) => tally,
            None => self.tallies.codes(zone + 1),
        }
    }

    /// Fidelity of a zone with its list.
    pub(super) fn fidelity(&self, zone: u32) -> Fidelity {
        let joined = self.joined.fidelity(zone);
        joined.unwrap_or_else(|| self.fidelity_of(self.tally(zone), self.cells(zone)))
    }

    pub(super) fn cells(&self, zone: u32) -> u64 {
        u64::from(self.cells[zone as usize])
    }

    /// Merges two neighbours into the slot of the first and hands out the other
    /// neighbours of the second. All costs in the list of a plain zone are those of the
    /// merged zone afterwards; those in the lists of others wait for
    /// [`MergingZones::refresh`].
    pub(super) fn merge(&mut self, stays: u32, goes: u32, means: &mut Means) -> Vec<Neighbour> {
        let (to, from) = (stays as usize, goes as usize);
        self.join_counts(to, from);
        means.forget();
        self.numbers[to] = self.numbers[to].min(self.numbers[from]);
        let mut of_other = std::mem::take(&mut self.neighbours[from]);
        of_other.retain(|entry| entry.zone != stays);
        for entry in &of_other {
            self.move_border(entry.zone, goes, stays);
        }
        let list = &mut self.neighbours[to];
        if let Ok(at) = list.binary_search_by_key(&goes, |entry| entry.zone) {
            list.remove(at);
        }
        join_sorted(list, &of_other);
        self.grown[to] = self.grown[to].wrapping_add(GROWTH);
        of_other
    }

    /// Works out all costs in the list of a plain zone.
    pub(super) fn price_all(&mut self, zone: u32, means: &mut Means) {
        let mut list = std::mem::take(&mut self.neighbours[zone as usize]);
        self.stand_at(means, zone);
        for entry in &mut list {
            entry.note(self.near_cost(means, entry.zone), self.grown[entry.zone as usize]);
        }
        self.neighbours[zone as usize] = list;
    }

    /// How far the means of a zone will go when another joins it, not below the true
    /// length.
    #[expect(clippy::cast_precision_loss, reason = "the number of species is small")]
    pub(super) fn way(&mut self, zone: u32, with: u32) -> f64 {
        let mut pour = std::mem::take(&mut self.pour);
        self.read_both(&mut pour, zone as usize, with as usize);
        let cells = f64::from(self.cells[zone as usize]);
        let before = 0.5 / cells;
        let after = 0.5 / (cells + f64::from(self.cells[with as usize]));
        let squares = pour.sums.iter().zip(&pour.more).map(|(&sum, &more)| {
            let (sum, more) = (f64::from(sum), f64::from(more));
            let moved = (sum + more) * after - sum * before;
            moved * moved
        });
        let squares: f64 = squares.sum();
        self.pour = pour;
        // Each mean is off by 2^-52 at most; a sum of squares by as much for each
        // species.
        let rounding = 2e-15 * (self.species as f64 + 8.0);
        squares.sqrt() * (1.0 + rounding) + rounding
    }

    fn read_both(&self, pour: &mut Pour, to: usize, from: usize) {
        for (slot, sums) in [(to, &mut pour.sums), (from, &mut pour.more)] {
            let codes = self.sums(narrow(slot));
            read_sums(codes, self.cells[slot], self.species, sums);
        }
    }

    /// Adds the counts of one slot to those of another, and gives back the room of the
    /// former.
    fn join_counts(&mut self, to: usize, from: usize) {
        let mut pour = std::mem::take(&mut self.pour);
        self.read_both(&mut pour, to, from);
        for (sum, more) in pour.sums.iter_mut().zip(&pour.more) {
            *sum += more;
        }
        pour.counts.clear(self.species);
        for slot in [to, from] {
            pour.counts.add(self.tally(narrow(slot)));
        }
        self.cells[to] += self.cells[from];
        self.joined.forget(narrow(from));
        let (zone, packer) = (narrow(to), &mut pour.packer);
        let sums = pack_sums(packer, self.cells[to], &pour.sums);
        self.joined.set_sums(zone, sums);
        let tally = pack_tally(packer, &pour.counts.known, &pour.counts.suits);
        let codes = SpeciesCodes::of(tally, self.species);
        let fidelity = self.fidelity_of(codes, self.cells(zone));
        self.joined.set_tally(zone, tally, fidelity);
        self.fill_means(zone, &mut pour.means);
        self.joined.set_means(zone, &pour.means);
        self.pour = pour;
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
    let (mut left, mut right) = (list.len(), more.len());
    list.extend_from_slice(more);
    // From the back, so that nothing is overwritten that is still needed. Of two of the
    // same zone that of the list comes first.
    for at in (0..list.len()).rev() {
        if right == 0 {
            break;
        }
        if left > 0 && list[left - 1].zone > more[right - 1].zone {
            left -= 1;
            list[at] = list[left];
        } else {
            right -= 1;
            list[at] = more[right];
        }
    }
    list.dedup_by(|next, kept| {
        let same = next.zone == kept.zone;
        kept.length += if same { next.length } else { 0 };
        same
    });
}
