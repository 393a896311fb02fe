//! Which merge comes next in phase 2. Borders between plain zones are kept up with
//! every merge; those of hubs are looked at when their bounds ask for it. Zones
//! come in, the cheapest merge goes out; knows neither why a merge costs what it
//! does nor what becomes of it.

use std::collections::HashMap;

use rayon::prelude::*;

use super::best::{Best, goes_first, is_before};
use super::cheapest::CheapestFirst;
use super::costs::{May, Means};
use super::hubs::Hub;
use super::zones::MergingZones;

/// How many neighbours a search asks, the cheapest first, before it asks all that come
/// before the best so far in the order of the list.
const TRIED_IN_ORDER: usize = 8;

/// A neighbour, by its place in the list, and whether the pair may merge.
#[derive(Debug, Clone, Copy)]
struct Asked {
    at: usize,
    may: May,
}

/// The zones, and the best merge of each, exact for the state of the moment: of a
/// plain zone among plain neighbours, of a hub among all.
pub(super) struct Merging<'p> {
    pub(super) zones: MergingZones<'p>,
    best: Vec<Best>,
    order: CheapestFirst,
    is_hub: Vec<bool>,
    hubs: HashMap<u32, Hub>,
    hub_neighbours: usize,
    last_stamp: u32,
    means: Means,
    asked: Vec<Asked>,
}

