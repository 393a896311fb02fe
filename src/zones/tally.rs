//! Counts, for each zone and species, the cells where it is known and where it
//! suits, as rated, before any vote. Words of cells come in by zone, counts go
//! out; knows neither places nor lists.

use super::cell_sets::CellLayout;
use super::error::ZonesError;

/// Counts of cells for each zone and species. Zones count from 1; 0 stands for
/// rated cells that are in no zone.
///
/// Tallies of parts of a site add up to those of the whole, in any order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tallies {
    layout: CellLayout,
    zones: usize,
    known: Vec<u32>,
    suits: Vec<u32>,
}

impl Tallies {
    /// Tallies of `zones` zones without cells.
    #[must_use]
    pub fn new(layout: CellLayout, zones: usize) -> Tallies {
        let counts = vec![0; (zones + 1) * layout.species()];
        Tallies {
            layout,
            zones,
            known: counts.clone(),
            suits: counts,
        }
    }

    /// Number of zones.
    #[must_use]
    pub fn zones(&self) -> usize {
        self.zones
    }

    /// Number of species.
    #[must_use]
    pub fn species(&self) -> usize {
        self.layout.species()
    }

    /// Adds so many cells that all have the same words.
    pub fn add_cells(&mut self, zone: u32, suits: &[u64], unknown: &[u64], count: u32) {
        let start = zone as usize * self.species();
        for (word, (&suits, &unknown)) in suits.iter().zip(unknown).enumerate() {
            let known = !unknown & self.mask(word);
            add_where(&mut self.known[start + word * 64..], known, count);
            add_where(&mut self.suits[start + word * 64..], suits & known, count);
        }
    }

    /// Adds a run of cells, each with its own words, as they lie in a row.
    ///
    /// # Method
    /// Vertical counters: digit `k` of 64 counts stands in one word, so a cell
    /// costs a few additions whatever the number of species.
    pub fn add_run(&mut self, zone: u32, cells: &[u64]) {
        const DIGITS: usize = 16;
        let (words, length) = (self.layout.words(), self.layout.cell_words());
        let start = zone as usize * self.species();
        for cells in cells.chunks(length * ((1 << DIGITS) - 1)) {
            for word in 0..words {
                let mask = self.mask(word);
                let (mut known, mut suits) = ([0; DIGITS], [0; DIGITS]);
                for cell in cells.chunks_exact(length) {
                    let is_known = !cell[words + word] & mask;
                    count_in(&mut known, is_known);
                    count_in(&mut suits, cell[word] & is_known);
                }
                for digit in 0..DIGITS {
                    add_where(&mut self.known[start + word * 64..], known[digit], 1 << digit);
                    add_where(&mut self.suits[start + word * 64..], suits[digit], 1 << digit);
                }
            }
        }
    }

    fn mask(&self, word: usize) -> u64 {
        if word + 1 == self.layout.words() {
            !self.layout.beyond()
        } else {
            !0
        }
    }

    /// Adds the counts of another part of the site.
    ///
    /// # Errors
    /// When the other is for another number of zones or species.
    pub fn add(&mut self, other: &Tallies) -> Result<(), ZonesError> {
        for (what, found, needed) in [
            ("zones", other.zones, self.zones),
            ("species", other.species(), self.species()),
        ] {
            if found != needed {
                return Err(ZonesError::SizesDiffer { what, found, needed });
            }
        }
        for (sum, more) in self.known.iter_mut().zip(&other.known) {
            *sum += more;
        }
        for (sum, more) in self.suits.iter_mut().zip(&other.suits) {
            *sum += more;
        }
        Ok(())
    }

    /// Cells of a zone in which each species is known.
    #[must_use]
    pub fn known(&self, zone: u32) -> &[u32] {
        &self.known[zone as usize * self.species()..(zone as usize + 1) * self.species()]
    }

    /// Cells of a zone in which each species is known and suits.
    #[must_use]
    pub fn suits(&self, zone: u32) -> &[u32] {
        &self.suits[zone as usize * self.species()..(zone as usize + 1) * self.species()]
    }

