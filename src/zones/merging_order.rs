//! Which merge comes next in phase 2. Borders between plain zones are kept up with
//! every merge; those of hubs are looked at when their bounds ask for it. Zones
//! come in, the cheapest merge goes out; knows neither why a merge costs what it
//! does nor what becomes of it.

use std::cmp::Ordering;

use rayon::prelude::*;

use super::cheapest::CheapestFirst;
use super::hubs::Hub;
use super::merging_costs::{May, Price};
use super::merging_zones::MergingZones;

/// The cheapest merge of a zone that may be made.
#[derive(Debug, Clone, Copy)]
pub(super) struct Best {
    price: Price,
    length: u32,
    /// The numbers of both zones.
    pub(super) low: u32,
    pub(super) high: u32,
    /// The slot of the other zone.
    pub(super) other: u32,
}

/// How many neighbours a search asks, the cheapest first, before it asks all that come
/// before the best so far in the order of the list.
const TRIED_IN_ORDER: usize = 8;

/// A neighbour, by its place in the list, and whether the pair may merge.
struct Asked {
    at: usize,
    may: May,
}

/// The zones, and the best merge of each, exact for the state of the moment: of a
/// plain zone among plain neighbours, of a hub among all.
pub(super) struct Merging {
    pub(super) zones: MergingZones,
    best: Vec<Option<Best>>,
    order: CheapestFirst,
    hubs: Vec<Option<Box<Hub>>>,
    hub_neighbours: usize,
    last_stamp: u32,
}

