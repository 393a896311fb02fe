//! Zones with very many neighbours, whose costs all change a little with every
//! merge. A hub keeps, for each neighbour, a bound under its cost that holds until
//! the hub's means have moved by a stated length, so that a merge looks at few of
//! them. Knows the bounds only; the costs are worked out elsewhere.

use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};

/// What a hub remembers of one neighbour, in order of `level`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Mark {
    /// Bits of a number from 0 up, which sort as the number does.
    level: u64,
    pub(super) zone: u32,
    /// A mark holds as long as the border bears the same stamp.
    pub(super) stamp: u32,
}

impl Mark {
    fn at(level: f64, zone: u32, stamp: u32) -> Mark {
        Mark {
            level: level.max(0.0).to_bits(),
            zone,
            stamp,
        }
    }

    fn level(&self) -> f64 {
        f64::from_bits(self.level)
    }
}

/// The bounds of one hub.
#[derive(Debug, Default)]
pub(super) struct Hub {
    /// Lower bounds of the costs.
    bounds: BinaryHeap<Reverse<Mark>>,
    /// How far the hub may have moved before a bound fails.
    limits: BinaryHeap<Reverse<Mark>>,
    /// Neighbours that may not merge with the hub as both are now.
    parked: Vec<Mark>,
    /// Neighbours that are hubs themselves.
    pub(super) hubs: BTreeSet<u32>,
    /// Length of the way the hub's means have gone since it became one, while others joined
    /// it, not below the true one.
    pub(super) moved: f64,
}

impl Hub {
    /// Notes a bound that holds until the hub has moved by more than `way` from now on.
    pub(super) fn note(&mut self, zone: u32, stamp: u32, bound: f64, way: f64) {
        self.bounds.push(Reverse(Mark::at(bound, zone, stamp)));
        self.limits.push(Reverse(Mark::at(self.moved + way, zone, stamp)));
    }

    /// The neighbour of the lowest bound, when that is not over `most`.
    pub(super) fn pop_up_to(&mut self, most: f64) -> Option<Mark> {
        if self.bounds.peek()?.0.level() > most {
            return None;
        }
        self.bounds.pop().map(|mark| mark.0)
    }

    /// Sets a neighbour aside until the hub changes.
    pub(super) fn park(&mut self, mark: Mark) {
        self.parked.push(mark);
    }

    /// Brings back what was set aside, and hands out the neighbours whose bounds
    /// no longer hold now that the hub has moved.
    pub(super) fn take_failed(&mut self) -> Vec<Mark> {
        self.bounds.extend(self.parked.drain(..).map(Reverse));
        let mut failed = Vec::new();
        while self.limits.peek().is_some_and(|mark| mark.0.level() < self.moved) {
            failed.extend(self.limits.pop().map(|mark| mark.0));
        }
        failed
    }

    /// Drops marks that no longer hold once they are several times as many as the
    /// neighbours.
    pub(super) fn tidy(&mut self, neighbours: usize, holds: impl Fn(&Mark) -> bool) {
        let most = 4 * neighbours + 1024;
        if self.bounds.len() > most {
            self.bounds.retain(|mark| holds(&mark.0));
        }
        if self.limits.len() > most {
            self.limits.retain(|mark| holds(&mark.0));
        }
    }
}