    /// The counts of a zone of a stored table.
    pub(super) fn set(&mut self, zone: u32, known: &[u32], suits: &[u32]) {
        let range = zone as usize * self.species()..(zone as usize + 1) * self.species();
        self.known[range.clone()].copy_from_slice(known);
        self.suits[range].copy_from_slice(suits);
    }

    /// Adds the counts of one zone to a lower one.
    pub(super) fn pour(&mut self, into: u32, from: u32) {
        let (into, from) = (into as usize * self.species(), from as usize * self.species());
        for counts in [&mut self.known, &mut self.suits] {
            for species in 0..self.layout.species() {
                counts[into + species] = counts[into + species].saturating_add(counts[from + species]);
            }
        }
    }

    /// The tallies of what zones become: zone `z` goes to `to[z]`, 0 to 0.
    #[must_use]
    pub fn regrouped(&self, to: &[u32], zones: usize) -> Tallies {
        let mut merged = Tallies::new(self.layout, zones);
        let species = self.species();
        for (zone, &into) in to.iter().enumerate().take(self.zones + 1) {
            for at in 0..species {
                merged.known[into as usize * species + at] += self.known[zone * species + at];
                merged.suits[into as usize * species + at] += self.suits[zone * species + at];
            }
        }
        merged
    }

    /// Cells of the whole site in which each species suits, with those in no zone.
    #[must_use]
    pub fn suits_anywhere(&self) -> Vec<u64> {
        let mut sums = vec![0; self.species()];
        for zone in self.suits.chunks_exact(self.species().max(1)) {
            for (sum, &count) in sums.iter_mut().zip(zone) {
                *sum += u64::from(count);
            }
        }
        sums
    }
}

/// Adds a count at every place whose bit is set.
fn add_where(counts: &mut [u32], mut bits: u64, count: u32) {
    while bits != 0 {
        counts[bits.trailing_zeros() as usize] += count;
        bits &= bits - 1;
    }
}

/// Adds one to each count whose bit is set.
fn count_in(digits: &mut [u64], mut carry: u64) {
    for digit in digits {
        if carry == 0 {
            return;
        }
        let next = *digit & carry;
        *digit ^= carry;
        carry = next;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_run_counts_as_its_cells_do(
            species in 0_usize..140,
            cells in prop::collection::vec(any::<[u64; 6]>(), 0..40),
            cut in 0_usize..40,
        ) {
            let layout = CellLayout::new(species);
            let cells: Vec<Vec<u64>> = cells.iter().map(|cell| cell[..layout.cell_words()].to_vec()).collect();
            let mut by_cells = Tallies::new(layout, 2);
            for cell in &cells {
                by_cells.add_cells(2, &cell[..layout.words()], &cell[layout.words()..], 1);
            }
            let cut = cut.min(cells.len());
            let mut by_runs = Tallies::new(layout, 2);
            by_runs.add_run(2, &cells[cut..].concat());
            let mut rest = Tallies::new(layout, 2);
            rest.add_run(2, &cells[..cut].concat());
            by_runs.add(&rest).unwrap();
            prop_assert_eq!(&by_cells, &by_runs);
            for at in 0..species {
                let (word, bit) = (at / 64, at % 64);
                let known = |cell: &&Vec<u64>| cell[layout.words() + word] >> bit & 1 == 0;
                prop_assert_eq!(by_runs.known(2)[at] as usize, cells.iter().filter(known).count());
                let suits = cells.iter().filter(known).filter(|cell| cell[word] >> bit & 1 == 1);
                prop_assert_eq!(by_runs.suits(2)[at] as usize, suits.count());
            }
        }
    }

    #[test]
    fn a_long_run_does_not_overflow_its_counters() {
        let layout = CellLayout::new(2);
        let mut tallies = Tallies::new(layout, 1);
        tallies.add_run(1, &[0b01, layout.beyond()].repeat(200_000));
        assert_eq!(tallies.known(1), [200_000, 200_000]);
        assert_eq!(tallies.suits(1), [200_000, 0]);
    }

    #[test]
    fn tallies_of_another_size_are_refused() {
        let mut tallies = Tallies::new(CellLayout::new(2), 1);
        assert!(tallies.add(&Tallies::new(CellLayout::new(2), 2)).is_err());
        assert!(tallies.add(&Tallies::new(CellLayout::new(3), 1)).is_err());
    }
}