impl Merging {
    pub(super) fn new(zones: MergingZones, hub_neighbours: usize) -> Merging {
        let count = zones.len();
        let mut merging = Merging {
            best: vec![None; count as usize],
            order: CheapestFirst::new(count as usize),
            hubs: std::iter::repeat_with(|| None).take(count as usize).collect(),
            hub_neighbours,
            last_stamp: 0,
            zones,
        };
        let found: Vec<(Option<Best>, Vec<Asked>)> = (0..count)
            .into_par_iter()
            .with_min_len(256)
            .map(|zone| merging.search(zone))
            .collect();
        for (zone, (best, asked)) in (0..count).zip(found) {
            merging.best[zone as usize] = best;
            merging.remember(zone, &asked);
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

    /// The cheapest merge of all and the slot of one of its zones.
    pub(super) fn cheapest(&self) -> Option<(u32, Best)> {
        let zone = self.order.first()?;
        self.best[zone as usize].map(|best| (zone, best))
    }

    fn is_hub(&self, zone: u32) -> bool {
        self.hubs[zone as usize].is_some()
    }

    /// Merges two neighbours and tells the slot of the merged zone.
    pub(super) fn merge(&mut self, one: u32, other: u32) -> u32 {
        let rank = |zone: u32| (self.is_hub(zone), self.zones.neighbours(zone).len());
        let (stays, goes) = if rank(one) >= rank(other) {
            (one, other)
        } else {
            (other, one)
        };
        let is_hub = self.is_hub(stays);
        let passed_on = self.zones.merge(stays, goes, is_hub);
        self.set_best(goes, None);
        if let Some(gone) = self.hubs[goes as usize].take() {
            for hub in gone.hubs {
                self.with_hub(hub, |hub| hub.hubs.remove(&goes));
            }
        }
        if is_hub {
            self.hub_has_grown(stays, goes, &passed_on);
        } else {
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
            if best.is_some_and(|best| [zone, gone].contains(&best.other)) {
                self.find_best(neighbour);
                continue;
            }
            let new = self.candidate(neighbour, zone, entry.length, entry.cost.into(), best.as_ref());
            if new.is_none() {
                continue;
            }
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
            } else if self.best[zone as usize].is_some_and(|best| best.other == gone) {
                self.find_best(zone);
            }
        }
        let moved = self.zones.moved(hub);
        let failed = self.hubs[hub as usize].as_mut().map(|hub| hub.moved_to(moved));
        for mark in failed.into_iter().flatten() {
            if self.zones.bears(hub, mark.zone, mark.stamp) {
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
        let around: Vec<u32> = self.hubs[hub as usize]
            .iter()
            .flat_map(|hub| hub.hubs.iter().copied())
            .collect();
        for other in around {
            self.note(hub, other);
            self.note(other, hub);
            self.find_best_of_hub(other);
        }
    }

    fn make_hub(&mut self, zone: u32) {
        self.hubs[zone as usize] = Some(Box::default());
        for at in 0..self.zones.neighbours(zone).len() {
            let neighbour = self.zones.neighbours(zone)[at].zone;
            if self.is_hub(neighbour) {
                self.are_neighbours(zone, neighbour);
            } else if self.best[neighbour as usize].is_some_and(|best| best.other == zone) {
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
        self.hubs[zone as usize].as_mut().map(|hub| act(hub))
    }

    /// Notes a bound under the cost of a hub's merge with a neighbour, half-way
    /// between the hub's best merge and what the cost is now.
    ///
    /// # Method
    /// With `c = w d^2`, `d` the distance of the means: once the hub's means have
    /// gone no further than `s`, `d` is `d - s` or more, and `w` has only grown, so
    /// `c` is at least `(sqrt(c) - sqrt(w) s)^2`.
    fn note(&mut self, hub: u32, neighbour: u32) {
        let price = self
            .zones
            .price(hub, neighbour, self.zones.near_cost(hub, neighbour));
        let root = price.least().sqrt();
        let best = self.best[hub as usize].map(|best| best.price.most().sqrt());
        let lower = match best {
            Some(best) if best < root => f64::midpoint(best, root),
            _ => 0.75 * root,
        };
        self.note_bound(hub, neighbour, root, lower);
    }

    fn note_bound(&mut self, hub: u32, neighbour: u32, root: f64, lower: f64) {
        // Under and over by more than rounding can be off.
        let bound = lower * lower * (1.0 - 1e-12);
        let way = (root - lower) / self.zones.weight(hub, neighbour).sqrt() * (1.0 - 1e-9);
        let limit = self.zones.moved(hub) + way;
        self.last_stamp = self.last_stamp.wrapping_add(1);
        let stamp = self.last_stamp;
        if let Some(border) = self.zones.border(hub, neighbour) {
            border.stamp = stamp;
            self.with_hub(hub, |hub| hub.note(neighbour, stamp, bound, limit));
        }
    }

    fn find_best_of_hub(&mut self, hub: u32) {
        let Some(mut bounds) = self.hubs[hub as usize].take() else {
            return;
        };
        let mut best: Option<Best> = None;
        let mut looked_at = Vec::new();
        while let Some(mark) = bounds.pop_up_to(best.map_or(f64::INFINITY, |best| best.price.most())) {
            if !self.zones.bears(hub, mark.zone, mark.stamp) {
                continue;
            }
            let length = self
                .zones
                .border(hub, mark.zone)
                .map_or(0, |border| border.length);
            let near = self.zones.near_cost(hub, mark.zone);
            let new = self.candidate(hub, mark.zone, length, near, best.as_ref());
            if new.is_none() {
                looked_at.push(mark.zone);
            } else if self.zones.may_merge(hub, mark.zone) {
                looked_at.extend(best.map(|best| best.other));
                best = new;
            } else {
                bounds.park(mark);
            }
        }
        let neighbours = self.zones.neighbours(hub).len();
        bounds.tidy(neighbours, |mark| self.zones.bears(hub, mark.zone, mark.stamp));
        self.hubs[hub as usize] = Some(bounds);
        self.set_best(hub, best);
        for zone in looked_at {
            self.note(hub, zone);
        }
        if let Some(best) = best {
            let root = best.price.least().sqrt();
            self.note_bound(hub, best.other, root, root);
        }
    }

    /// Finds the best merge of a plain zone among its plain neighbours.
    fn find_best(&mut self, zone: u32) {
        self.zones.refresh(zone);
        let (best, asked) = self.search(zone);
        self.remember(zone, &asked);
        self.set_best(zone, best);
    }

    fn remember(&mut self, zone: u32, asked: &[Asked]) {
        for asked in asked {
            self.zones.remember(zone, asked.at, asked.may);
        }
    }

    /// The best merge of a plain zone among its plain neighbours, and what had to be
    /// asked for it.
    fn search(&self, zone: u32) -> (Option<Best>, Vec<Asked>) {
        let entries = self.zones.neighbours(zone);
        let mut asked: Vec<Asked> = Vec::new();
        let may = |asked: &[Asked], at: usize| match entries[at].may {
            May::NotAsked => asked
                .iter()
                .find(|asked| asked.at == at)
                .map_or(May::NotAsked, |asked| asked.may),
            known => known,
        };
        // Asking costs more than comparing: the cheapest is asked first.
        for tried in 0..=TRIED_IN_ORDER {
            let mut best: Option<(usize, Best)> = None;
            for (at, entry) in entries.iter().enumerate() {
                let mut may_now = may(&asked, at);
                if may_now == May::NotMerge || self.is_hub(entry.zone) {
                    continue;
                }
                let before = best.as_ref().map(|(_, best)| best);
                let new = self.candidate(zone, entry.zone, entry.length, entry.cost.into(), before);
                let Some(new) = new else { continue };
                if tried == TRIED_IN_ORDER && may_now == May::NotAsked {
                    may_now = self.zones.ask(zone, entry.zone);
                    asked.push(Asked { at, may: may_now });
                }
                if may_now != May::NotMerge {
                    best = Some((at, new));
                }
            }
            let Some((at, best)) = best else { break };
            if may(&asked, at) == May::NotAsked {
                let may = self.zones.ask(zone, best.other);
                asked.push(Asked { at, may });
            }
            if may(&asked, at) == May::Merge {
                return (Some(best), asked);
            }
        }
        (None, asked)
    }

    /// The merge of two zones, when it comes before the best so far.
    fn candidate(&self, zone: u32, other: u32, length: u32, near: f64, best: Option<&Best>) -> Option<Best> {
        let price = self.zones.price(zone, other, near);
        if let Some(best) = best
            && price.cmp_near(&best.price) == Some(Ordering::Greater)
        {
            return None;
        }
        let (one, two) = (self.zones.number(zone), self.zones.number(other));
        let new = Best {
            price,
            length,
            low: one.min(two),
            high: one.max(two),
            other,
        };
        best.is_none_or(|best| is_before(&self.zones, (zone, &new), (zone, best)))
            .then_some(new)
    }

    fn set_best(&mut self, zone: u32, best: Option<Best>) {
        self.best[zone as usize] = best;
        let (best, zones) = (&self.best, &self.zones);
        self.order
            .update(zone, |one, other| goes_first(zones, best, one, other));
    }
}

/// Whether the best merge of a zone comes before that of another.
///
/// While a merge is being made, a best merge may name a zone that has just changed.
/// What is decided then is decided again when its own zone is looked at.
fn goes_first(zones: &MergingZones, best: &[Option<Best>], one: u32, other: u32) -> bool {
    match (&best[one as usize], &best[other as usize]) {
        (Some(best), Some(others)) => is_before(zones, (one, best), (other, others)),
        (best, _) => best.is_some(),
    }
}

/// Whether a merge comes before another; each with the slot of its zone. Costs are
/// worked out exactly only where the near ones do not tell.
fn is_before(zones: &MergingZones, (one, best): (u32, &Best), (other, others): (u32, &Best)) -> bool {
    let by_cost = best.price.cmp_near(&others.price).unwrap_or_else(|| {
        let exact = |zone: u32, best: &Best| zones.exact_cost(zone, best.other);
        exact(one, best).cmp(&exact(other, others))
    });
    by_cost
        .then(others.length.cmp(&best.length))
        .then((best.low, best.high).cmp(&(others.low, others.high)))
        .is_lt()
}
