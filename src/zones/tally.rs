//! Counts, for each zone and species, the cells where it is known and where it
//! suits, as rated, before any vote. Words of cells come in by zone, counts go
//! out; knows neither places nor lists.

use super::cell_sets::CellLayout;

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

    /// Adds, for each species, cells of a zone on which it is known and cells that suit.
    pub fn add_counts(&mut self, zone: u32, known: &[u32], suits: &[u32]) {
        let start = zone as usize * self.species();
        for (sums, counts) in [(&mut self.known, known), (&mut self.suits, suits)] {
            for (sum, &count) in sums[start..].iter_mut().zip(&counts[..self.layout.species()]) {
                *sum += count;
            }
        }
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

#[cfg(test)]
mod tests {
    use super::*;

    impl Tallies {
        /// Adds so many cells that all have the same words, species by species.
        pub(in crate::zones) fn add_cells(&mut self, zone: u32, suits: &[u64], unknown: &[u64], count: u32) {
            let start = zone as usize * self.species();
            for species in 0..self.species() {
                let holds = |set: &[u64]| set[species / 64] >> (species % 64) & 1 == 1;
                if !holds(unknown) {
                    self.known[start + species] += count;
                    self.suits[start + species] += if holds(suits) { count } else { 0 };
                }
            }
        }
    }

    #[test]
    fn counts_add_up_as_cells_do() {
        let layout = CellLayout::new(2);
        let mut by_cells = Tallies::new(layout, 1);
        by_cells.add_cells(1, &[0b01], &[layout.beyond()], 3);
        by_cells.add_cells(1, &[0b10], &[layout.beyond() | 0b01], 4);
        let mut by_counts = Tallies::new(layout, 1);
        by_counts.add_counts(1, &[3, 5], &[3, 4]);
        by_counts.add_counts(1, &[0, 2], &[0, 0]);
        assert_eq!(by_cells, by_counts);
        assert_eq!((by_cells.known(1), by_cells.suits(1)), (&[3, 7][..], &[3, 4][..]));
    }
}