impl<'p> Merging<'p> {
    pub(super) fn new(zones: MergingZones<'p>, hub_neighbours: usize) -> Merging<'p> {
        /// Zones that are searched before what they found is written down.
        const AT_ONCE: u32 = 1 << 15;
        let count = zones.len();
        let mut merging = Merging {
            best: vec![Best::NONE; count as usize],
            order: CheapestFirst::new(count as usize),
            is_hub: vec![false; count as usize],
            hubs: HashMap::new(),
            hub_neighbours,
            last_stamp: 0,
            means: Means::default(),
            asked: Vec::new(),
            zones,
        };
        for from in (0..count).step_by(AT_ONCE as usize) {
            let found: Vec<(Best, Vec<Asked>)> = (from..count.min(from + AT_ONCE))
                .into_par_iter()
                .with_min_len(256)
                .map(|zone| {
                    let mut asked = Vec::new();
                    (merging.search(zone, &mut asked), asked)
                })
                .collect();
            for (zone, (best, asked)) in (from..).zip(found) {
                merging.best[zone as usize] = best;
                merging.remember(zone, &asked);
            }
        }
        let (best, zones) = (&merging.best, &merging.zones);
        merging
            .order
            .settle(|one, other| goes_first(zones, best, one, other));
        for zone in 0..count {
            if merging.zones.neighbours(zone).len() >= hub_neighbours {
                merging.make_hub(zone);
            }
        }
        merging
    }

    /// The slots of the cheapest merge of all.
    pub(super) fn cheapest(&self) -> Option<(u32, u32)> {
        let zone = self.order.first()?;
        let best = self.best[zone as usize];
        (!best.is_none()).then_some((zone, best.other))
    }

    fn is_hub(&self, zone: u32) -> bool {
        self.is_hub[zone as usize]
    }

    /// Merges two neighbours and tells the slot of the merged zone.
    pub(super) fn merge(&mut self, one: u32, other: u32) -> u32 {
        let rank = |zone: u32| (self.is_hub(zone), self.zones.neighbours(zone).len());
        let (stays, goes) = if rank(one) >= rank(other) {
            (one, other)
        } else {
            (other, one)
        };
        if self.is_hub(stays) {
            let way = self.zones.way(stays, goes);
            self.with_hub(stays, |hub| hub.moved += way);
        }
        let passed_on = self.zones.merge(stays, goes, &mut self.means);
        self.set_best(goes, Best::NONE);
        if let Some(gone) = self.hubs.remove(&goes) {
            self.is_hub[goes as usize] = false;
            for hub in gone.hubs {
                self.with_hub(hub, |hub| hub.hubs.remove(&goes));
            }
        }
        if self.is_hub(stays) {
            let passed_on: Vec<u32> = passed_on.iter().map(|border| border.zone).collect();
            self.hub_has_grown(stays, goes, &passed_on);
        } else {
            self.zones.price_all(stays, &mut self.means);
            self.plain_zone_has_grown(stays, goes);
        }
        stays
    }

    fn plain_zone_has_grown(&mut self, zone: u32, gone: u32) {
        for at in 0..self.zones.neighbours(zone).len() {
            let entry = self.zones.neighbours(zone)[at];
            let neighbour = entry.zone;
            if self.is_hub(neighbour) {
                self.note(neighbour, zone);
                self.find_best_of_hub(neighbour);
                continue;
            }
            // Only the border with the merged zone has changed.
            let best = self.best[neighbour as usize];
            if [zone, gone].contains(&best.other) {
                self.find_best(neighbour);
                continue;
            }
            let new = self.candidate(neighbour, zone, entry.length, entry.cost(), &best);
            let Some(new) = new else { continue };
            let may = self.zones.ask(zone, neighbour);
            self.zones.remember(zone, at, may);
            if may == May::Merge {
                self.set_best(neighbour, new);
            }
        }
        if self.zones.neighbours(zone).len() >= self.hub_neighbours {
            self.make_hub(zone);
        } else {
            self.find_best(zone);
        }
    }

    fn hub_has_grown(&mut self, hub: u32, gone: u32, passed_on: &[u32]) {
        for &zone in passed_on {
            if self.is_hub(zone) {
                self.are_neighbours(hub, zone);
            } else if self.best[zone as usize].other == gone {
                self.find_best(zone);
            }
        }
        let failed = self.with_hub(hub, Hub::take_failed);
        for mark in failed.into_iter().flatten() {
            if self.zones.stamped(hub, mark.zone, mark.stamp).is_some() {
                self.note(hub, mark.zone);
            }
        }
        for &zone in passed_on {
            self.note(hub, zone);
        }
        self.hubs_around_have_changed(hub);
        self.find_best_of_hub(hub);
    }

    /// Looks again at the borders of a changed hub with other hubs, on both sides.
    fn hubs_around_have_changed(&mut self, hub: u32) {
        let around = self.with_hub(hub, |hub| hub.hubs.iter().copied().collect());
        let around: Vec<u32> = around.unwrap_or_default();
        for other in around {
            self.note(hub, other);
            self.note(other, hub);
            self.find_best_of_hub(other);
        }
    }

    fn make_hub(&mut self, zone: u32) {
        self.is_hub[zone as usize] = true;
        self.hubs.insert(zone, Hub::default());
        for at in 0..self.zones.neighbours(zone).len() {
            let neighbour = self.zones.neighbours(zone)[at].zone;
            if self.is_hub(neighbour) {
                self.are_neighbours(zone, neighbour);
            } else if self.best[neighbour as usize].other == zone {
                self.find_best(neighbour);
            }
            self.note(zone, neighbour);
        }
        self.find_best_of_hub(zone);
    }

    fn are_neighbours(&mut self, one: u32, other: u32) {
        self.with_hub(one, |hub| hub.hubs.insert(other));
        self.with_hub(other, |hub| hub.hubs.insert(one));
    }

    fn with_hub<T>(&mut self, zone: u32, act: impl FnOnce(&mut Hub) -> T) -> Option<T> {
        self.hubs.get_mut(&zone).map(act)
    }

    /// Notes a bound under the cost of a hub's merge with a neighbour, half-way
    /// between the hub's best merge and what the cost is now.
    ///
    /// # Method
    /// With `c = w d^2`, `d` the distance of the means: once the hub's means have
    /// gone no further than `s`, `d` is `d - s` or more, and `w` has only grown, so
    /// `c` is at least `(sqrt(c) - sqrt(w) s)^2`.
    fn note(&mut self, hub: u32, neighbour: u32) {
        self.zones.stand_at(&mut self.means, hub);
        let near = self.zones.near_cost(&self.means, neighbour);
        let root = self.zones.price(hub, neighbour, near).least().sqrt();
        let best = self.best[hub as usize].price.most().sqrt();
        let lower = if best < root {
            f64::midpoint(best, root)
        } else {
            0.75 * root
        };
        self.note_bound(hub, neighbour, root, lower);
    }

    fn note_bound(&mut self, hub: u32, neighbour: u32, root: f64, lower: f64) {
        // Under and over by more than rounding can be off.
        let bound = lower * lower * (1.0 - 1e-12);
        let way = (root - lower) / self.zones.weight(hub, neighbour).sqrt() * (1.0 - 1e-9);
        self.last_stamp = self.last_stamp.wrapping_add(1);
        let stamp = self.last_stamp;
        if self.zones.stamp(hub, neighbour, stamp) {
            self.with_hub(hub, |hub| hub.note(neighbour, stamp, bound, way));
        }
    }

    fn find_best_of_hub(&mut self, hub: u32) {
        let Some(mut bounds) = self.with_hub(hub, std::mem::take) else {
            return;
        };
        let mut best = Best::NONE;
        let mut looked_at = Vec::new();
        self.zones.stand_at(&mut self.means, hub);
        while let Some(mark) = bounds.pop_up_to(best.price.most()) {
            let Some(length) = self.zones.stamped(hub, mark.zone, mark.stamp) else {
                continue;
            };
            let near = self.zones.near_cost(&self.means, mark.zone);
            let Some(new) = self.candidate(hub, mark.zone, length, near, &best) else {
                looked_at.push(mark.zone);
                continue;
            };
            if self.zones.may_merge(hub, mark.zone) {
                looked_at.extend((!best.is_none()).then_some(best.other));
                best = new;
            } else {
                bounds.park(mark);
            }
        }
        let neighbours = self.zones.neighbours(hub).len();
        bounds.tidy(neighbours, |mark| {
            self.zones.stamped(hub, mark.zone, mark.stamp).is_some()
        });
        self.hubs.insert(hub, bounds);
        self.set_best(hub, best);
        for zone in looked_at {
            self.note(hub, zone);
        }
        if !best.is_none() {
            let root = best.price.least().sqrt();
            self.note_bound(hub, best.other, root, root);
        }
    }

    /// Finds the best merge of a plain zone among its plain neighbours.
    fn find_best(&mut self, zone: u32) {
        self.zones.refresh(zone, &mut self.means);
        let mut asked = std::mem::take(&mut self.asked);
        let best = self.search(zone, &mut asked);
        self.remember(zone, &asked);
        asked.clear();
        self.asked = asked;
        self.set_best(zone, best);
    }

    fn remember(&mut self, zone: u32, asked: &[Asked]) {
        for asked in asked {
            self.zones.remember(zone, asked.at, asked.may);
        }
    }

    /// The best merge of a plain zone among its plain neighbours; what has to be asked for
    /// it goes into `asked`.
    fn search(&self, zone: u32, asked: &mut Vec<Asked>) -> Best {
        let entries = self.zones.neighbours(zone);
        let may = |asked: &[Asked], at: usize| match entries[at].may() {
            May::NotAsked => asked
                .iter()
                .find(|asked| asked.at == at)
                .map_or(May::NotAsked, |asked| asked.may),
            known => known,
        };
        // Asking costs more than comparing: the cheapest is asked first.
        for tried in 0..=TRIED_IN_ORDER {
            let mut best = (0, Best::NONE);
            for (at, entry) in entries.iter().enumerate() {
                let mut may_now = may(asked, at);
                if may_now == May::NotMerge || self.is_hub(entry.zone) {
                    continue;
                }
                let new = self.candidate(zone, entry.zone, entry.length, entry.cost(), &best.1);
                let Some(new) = new else { continue };
                if tried == TRIED_IN_ORDER && may_now == May::NotAsked {
                    may_now = self.zones.ask(zone, entry.zone);
                    asked.push(Asked { at, may: may_now });
                }
                if may_now != May::NotMerge {
                    best = (at, new);
                }
            }
            let (at, best) = best;
            if best.is_none() {
                break;
            }
            if may(asked, at) == May::NotAsked {
                let may = self.zones.ask(zone, best.other);
                asked.push(Asked { at, may });
            }
            if may(asked, at) == May::Merge {
                return best;
            }
        }
        Best::NONE
    }

    /// The merge of two zones, when it comes before the best so far.
    fn candidate(&self, zone: u32, other: u32, length: u32, near: f32, best: &Best) -> Option<Best> {
        if self.zones.is_dearer(zone, near, best.price) {
            return None;
        }
        let new = Best {
            price: self.zones.price(zone, other, near),
            length,
            other,
        };
        let comes_first = best.is_none() || is_before(&self.zones, (zone, &new), (zone, best));
        comes_first.then_some(new)
    }

    fn set_best(&mut self, zone: u32, best: Best) {
        self.best[zone as usize] = best;
        let (best, zones) = (&self.best, &self.zones);
        self.order
            .update(zone, |one, other| goes_first(zones, best, one, other));
    }
}
