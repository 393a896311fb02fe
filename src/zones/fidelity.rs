//! How true lists are to the cells they stand for. Tallies and lists come in, a
//! similarity goes out. It is truth to the layers, not to the field: it does not
//! know whether the layers are right.

use rayon::prelude::*;
use serde::Serialize;

use super::listing::ListingRules;
use super::runs::narrow;
use super::share::Share;
use super::tally::{SpeciesCells, Tallies};

/// The similarity between the lists of zones and their known cells as rated, in
/// cells over all species.
///
/// # Method
/// Sorensen, A method of establishing groups of equal amplitude in plant sociology
/// based on similarity of species content, 1948: `2 TP / (2 TP + FP + FN)`, with
/// `TP` cells that suit a listed species, `FP` cells that do not, `FN` cells that
/// suit one not listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Fidelity {
    /// Cells that suit a listed species (TP).
    pub listed_and_suits: u64,
    /// Cells known for a listed species (TP + FP).
    pub listed_and_known: u64,
    /// Cells that suit a species, listed or not (TP + FN).
    pub suits: u64,
}

impl Fidelity {
    /// The fidelity of lists made from the tallies themselves; cells in no zone
    /// count as not listed. `cells[z - 1]` is the number of cells of zone `z`.
    #[must_use]
    pub fn of(tallies: &Tallies, cells: &[u64], rules: &ListingRules) -> Fidelity {
        let mut whole = Fidelity {
            suits: tallies.counts(0).suits.iter().map(|&n| u64::from(n)).sum(),
            ..Fidelity::default()
        };
        let zones = cells.par_iter().enumerate();
        let of_zones = zones.map_init(SpeciesCells::default, |counts, (at, &cells)| {
            tallies.read(narrow(at + 1), counts);
            Fidelity::of_zone(cells, counts, rules)
        });
        // Whole numbers add up alike in any order.
        whole.add(of_zones.reduce(Fidelity::default, |mut one, other| {
            one.add(other);
            one
        }));
        whole
    }

    /// The fidelity of one zone with its own list.
    pub(super) fn of_zone(cells: u64, counts: &SpeciesCells, rules: &ListingRules) -> Fidelity {
        let mut zone = Fidelity::default();
        for (&known, &suits) in counts.known.iter().zip(&counts.suits) {
            zone.count(
                u64::from(known),
                u64::from(suits),
                rules.lists(cells, known.into(), suits.into()),
            );
        }
        zone
    }

    /// Counts the cells of one species in one zone.
    pub(super) fn count(&mut self, known: u64, suits: u64, is_listed: bool) {
        self.suits += suits;
        if is_listed {
            self.listed_and_suits += suits;
            self.listed_and_known += known;
        }
    }

    /// Adds another part of the site.
    pub fn add(&mut self, other: Fidelity) {
        self.listed_and_suits += other.listed_and_suits;
        self.listed_and_known += other.listed_and_known;
        self.suits += other.suits;
    }

    /// Takes away a part that was added.
    pub(super) fn take(&mut self, other: Fidelity) {
        self.listed_and_suits -= other.listed_and_suits;
        self.listed_and_known -= other.listed_and_known;
        self.suits -= other.suits;
    }

    /// The similarity, 0 to 1; 1 where nothing suits and nothing is listed.
    #[must_use]
    pub fn get(&self) -> f64 {
        ratio(2 * self.listed_and_suits, self.listed_and_known + self.suits)
    }

    /// Whether the similarity is `target` or more, exactly.
    #[must_use]
    pub fn reaches(&self, target: Share) -> bool {
        target.is_reached_by(2 * self.listed_and_suits, self.listed_and_known + self.suits)
    }

    /// Share of the suitable area that is found by the lists, 0 to 1; 1 when there
    /// is none.
    #[must_use]
    pub fn found_share(&self) -> f64 {
        ratio(self.listed_and_suits, self.suits)
    }

    /// Share of the listed area that is right, 0 to 1; 1 when there is none.
    #[must_use]
    pub fn right_share(&self) -> f64 {
        ratio(self.listed_and_suits, self.listed_and_known)
    }
}

#[expect(
    clippy::cast_precision_loss,
    reason = "a share for people; limits are compared in whole numbers"
)]
fn ratio(part: u64, whole: u64) -> f64 {
    if whole == 0 {
        1.0
    } else {
        part as f64 / whole as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::zones::CellLayout;

    #[test]
    fn a_worked_example_with_two_zones() {
        let layout = CellLayout::new(2);
        let unknown = layout.beyond();
        let mut tallies = Tallies::new(layout, 2);
        // Zone 1: the first species suits in 3 of 4 cells, the second in 1 of 4.
        tallies.add_cells(1, &[0b01], &[unknown], 3);
        tallies.add_cells(1, &[0b10], &[unknown], 1);
        // Zone 2: the first suits in 1 of 6, the second is unknown.
        tallies.add_cells(2, &[0b01], &[unknown | 0b10], 1);
        tallies.add_cells(2, &[0b00], &[unknown | 0b10], 5);
        let fidelity = Fidelity::of(&tallies, &[4, 6], &ListingRules::default());
        assert_eq!(
            fidelity,
            Fidelity {
                listed_and_suits: 3,
                listed_and_known: 4,
                suits: 5
            }
        );
        assert_eq!(fidelity.get(), 6.0 / 9.0);
        assert_eq!((fidelity.found_share(), fidelity.right_share()), (0.6, 0.75));
        assert!(fidelity.reaches(Share::new(0.666_666).unwrap()));
        assert!(!fidelity.reaches(Share::new(0.666_667).unwrap()));
    }

    #[test]
    fn cells_in_no_zone_lower_the_fidelity() {
        let layout = CellLayout::new(1);
        let mut tallies = Tallies::new(layout, 1);
        tallies.add_cells(1, &[1], &[layout.beyond()], 1);
        tallies.add_cells(0, &[1], &[layout.beyond()], 1);
        assert_eq!(
            Fidelity::of(&tallies, &[1], &ListingRules::default()).get(),
            2.0 / 3.0
        );
    }

    #[test]
    fn nothing_listed_where_nothing_suits_is_true() {
        assert_eq!(Fidelity::default().get(), 1.0);
        assert!(Fidelity::default().reaches(Share::WHOLE));
    }
}
