//! When a species is on a zone's list. Counts of cells come in, a [`Listing`] goes
//! out; knows neither places nor ratings.

use serde::Serialize;

use super::share::Share;
use super::zone::Listing;

/// The limits of lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct ListingRules {
    /// Least share of the known cells that must suit for a species to be listed;
    /// the limit itself is listed.
    pub list_share: Share,
    /// Least share to be listed as "throughout"; the limit itself is.
    pub throughout: Share,
    /// A share over this, not listed, is "in parts"; the limit itself is not.
    pub in_parts: Share,
    /// Least share of the zone's cells on which a species must be known; the limit
    /// itself is known.
    pub known_share: Share,
}

impl ListingRules {
    /// The usual limits (known on half, throughout from 0.9, in parts over 0.2)
    /// with another share to be listed.
    #[must_use]
    pub fn with_list_share(list_share: Share) -> ListingRules {
        ListingRules {
            list_share,
            ..ListingRules::default()
        }
    }

    /// How a species stands that is known in `known` of `cells` cells and suits in
    /// `suits` of those known.
    ///
    /// # Missing
    /// A species known in no cell is not known.
    ///
    /// # Examples
    /// ```
    /// use groundfit::zones::{Listing, ListingRules};
    /// let rules = ListingRules::default();
    /// assert_eq!(rules.listing(100, 50, 45), Listing::Throughout);
    /// assert_eq!(rules.listing(100, 50, 25), Listing::Mostly);
    /// assert_eq!(rules.listing(100, 50, 10), Listing::NotListed);
    /// assert_eq!(rules.listing(100, 49, 49), Listing::NotKnown);
    /// ```
    #[must_use]
    pub fn listing(&self, cells: u64, known: u64, suits: u64) -> Listing {
        if known == 0 || !self.known_share.is_reached_by(known, cells) {
            Listing::NotKnown
        } else if self.list_share.is_reached_by(suits, known) {
            if self.throughout.is_reached_by(suits, known) {
                Listing::Throughout
            } else {
                Listing::Mostly
            }
        } else if self.in_parts.is_exceeded_by(suits, known) {
            Listing::InParts
        } else {
            Listing::NotListed
        }
    }

    /// Whether the species is on the list: [`ListingRules::listing`] in short.
    #[must_use]
    pub fn lists(&self, cells: u64, known: u64, suits: u64) -> bool {
        known > 0
            && self.known_share.is_reached_by(known, cells)
            && self.list_share.is_reached_by(suits, known)
    }
}

/// [`ListingRules::lists`] for many species of one zone: the same answers in plain
/// numbers, which hold every product exactly.
#[derive(Debug, Clone, Copy)]
pub(super) struct ListedInZone {
    /// Millionths of cells.
    least_known: f64,
    list_share: f64,
}

impl ListedInZone {
    /// For a zone of so many cells, under 2^32.
    #[expect(clippy::cast_precision_loss, reason = "under 2^53")]
    pub(super) fn new(rules: &ListingRules, cells: u64) -> ListedInZone {
        ListedInZone {
            least_known: cells as f64 * f64::from(rules.known_share.millionths()),
            list_share: f64::from(rules.list_share.millionths()),
        }
    }

    /// Whether the species is on the list; counts are under 2^32.
    #[expect(
        clippy::needless_bitwise_bool,
        reason = "no branch may hang on the counts, so that several are asked at once"
    )]
    #[inline(always)]
    pub(super) fn lists(&self, known: f64, suits: f64) -> bool {
        (known > 0.0) & (known * 1e6 >= self.least_known) & (suits * 1e6 >= known * self.list_share)
    }
}

impl Default for ListingRules {
    fn default() -> ListingRules {
        const IN_PARTS: Share = match Share::from_millionths(200_000) {
            Some(share) => share,
            None => Share::NONE,
        };
        const THROUGHOUT: Share = match Share::from_millionths(900_000) {
            Some(share) => share,
            None => Share::WHOLE,
        };
        ListingRules {
            list_share: Share::HALF,
            throughout: THROUGHOUT,
            in_parts: IN_PARTS,
            known_share: Share::HALF,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn limits_belong_to_the_better_word_except_in_parts() {
        let rules = ListingRules::default();
        let words = |suits| rules.listing(10, 10, suits).words();
        assert_eq!(
            [0, 2, 3, 4, 5, 8, 9, 10].map(words),
            [
                "not listed",
                "not listed",
                "in parts",
                "in parts",
                "mostly",
                "mostly",
                "throughout",
                "throughout"
            ]
        );
        assert_eq!(rules.listing(0, 0, 0), Listing::NotKnown);
        let all = ListingRules::with_list_share(Share::NONE);
        assert_eq!(all.listing(5, 0, 0), Listing::NotKnown);
        assert_eq!(all.listing(5, 3, 0), Listing::Mostly);
    }

    proptest! {
        #[test]
        fn lists_is_the_listing_in_short(cells in 0_u64..20, known in 0_u64..20, suits in 0_u64..20, share in 0_u32..=10) {
            let known = known.min(cells);
            let suits = suits.min(known);
            let rules = ListingRules::with_list_share(Share::from_millionths(share * 100_000).unwrap());
            prop_assert_eq!(rules.lists(cells, known, suits), rules.listing(cells, known, suits).is_listed());
        }

        #[test]
        fn plain_numbers_list_the_same(
            cells in 0..=u32::MAX,
            known in 0..=u32::MAX,
            suits in 0..=u32::MAX,
            share in 0_u32..=1_000_000,
            at_the_limit: bool,
        ) {
            let mut rules = ListingRules::with_list_share(Share::from_millionths(share).unwrap());
            let known = known.min(cells);
            let suits = suits.min(known);
            if at_the_limit {
                let millionths = u64::from(suits) * 1_000_000 / u64::from(known.max(1));
                rules.list_share = Share::from_millionths(u32::try_from(millionths).unwrap()).unwrap();
                let millionths = u64::from(known) * 1_000_000 / u64::from(cells.max(1));
                rules.known_share = Share::from_millionths(u32::try_from(millionths).unwrap()).unwrap();
            }
            let fast = ListedInZone::new(&rules, cells.into());
            prop_assert_eq!(fast.lists(known.into(), suits.into()), rules.lists(cells.into(), known.into(), suits.into()));
        }
    }
}
