//! Keeps which of many zones comes first while their places change: a knock-out
//! tree, so memory is fixed and nothing stale is left behind. Knows not what the
//! order means.

const NOBODY: u32 = u32::MAX;

/// The first of a fixed number of zones under an order given at each change.
#[derive(Debug, Clone)]
pub(super) struct CheapestFirst {
    /// Zones from here on; the winner of places `2 n` and `2 n + 1` is at `n`, that of all
    /// at 1.
    leaves: usize,
    winners: Vec<u32>,
}

impl CheapestFirst {
    /// All zones, none with a place yet.
    pub(super) fn new(zones: usize) -> CheapestFirst {
        let mut winners = vec![NOBODY; 2 * zones.max(1)];
        for (leaf, zone) in winners[zones..].iter_mut().zip(0..).take(zones) {
            *leaf = zone;
        }
        CheapestFirst {
            leaves: zones,
            winners,
        }
    }

    /// The first zone; it may be one without a place when none has one.
    pub(super) fn first(&self) -> Option<u32> {
        let first = self.winners[1];
        (first != NOBODY).then_some(first)
    }

    /// Settles the whole order, after any number of places have changed.
    pub(super) fn settle(&mut self, is_before: impl Fn(u32, u32) -> bool) {
        for at in (1..self.leaves).rev() {
            self.winners[at] = self.winner(at, &is_before);
        }
    }

    /// Settles the order again after the place of one zone has changed.
    ///
    /// # Method
    /// Only matches in which the zone takes part can end otherwise, so the way up
    /// ends where it neither wins nor has won.
    pub(super) fn update(&mut self, zone: u32, is_before: impl Fn(u32, u32) -> bool) {
        let leaf = self.leaves + zone as usize;
        let mut at = leaf / 2;
        while at > 0 {
            let winner = self.winner(at, &is_before);
            let before = std::mem::replace(&mut self.winners[at], winner);
            if winner == before && winner != zone {
                return;
            }
            at /= 2;
        }
    }

    fn winner(&self, at: usize, is_before: &impl Fn(u32, u32) -> bool) -> u32 {
        match (self.winners[2 * at], self.winners[2 * at + 1]) {
            (NOBODY, other) | (other, NOBODY) => other,
            (left, right) if is_before(right, left) => right,
            (left, _) => left,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_first_is_the_least_after_every_change(
            start in prop::collection::vec(0_u8..20, 1..20),
            changes in prop::collection::vec((any::<prop::sample::Index>(), 0_u8..20), 0..50),
        ) {
            let mut places = start;
            let mut order = CheapestFirst::new(places.len());
            order.settle(|one, other| places[one as usize] < places[other as usize]);
            for (zone, place) in changes {
                let zone = zone.index(places.len());
                places[zone] = place;
                order.update(crate::zones::runs::narrow(zone), |one, other| places[one as usize] < places[other as usize]);
                let first = order.first().unwrap();
                prop_assert_eq!(places[first as usize], *places.iter().min().unwrap());
            }
        }
    }

    #[test]
    fn there_is_no_first_of_none() {
        assert_eq!(CheapestFirst::new(0).first(), None);
        let mut one = CheapestFirst::new(1);
        one.settle(|_, _| false);
        one.update(0, |_, _| false);
        assert_eq!(one.first(), Some(0));
    }
}
