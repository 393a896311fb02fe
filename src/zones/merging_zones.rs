//! The zones while phase 2 merges them: cells, sums, tallies and borders of each,
//! and what any merge would cost. Knows not which merge comes next.

use std::cmp::Ordering;

use super::absorb::PhaseOne;
use super::cost::Cost;
use super::fidelity::Fidelity;
use super::merge_rules::MergeRules;
use super::tally::Tallies;

/// A neighbour of a zone.
#[derive(Debug, Clone, Copy)]
pub(super) struct Neighbour {
    pub(super) zone: u32,
    /// Length of the border in cell edges.
    pub(super) length: u32,
    /// Whether the pair is known not to be allowed to merge as both are now.
    pub(super) is_barred: bool,
    /// What a hub has noted of it; see [`Hub`](super::hubs::Hub).
    pub(super) stamp: u32,
    /// Cost of the merge to within its slack; not kept up at the borders of hubs.
    pub(super) cost: f64,
}

/// A cost as a plain number, with what it may be off, and the exact one once it
/// has been needed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Price<E = Cost> {
    near: f64,
    slack: f64,
    pub(super) exact: E,
}

impl Price<()> {
    /// Whether this may turn out no higher than another.
    pub(super) fn may_be_at_most<E>(&self, other: &Price<E>) -> bool {
        self.near - self.slack <= other.near + other.slack
    }

    pub(super) fn exact(self, exact: impl FnOnce() -> Cost) -> Price {
        Price {
            near: self.near,
            slack: self.slack,
            exact: exact(),
        }
    }
}

impl<E> Price<E> {
    /// Not above the cost.
    pub(super) fn least(&self) -> f64 {
        (self.near - self.slack).max(0.0)
    }

    /// Not below the cost.
    pub(super) fn most(&self) -> f64 {
        self.near + self.slack
    }
}

impl Price {
    pub(super) fn cmp(&self, other: &Price) -> Ordering {
        if (self.near - other.near).abs() > self.slack + other.slack {
            self.near.total_cmp(&other.near)
        } else {
            self.exact.cmp(&other.exact)
        }
    }
}

/// Zones stand in slots that count from 0. A merged zone stands in the slot of
/// either part and bears the lower number.
pub(super) struct MergingZones {
    species: usize,
    rules: MergeRules,
    /// The lowest number of phase 1 in each slot.
    numbers: Vec<u32>,
    /// Length of the way the means of each slot have gone, rounded up.
    moved: Vec<f64>,
    cells: Vec<u64>,
    sums: Vec<u32>,
    /// `sums / (2 cells)`.
    means: Vec<f64>,
    known: Vec<u32>,
    suits: Vec<u32>,
    /// Neighbours of each zone in the order of their numbers.
    neighbours: Vec<Vec<Neighbour>>,
}

impl MergingZones {
    pub(super) fn new(phase_one: &PhaseOne, tallies: &Tallies, rules: MergeRules) -> MergingZones {
        let (zones, species) = (phase_one.len(), phase_one.species);
        let mut all = MergingZones {
            species,
            rules,
            numbers: (1..=super::runs::narrow(zones)).collect(),
            moved: vec![0.0; zones],
            cells: phase_one.cells.clone(),
            sums: phase_one.sums.clone(),
            means: vec![0.0; zones * species],
            known: Vec::with_capacity(zones * species),
            suits: Vec::with_capacity(zones * species),
            neighbours: vec![Vec::new(); zones],
        };
        for zone in 1..=super::runs::narrow(zones) {
            all.known.extend(tallies.known(zone));
            all.suits.extend(tallies.suits(zone));
            all.set_means(zone - 1);
        }
        // Borders are sorted by pair, so each list comes out sorted.
        for border in &phase_one.borders {
            let (a, b) = (border.a - 1, border.b - 1);
            let cost = all.near_cost(a, b);
            for (zone, neighbour) in [(b, a), (a, b)] {
                let entry = Neighbour {
                    zone: neighbour,
                    length: border.length,
                    is_barred: false,
                    stamp: 0,
                    cost,
                };
                all.neighbours[zone as usize].push(entry);
            }
        }
        all
    }

