//! Counts, for each zone and species, the cells where it is known and where it
//! suits, as rated, before any vote. Counts of zones come in and go out; they are kept
//! packed, since most species are known in all cells of a zone or in none, and suit in
//! all or in none. Knows neither places nor lists.

use super::cell_sets::CellLayout;
use super::packed_book::PackedBook;
use super::species_codes::{CodePacker, OTHER, SpeciesCodes, WORD, codes_of, each_one};

/// Counts of cells for each zone and species. Zones count from 1; 0 stands for
/// rated cells that are in no zone.
///
/// Tallies of parts of a site add up to those of the whole, in any order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tallies {
    layout: CellLayout,
    book: PackedBook,
}

/// For each species of one zone, cells by what is known of them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SpeciesCells {
    /// Cells in which it is known.
    pub known: Vec<u32>,
    /// Cells in which it is known and suits.
    pub suits: Vec<u32>,
}

/// The counts of one zone, or of a part of it, packed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PackedTally(Box<[u8]>);

impl Tallies {
    /// Tallies of `zones` zones without cells.
    #[must_use]
    pub fn new(layout: CellLayout, zones: usize) -> Tallies {
        Tallies {
            layout,
            book: PackedBook::new(zones + 1),
        }
    }

    /// Number of zones.
    #[must_use]
    pub fn zones(&self) -> usize {
        self.book.len() - 1
    }

    /// Number of species.
    #[must_use]
    pub fn species(&self) -> usize {
        self.layout.species()
    }

    /// Adds the counts of a part of a zone.
    pub fn add(&mut self, zone: u32, part: &PackedTally) {
        let zone = zone as usize;
        if self.book.record(zone).is_empty() {
            self.book.set(zone, &part.0);
            return;
        }
        let mut sum = SpeciesCells::none(self.species());
        sum.add(SpeciesCodes::of(self.book.record(zone), self.species()));
        sum.add(SpeciesCodes::of(&part.0, self.species()));
        self.book.set(zone, &PackedTally::pack(&sum.known, &sum.suits).0);
    }

    /// The counts of a zone.
    #[must_use]
    pub fn counts(&self, zone: u32) -> SpeciesCells {
        let mut counts = SpeciesCells::default();
        self.read(zone, &mut counts);
        counts
    }

    /// Fills in the counts of a zone.
    pub fn read(&self, zone: u32, counts: &mut SpeciesCells) {
        self.read_all(&[zone], counts);
    }

    /// Fills in the counts of some zones together.
    pub fn read_all(&self, zones: &[u32], counts: &mut SpeciesCells) {
        counts.clear(self.species());
        for &zone in zones {
            counts.add(self.codes(zone));
        }
    }

    /// The counts of a zone as they are packed.
    #[inline(always)]
    pub(super) fn codes(&self, zone: u32) -> SpeciesCodes<'_> {
        SpeciesCodes::of(self.book.record(zone as usize), self.species())
    }

    /// Adds the counts of one zone to another.
    pub(super) fn pour(&mut self, into: u32, from: u32) {
        let part = PackedTally(self.book.record(from as usize).into());
        self.add(into, &part);
    }

    /// Cells of the whole site in which each species suits, with those in no zone.
    #[must_use]
    pub fn suits_anywhere(&self) -> Vec<u64> {
        let mut sums = vec![0; self.species()];
        let mut counts = SpeciesCells::default();
        for zone in (0..).take(self.book.len()) {
            self.read(zone, &mut counts);
            for (sum, &count) in sums.iter_mut().zip(&counts.suits) {
                *sum += u64::from(count);
            }
        }
        sums
    }
}

impl PackedTally {
    /// Packs the counts of a zone: for each species the cells in which it is known, and
    /// those that suit.
    #[must_use]
    pub fn pack(known: &[u32], suits: &[u32]) -> PackedTally {
        PackedTally(pack_tally(&mut CodePacker::default(), known, suits).into())
    }
}

impl SpeciesCells {
    fn none(species: usize) -> SpeciesCells {
        let mut counts = SpeciesCells::default();
        counts.clear(species);
        counts
    }

    /// No cell of so many species.
    pub(super) fn clear(&mut self, species: usize) {
        for counts in [&mut self.known, &mut self.suits] {
            counts.clear();
            counts.resize(species, 0);
        }
    }

    /// Adds packed counts.
    pub(super) fn add(&mut self, mut codes: SpeciesCodes) {
        let most = codes.next_number();
        for (known, suits) in self.known.chunks_mut(WORD).zip(self.suits.chunks_mut(WORD)) {
            let [more_known, more_suits] = next_counts(&mut codes, most);
            for (sum, more) in known.iter_mut().zip(more_known) {
                *sum = sum.saturating_add(more);
            }
            for (sum, more) in suits.iter_mut().zip(more_suits) {
                *sum = sum.saturating_add(more);
            }
        }
    }
}

