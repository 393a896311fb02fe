//! The zones while phase 2 merges them: cells, sums, tallies and borders of each,
//! and what any merge would cost. Knows not which merge comes next.

use std::cmp::Ordering;

use rayon::prelude::*;

use super::absorb::PhaseOne;
use super::cost::Cost;
use super::fidelity::Fidelity;
use super::merging::MergeRules;
use super::tally::Tallies;

/// A neighbour of a zone.
#[derive(Debug, Clone, Copy)]
pub(super) struct Neighbour {
    pub(super) zone: u32,
    /// Length of the border in cell edges.
    pub(super) length: u32,
    /// Whether the pair is known not to be allowed to merge as both are now.
    pub(super) is_barred: bool,
    /// Cost of the merge to within [`slack`].
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

impl Price {
    pub(super) fn cmp(&self, other: &Price) -> Ordering {
        if (self.near - other.near).abs() > self.slack + other.slack {
            self.near.total_cmp(&other.near)
        } else {
            self.exact.cmp(&other.exact)
        }
    }
}

/// Zones count from 0 here; a merged zone keeps the lower number.
pub(super) struct MergingZones {
    species: usize,
    rules: MergeRules,
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

    /// Remembers that a zone may not merge with its neighbour at this place.
    pub(super) fn bar(&mut self, zone: u32, at: usize) {
        self.neighbours[zone as usize][at].is_barred = true;
    }

    fn range(&self, zone: u32) -> std::ops::Range<usize> {
        zone as usize * self.species..(zone as usize + 1) * self.species
    }

    #[expect(clippy::cast_precision_loss, reason = "cells are under 2^31")]
    fn set_means(&mut self, zone: u32) {
        let range = self.range(zone);
        let twice = 2.0 * self.cells[zone as usize] as f64;
        for (mean, &sum) in self.means[range.clone()].iter_mut().zip(&self.sums[range]) {
            *mean = f64::from(sum) / twice;
        }
    }

    /// Fidelity of one zone with its list.
    pub(super) fn fidelity(&self, zone: u32) -> Fidelity {
        let range = self.range(zone);
        let (known, suits) = (&self.known[range.clone()], &self.suits[range]);
        Fidelity::of_zone(self.cells[zone as usize], known, suits, &self.rules.listing)
    }

    /// `a1 a2 / (a1 + a2)`.
    #[expect(clippy::cast_precision_loss, reason = "cells are under 2^31")]
    fn weight(&self, one: u32, other: u32) -> f64 {
        let (one, other) = (self.cells[one as usize] as f64, self.cells[other as usize] as f64);
        one * other / (one + other)
    }

    fn near_cost(&self, one: u32, other: u32) -> f64 {
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

    /// Merges two neighbours; the lower number stays. All costs of its borders are
    /// those of the merged zone afterwards.
    pub(super) fn merge(&mut self, into: u32, from: u32) {
        self.cells[into as usize] += self.cells[from as usize];
        let (into_at, from_at) = (self.range(into).start, self.range(from).start);
        for species in 0..self.species {
            for counts in [&mut self.sums, &mut self.known, &mut self.suits] {
                counts[into_at + species] += counts[from_at + species];
            }
        }
        self.set_means(into);
        let of_from = std::mem::take(&mut self.neighbours[from as usize]);
        for entry in &of_from {
            if entry.zone != into {
                self.move_border(entry.zone, from, into);
            }
        }
        let of_into = std::mem::take(&mut self.neighbours[into as usize]);
        let mut joined = join_sorted(&of_into, &of_from);
        joined.retain(|entry| entry.zone != into && entry.zone != from);
        let costs = |entry: &mut Neighbour| {
            entry.cost = self.near_cost(into, entry.zone);
            entry.is_barred = false;
        };
        if joined.len() > 512 {
            joined.par_iter_mut().with_min_len(128).for_each(costs);
        } else {
            joined.iter_mut().for_each(costs);
        }
        for entry in &joined {
            let back = &mut self.neighbours[entry.zone as usize];
            if let Ok(at) = back.binary_search_by_key(&into, |entry| entry.zone) {
                back[at].cost = entry.cost;
                back[at].is_barred = false;
            }
        }
        self.neighbours[into as usize] = joined;
    }

    /// In the list of `zone`, adds its border with `from` to that with `into`.
    fn move_border(&mut self, zone: u32, from: u32, into: u32) {
        let list = &mut self.neighbours[zone as usize];
        let Ok(old) = list.binary_search_by_key(&from, |entry| entry.zone) else {
            return;
        };
        let entry = list[old];
        match list.binary_search_by_key(&into, |entry| entry.zone) {
            Ok(at) => {
                list[at].length += entry.length;
                list.remove(old);
            }
            Err(at) => {
                // The merged number is the lower one, so the entry moves up the list.
                list.copy_within(at..old, at + 1);
                list[at] = Neighbour { zone: into, ..entry };
            }
        }
    }
}

/// Joins two lists sorted by zone; borders with the same zone add up.
fn join_sorted(one: &[Neighbour], other: &[Neighbour]) -> Vec<Neighbour> {
    let mut joined = Vec::with_capacity(one.len() + other.len());
    let (mut at, mut other_at) = (0, 0);
    while at < one.len() && other_at < other.len() {
        match one[at].zone.cmp(&other[other_at].zone) {
            Ordering::Less => {
                joined.push(one[at]);
                at += 1;
            }
            Ordering::Greater => {
                joined.push(other[other_at]);
                other_at += 1;
            }
            Ordering::Equal => {
                joined.push(Neighbour {
                    length: one[at].length + other[other_at].length,
                    ..one[at]
                });
                at += 1;
                other_at += 1;
            }
        }
    }
    joined.extend_from_slice(&one[at..]);
    joined.extend_from_slice(&other[other_at..]);
    joined
}
