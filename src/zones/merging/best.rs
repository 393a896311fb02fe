//! The best merge of a zone, and which of two comes first. Zones come in; knows not how a
//! best merge is found.

use super::costs::Price;
use super::zones::MergingZones;

const NOBODY: u32 = u32::MAX;

/// The cheapest merge of a zone that may be made.
#[derive(Debug, Clone, Copy)]
pub(super) struct Best {
    pub(super) price: Price,
    pub(super) length: u32,
    /// The slot of the other zone, or nobody.
    pub(super) other: u32,
}

impl Best {
    pub(super) const NONE: Best = Best {
        price: Price::NONE,
        length: 0,
        other: NOBODY,
    };

    pub(super) fn is_none(&self) -> bool {
        self.other == NOBODY
    }
}

/// Whether the best merge of a zone comes before that of another.
///
/// While a merge is being made, a best merge may name a zone that has just changed.
/// What is decided then is decided again when its own zone is looked at.
pub(super) fn goes_first(zones: &MergingZones, best: &[Best], one: u32, other: u32) -> bool {
    let (best, others) = (&best[one as usize], &best[other as usize]);
    if best.is_none() || others.is_none() {
        return !best.is_none();
    }
    is_before(zones, (one, best), (other, others))
}

/// Whether a merge comes before another; each with the slot of its zone. Costs are
/// worked out exactly only where the near ones do not tell.
pub(super) fn is_before(
    zones: &MergingZones,
    (one, best): (u32, &Best),
    (other, others): (u32, &Best),
) -> bool {
    if let Some(by_cost) = best.price.cmp_near(others.price) {
        return by_cost.is_lt();
    }
    let (pair, others_pair) = (zones.pair(one, best.other), zones.pair(other, others.other));
    // Most often both zones of a pair like each other best.
    if pair == others_pair {
        return false;
    }
    let exact = |zone: u32, best: &Best| zones.exact_cost(zone, best.other);
    exact(one, best)
        .cmp(&exact(other, others))
        .then(others.length.cmp(&best.length))
        .then(pair.cmp(&others_pair))
        .is_lt()
}
