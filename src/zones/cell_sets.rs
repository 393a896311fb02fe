//! How the species of a cell lie in machine words: which suit, which are unknown.
//! Words of any number of cells come in, words go out; knows neither the species
//! nor the factors behind a bit.

/// The layout of a cell's words: first the words of the species that suit, then
/// the words of those unknown; bit `i` of either is species `i`.
///
/// Bits beyond the last species are 0 in `suits` and 1 in `unknown`. A species
/// that is unknown does not suit. A cell is not rated when all are unknown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CellLayout {
    species: usize,
    words: usize,
}

impl CellLayout {
    /// The layout for so many species.
    ///
    /// # Examples
    /// ```
    /// use groundfit::zones::CellLayout;
    /// let layout = CellLayout::new(60);
    /// assert_eq!(layout.words(), 1);
    /// assert_eq!(layout.cell_words(), 2);
    /// assert!(!layout.is_rated(&layout.not_rated()));
    /// ```
    #[must_use]
    pub fn new(species: usize) -> CellLayout {
        CellLayout {
            species,
            words: species.div_ceil(64).max(1),
        }
    }

    /// Number of species.
    #[must_use]
    pub fn species(self) -> usize {
        self.species
    }

    /// Words that hold one bit a species: at least one.
    #[must_use]
    pub fn words(self) -> usize {
        self.words
    }

    /// Words of one cell: twice [`CellLayout::words`].
    #[must_use]
    pub fn cell_words(self) -> usize {
        2 * self.words
    }

    /// The bits of the last word that stand for no species.
    #[must_use]
    pub fn beyond(self) -> u64 {
        match self.species {
            0 => !0,
            species if species % 64 == 0 => 0,
            species => !0 << (species % 64),
        }
    }

    /// The words of a cell that is not rated.
    #[must_use]
    pub fn not_rated(self) -> Vec<u64> {
        let mut cell = vec![0; self.words];
        cell.resize(self.cell_words(), !0);
        cell
    }

    /// Whether at least one species is known in the cell.
    #[must_use]
    pub fn is_rated(self, cell: &[u64]) -> bool {
        cell[self.words..].iter().any(|&unknown| unknown != !0)
    }

    /// Mends a cell so that what is unknown does not suit and bits beyond the
    /// last species are unknown.
    pub fn mend(self, cell: &mut [u64]) {
        cell[2 * self.words - 1] |= self.beyond();
        for word in 0..self.words {
            cell[word] &= !cell[self.words + word];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_grow_with_the_species() {
        for (species, words, beyond) in [
            (0, 1, !0),
            (1, 1, !1),
            (63, 1, 1 << 63),
            (64, 1, 0),
            (65, 2, !1),
            (130, 3, !0 << 2),
        ] {
            let layout = CellLayout::new(species);
            assert_eq!(
                (layout.words(), layout.beyond()),
                (words, beyond),
                "{species} species"
            );
        }
    }

    #[test]
    fn a_mended_cell_keeps_the_rules_of_the_layout() {
        let layout = CellLayout::new(3);
        let mut cell = [!0, 0b010];
        layout.mend(&mut cell);
        assert_eq!(cell, [0b101, !0b101]);
        let mut nothing = [0b111, 0b111];
        layout.mend(&mut nothing);
        assert!(!layout.is_rated(&nothing));
    }
}