    /// Number of zones there were.
    pub(super) fn len(&self) -> u32 {
        super::runs::narrow(self.cells.len())
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

    /// Remembers that a zone may not merge with its neighbour at this place.
    pub(super) fn bar(&mut self, zone: u32, at: usize) {
        self.neighbours[zone as usize][at].is_barred = true;
    }

    fn range(&self, zone: u32) -> std::ops::Range<usize> {
        zone as usize * self.species..(zone as usize + 1) * self.species
    }

    /// Works the means out anew and adds how far they went.
    #[expect(clippy::cast_precision_loss, reason = "cells are under 2^31, species few")]
    fn set_means(&mut self, zone: u32) {
        let range = self.range(zone);
        let twice = 2.0 * self.cells[zone as usize] as f64;
        let mut squares = 0.0;
        for (mean, &sum) in self.means[range.clone()].iter_mut().zip(&self.sums[range]) {
            let new = f64::from(sum) / twice;
            squares += (new - *mean) * (new - *mean);
            *mean = new;
        }
        // Each mean is off by 2^-53 at most; a sum of squares by as much for each
        // species.
        let rounding = 1e-15 * (self.species as f64 + 8.0);
        self.moved[zone as usize] += squares.sqrt() * (1.0 + rounding) + rounding;
    }

    /// Fidelity of one zone with its list.
    pub(super) fn fidelity(&self, zone: u32) -> Fidelity {
        let range = self.range(zone);
        let (known, suits) = (&self.known[range.clone()], &self.suits[range]);
        Fidelity::of_zone(self.cells[zone as usize], known, suits, &self.rules.listing)
    }

    /// `a1 a2 / (a1 + a2)`.
    #[expect(clippy::cast_precision_loss, reason = "cells are under 2^31")]
    pub(super) fn weight(&self, one: u32, other: u32) -> f64 {
        let (one, other) = (self.cells[one as usize] as f64, self.cells[other as usize] as f64);
        one * other / (one + other)
    }

    pub(super) fn near_cost(&self, one: u32, other: u32) -> f64 {
        let (one_means, other_means) = (&self.means[self.range(one)], &self.means[self.range(other)]);
        // Four sums side by side, so that the processor can add them at once; the
        // order of additions is fixed.
        let mut squares = [0.0; 4];
        let (fours, rest) = one_means.as_chunks::<4>();
        let (other_fours, other_rest) = other_means.as_chunks::<4>();
        for (one, other) in fours.iter().zip(other_fours) {
            for lane in 0..4 {
                let difference = one[lane] - other[lane];
                squares[lane] += difference * difference;
            }
        }
        for (one, other) in rest.iter().zip(other_rest) {
            squares[0] += (one - other) * (one - other);
        }
        self.weight(one, other) * (squares[0] + squares[1] + squares[2] + squares[3])
    }

    /// A near cost with what it may be off.
    ///
    /// # Method
    /// A mean is off by at most half a unit in its last place, 2^-53, so a
    /// difference by 2^-52 and a square by 2^-51 of the difference; sums and
    /// products add a few 2^-53 of the whole for each species. By Cauchy's
    /// inequality the differences add up to no more than the square root of the
    /// species times the squares. The factors below are larger than needed.
    #[expect(clippy::cast_precision_loss, reason = "the number of species is small")]
    pub(super) fn price(&self, one: u32, other: u32, near: f64) -> Price<()> {
        let (weight, species) = (self.weight(one, other), self.species as f64 + 8.0);
        let slack =
            1e-15 * (weight * species * near).sqrt() + 1e-15 * species * near + 1e-28 * species * weight;
        Price {
            near,
            slack,
            exact: (),
        }
    }

    pub(super) fn exact_cost(&self, one: u32, other: u32) -> Cost {
        let (one_cells, other_cells) = (self.cells[one as usize], self.cells[other as usize]);
        let mut squares = 0_u128;
        for (&sum, &other_sum) in self.sums[self.range(one)]
            .iter()
            .zip(&self.sums[self.range(other)])
        {
            // Under 2^32 times 2^31.
            let difference = (u64::from(sum) * other_cells).abs_diff(u64::from(other_sum) * one_cells);
            squares += u128::from(difference) * u128::from(difference);
        }
        Cost::from_squares(squares, one_cells, other_cells)
    }

    /// Whether the cells of both parts stay similar enough to the merged list.
    pub(super) fn may_merge(&self, one: u32, other: u32) -> bool {
        let (at, other_at) = (self.range(one), self.range(other));
        let cells = self.cells[one as usize] + self.cells[other as usize];
        let (mut part, mut other_part) = (Fidelity::default(), Fidelity::default());
        for (at, other_at) in at.zip(other_at) {
            let (known, suits) = (u64::from(self.known[at]), u64::from(self.suits[at]));
            let (other_known, other_suits) =
                (u64::from(self.known[other_at]), u64::from(self.suits[other_at]));
            let is_listed = self
                .rules
                .listing
                .lists(cells, known + other_known, suits + other_suits);
            part.count(known, suits, is_listed);
            other_part.count(other_known, other_suits, is_listed);
        }
        part.reaches(self.rules.keep) && other_part.reaches(self.rules.keep)
    }

    /// Merges two neighbours into the slot of the first and hands out the other
    /// neighbours of the second. Unless the first is a hub, all costs of its
    /// borders are those of the merged zone afterwards.
    pub(super) fn merge(&mut self, stays: u32, goes: u32, stays_a_hub: bool) -> Vec<u32> {
        let (to, from) = (stays as usize, goes as usize);
        self.numbers[to] = self.numbers[to].min(self.numbers[from]);
        self.cells[to] += self.cells[from];
        for species in 0..self.species {
            for counts in [&mut self.sums, &mut self.known, &mut self.suits] {
                counts[to * self.species + species] += counts[from * self.species + species];
            }
        }
        self.set_means(stays);
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
        if !stays_a_hub {
            for entry in &mut joined {
                entry.cost = self.near_cost(stays, entry.zone);
                entry.is_barred = false;
                if let Some(back) = self.border(entry.zone, stays) {
                    back.cost = entry.cost;
                    back.is_barred = false;
                }
            }
        }
        self.neighbours[to] = joined;
        of_other.iter().map(|entry| entry.zone).collect()
    }

    /// In the list of `zone`, adds its border with `from` to that with `to`.
    fn move_border(&mut self, zone: u32, from: u32, to: u32) {
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
                list[at] = Neighbour { zone: to, ..entry };
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
    list.extend_from_slice(more);
    list.sort_by_key(|entry| entry.zone);
    list.dedup_by(|next, kept| {
        let same = next.zone == kept.zone;
        kept.length += if same { next.length } else { 0 };
        same
    });
}
