//! For each zone and species the sum over cells as voted that merging costs are made of:
//! 2 for a cell that suits, 1 for one that is unknown. Kept packed, since in most zones
//! most species are alike in all cells. Knows neither borders nor lists.

use super::packed_book::PackedBook;
use super::species_codes::{CodePacker, OTHER, SpeciesCodes, WORD, codes_of, each_one};

/// The sums of zones; zone `n` at `n - 1`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct VotedSums {
    species: usize,
    book: PackedBook,
}

impl VotedSums {
    /// Sums of no zone yet.
    #[must_use]
    pub fn new(species: usize) -> VotedSums {
        VotedSums {
            species,
            book: PackedBook::default(),
        }
    }

    /// Number of zones.
    #[must_use]
    pub fn len(&self) -> usize {
        self.book.len()
    }

    /// Whether there are no zones.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Adds a zone of so many cells after the last.
    pub(super) fn push(&mut self, packer: &mut CodePacker, cells: u32, sums: &[u32]) {
        self.book.push(pack_sums(packer, cells, sums));
    }

    /// Adds the zones of others after the last.
    pub(super) fn append(&mut self, others: &VotedSums) {
        for at in 0..others.len() {
            self.book.push(others.book.record(at));
        }
    }

    /// The sums of a zone of so many cells.
    #[must_use]
    pub fn sums(&self, at: usize, cells: u32) -> Vec<u32> {
        let mut sums = Vec::new();
        read_sums(self.codes(at), cells, self.species, &mut sums);
        sums
    }

    /// The sums of a zone as they are packed.
    #[inline(always)]
    pub(super) fn codes(&self, at: usize) -> SpeciesCodes<'_> {
        SpeciesCodes::of(self.book.record(at), self.species)
    }
}

/// Packs the sums of a zone of so many cells.
pub(super) fn pack_sums<'p>(packer: &'p mut CodePacker, cells: u32, sums: &[u32]) -> &'p [u8] {
    packer.begin(sums.len());
    for (species, &sum) in sums.iter().enumerate() {
        let code = match sum {
            0 => 0,
            _ if sum == cells => 1,
            _ if Some(sum) == cells.checked_mul(2) => 2,
            _ => OTHER,
        };
        packer.set(species, code);
        if code == OTHER {
            packer.number(sum);
        }
    }
    packer.record()
}

/// Fills in the sums of a zone of so many cells.
pub(super) fn read_sums(mut codes: SpeciesCodes, cells: u32, species: usize, sums: &mut Vec<u32>) {
    sums.clear();
    while sums.len() < species {
        sums.extend(next_sums(&mut codes, cells));
    }
    sums.truncate(species);
}

/// The sums of the next word of species.
#[inline(always)]
pub(super) fn next_sums(codes: &mut SpeciesCodes, cells: u32) -> [u32; WORD] {
    let word = codes.next_word();
    let mut sums = [0; WORD];
    for (sum, code) in sums.iter_mut().zip(codes_of(word)) {
        // Of other sums the product means nothing.
        *sum = u32::from(code).wrapping_mul(cells);
    }
    each_one(word[0] & word[1], |species| sums[species] = codes.next_number());
    sums
}

/// The means of the next word of species, 0 to 1; one in a sum adds `half_a_cell` to a mean.
#[expect(
    clippy::cast_precision_loss,
    reason = "what a near cost may be off is in its price"
)]
#[inline(always)]
pub(super) fn next_means(codes: &mut SpeciesCodes, half_a_cell: f32) -> [f32; WORD] {
    let word = codes.next_word();
    let mut means = [0.0; WORD];
    for (mean, code) in means.iter_mut().zip(codes_of(word)) {
        *mean = f32::from(code) * 0.5;
    }
    each_one(word[0] & word[1], |species| {
        means[species] = codes.next_number() as f32 * half_a_cell;
    });
    means
}

#[cfg(test)]
mod tests {
    #![allow(clippy::cast_precision_loss, reason = "means are compared to within rounding")]

    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn sums_come_out_as_they_went_in(
            cells in prop_oneof![1_u32..10, 1_u32..=u32::MAX / 2],
            parts in prop::collection::vec((0_u8..4, any::<u32>()), 0..150),
        ) {
            let sums: Vec<u32> = parts
                .iter()
                .map(|&(kind, any)| match kind {
                    3 => any % (2 * cells + 1),
                    kind => u32::from(kind) * cells,
                })
                .collect();
            let mut packed = VotedSums::new(sums.len());
            let mut packer = CodePacker::default();
            packed.push(&mut packer, cells, &sums);
            packed.push(&mut packer, 5, &vec![5; sums.len()]);
            let mut again = VotedSums::new(sums.len());
            again.append(&packed);
            prop_assert_eq!(&packed, &again);
            prop_assert_eq!(&packed.sums(0, cells), &sums);
            prop_assert_eq!(packed.sums(1, 5), vec![5; sums.len()]);
            let half_a_cell = 0.5 / cells as f32;
            let mut codes = packed.codes(0);
            for of_word in sums.chunks(WORD) {
                let means = next_means(&mut codes, half_a_cell);
                for (species, mean) in means.iter().enumerate() {
                    let sum = of_word.get(species).copied().unwrap_or(0);
                    let exact = f64::from(sum) / (2.0 * f64::from(cells));
                    prop_assert!((f64::from(*mean) - exact).abs() <= 3.0 / 16_777_216.0);
                }
            }
        }
    }
}