/// Packs counts: the first number is the most known of any species; where it is not that or
/// nothing that is known, or neither that nor nothing that suits, both counts follow.
pub(super) fn pack_tally<'p>(packer: &'p mut CodePacker, known: &[u32], suits: &[u32]) -> &'p [u8] {
    let most = known.iter().copied().max().unwrap_or(0);
    if most == 0 {
        return &[];
    }
    packer.begin(known.len());
    packer.number(most);
    for (species, (&known, &suits)) in known.iter().zip(suits).enumerate() {
        let code = match (known, suits) {
            (0, 0) => 0,
            (_, 0) if known == most => 1,
            _ if known == most && suits == most => 2,
            _ => OTHER,
        };
        packer.set(species, code);
        if code == OTHER {
            packer.number(known);
            packer.number(suits);
        }
    }
    packer.record()
}

/// Known and suiting cells of the next word of species; `most` is the number before all
/// others.
#[inline(always)]
pub(super) fn next_counts(codes: &mut SpeciesCodes, most: u32) -> [[u32; WORD]; 2] {
    let word = codes.next_word();
    let (mut known, mut suits) = ([0; WORD], [0; WORD]);
    for (species, code) in codes_of(word).into_iter().enumerate() {
        known[species] = if code == 0 { 0 } else { most };
        suits[species] = if code == 2 { most } else { 0 };
    }
    each_one(word[0] & word[1], |species| {
        known[species] = codes.next_number();
        suits[species] = codes.next_number();
    });
    [known, suits]
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    impl Tallies {
        /// The tallies of what zones become: zone `z` goes to `to[z]`, 0 to 0.
        pub(in crate::zones) fn regrouped(&self, to: &[u32], zones: usize) -> Tallies {
            let mut merged = Tallies::new(self.layout, zones);
            for (zone, &into) in (0..).zip(to) {
                let counts = self.counts(zone);
                merged.add(into, &PackedTally::pack(&counts.known, &counts.suits));
            }
            merged
        }

        /// Adds so many cells that all have the same words, species by species.
        pub(in crate::zones) fn add_cells(&mut self, zone: u32, suits: &[u64], unknown: &[u64], count: u32) {
            let holds = |set: &[u64], species: usize| set[species / 64] >> (species % 64) & 1 == 1;
            let counted = |is: bool| if is { count } else { 0 };
            let species = 0..self.species();
            let known: Vec<u32> = species.clone().map(|at| counted(!holds(unknown, at))).collect();
            let suits: Vec<u32> = species
                .map(|at| counted(!holds(unknown, at) && holds(suits, at)))
                .collect();
            self.add(zone, &PackedTally::pack(&known, &suits));
        }
    }

    #[test]
    fn counts_add_up_as_cells_do() {
        let layout = CellLayout::new(2);
        let mut by_cells = Tallies::new(layout, 1);
        by_cells.add_cells(1, &[0b01], &[layout.beyond()], 3);
        by_cells.add_cells(1, &[0b10], &[layout.beyond() | 0b01], 4);
        let mut by_counts = Tallies::new(layout, 1);
        by_counts.add(1, &PackedTally::pack(&[3, 5], &[3, 4]));
        by_counts.add(1, &PackedTally::pack(&[0, 2], &[0, 0]));
        assert_eq!(by_cells, by_counts);
        let SpeciesCells { known, suits } = by_cells.counts(1);
        assert_eq!((known, suits), (vec![3, 7], vec![3, 4]));
    }

    /// Counts of 70 species that are mostly known and suit in all cells or in none.
    fn part() -> impl Strategy<Value = (Vec<u32>, Vec<u32>)> {
        let most = prop_oneof![0_u32..4, 0_u32..1_000_000];
        most.prop_flat_map(|most| {
            let known = prop_oneof![Just(0), Just(most), 0..=most];
            let pair =
                known.prop_flat_map(|known| (Just(known), prop_oneof![Just(0), Just(known), 0..=known]));
            prop::collection::vec(pair, 70).prop_map(|pairs| pairs.into_iter().unzip())
        })
    }

    proptest! {
        #[test]
        fn packed_tallies_are_plain_sums(
            parts in prop::collection::vec((0_u32..6, part()), 0..30),
            to in prop::collection::vec(1_u32..4, 5),
        ) {
            let mut plain = vec![SpeciesCells::none(70); 6];
            let mut tallies = Tallies::new(CellLayout::new(70), 5);
            for (zone, (known, suits)) in &parts {
                tallies.add(*zone, &PackedTally::pack(known, suits));
                let sum = &mut plain[*zone as usize];
                for species in 0..70 {
                    sum.known[species] += known[species];
                    sum.suits[species] += suits[species];
                }
            }
            for (zone, counts) in (0..).zip(&plain) {
                prop_assert_eq!(&tallies.counts(zone), counts);
            }
            let to: Vec<u32> = std::iter::once(0).chain(to).collect();
            for group in 0..4 {
                let members: Vec<u32> = (0..).zip(&to).filter(|(_, to)| **to == group).map(|(zone, _)| zone).collect();
                let mut sum = SpeciesCells::none(70);
                for &member in &members {
                    for species in 0..70 {
                        sum.known[species] += plain[member as usize].known[species];
                        sum.suits[species] += plain[member as usize].suits[species];
                    }
                }
                let mut together = SpeciesCells::default();
                tallies.read_all(&members, &mut together);
                prop_assert_eq!(together, sum);
            }
            let anywhere: Vec<u64> = (0..70)
                .map(|species| plain.iter().map(|counts| u64::from(counts.suits[species])).sum())
                .collect();
            prop_assert_eq!(tallies.suits_anywhere(), anywhere);
        }
    }
}
