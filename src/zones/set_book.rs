//! The distinct sets of species a site has, each with a number. Words of a cell
//! come in, the number of its set goes out; knows neither place nor area.

use super::cell_sets::CellLayout;
use super::runs::narrow;

/// The number of a set in a [`SetBook`]; 0 is the set of cells not rated.
pub type SetId = u32;

const FREE: u32 = u32::MAX;

/// Every distinct pair of words (suits, unknown), numbered in the order in which
/// they came.
#[derive(Debug, Clone)]
pub struct SetBook {
    layout: CellLayout,
    sets: Vec<u64>,
    /// Open addressing: the number of a set, or free. Never more than half full.
    table: Vec<u32>,
}

impl SetBook {
    /// A book that holds the set of cells not rated.
    #[must_use]
    pub fn new(layout: CellLayout) -> SetBook {
        let mut book = SetBook {
            layout,
            sets: Vec::new(),
            table: vec![FREE; 1024],
        };
        book.intern(&layout.not_rated());
        book
    }

    /// The layout of the words.
    #[must_use]
    pub fn layout(&self) -> CellLayout {
        self.layout
    }

    /// Number of sets, with that of cells not rated.
    #[must_use]
    pub fn len(&self) -> usize {
        self.sets.len() / self.layout.cell_words()
    }

    /// Whether no rated cell has come.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() <= 1
    }

    /// The words of a set: those that suit, then those unknown.
    #[must_use]
    pub fn words(&self, set: SetId) -> &[u64] {
        let length = self.layout.cell_words();
        &self.sets[set as usize * length..(set as usize + 1) * length]
    }

    /// The words of the species that suit.
    #[must_use]
    pub fn suits(&self, set: SetId) -> &[u64] {
        &self.words(set)[..self.layout.words()]
    }

    /// The words of the species that are unknown.
    #[must_use]
    pub fn unknown(&self, set: SetId) -> &[u64] {
        &self.words(set)[self.layout.words()..]
    }

    /// The number of a set, or nothing when it has not come yet.
    #[must_use]
    pub fn find(&self, words: &[u64]) -> Option<SetId> {
        let set = self.table[self.place_of(words)];
        (set != FREE).then_some(set)
    }

    /// The number of a set, a new one when it has not come yet.
    pub fn intern(&mut self, words: &[u64]) -> SetId {
        let place = self.place_of(words);
        if self.table[place] != FREE {
            return self.table[place];
        }
        let set = narrow(self.len());
        self.sets.extend_from_slice(words);
        self.table[place] = set;
        if self.len() * 2 > self.table.len() {
            self.table = vec![FREE; self.table.len() * 2];
            for set in 0..narrow(self.len()) {
                let place = self.place_of(self.words(set));
                self.table[place] = set;
            }
        }
        set
    }

    /// Where the set stands in the table, or the free place where it belongs.
    fn place_of(&self, words: &[u64]) -> usize {
        let mask = self.table.len() - 1;
        let mut place = hash(words) & mask;
        while self.table[place] != FREE && self.words(self.table[place]) != words {
            place = (place + 1) & mask;
        }
        place
    }
}

#[expect(clippy::cast_possible_truncation, reason = "any bits of a hash will do")]
fn hash(words: &[u64]) -> usize {
    let mut hash = 0_u64;
    for word in words {
        hash = (hash.rotate_left(29) ^ word).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        hash ^= hash >> 32;
    }
    hash as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets_are_numbered_as_they_come_and_found_again() {
        let layout = CellLayout::new(130);
        let mut book = SetBook::new(layout);
        assert_eq!(book.intern(&layout.not_rated()), 0);
        let set = |number: u64| [number, 0, number >> 3, 0, 0, layout.beyond()];
        for number in 0..5000 {
            assert_eq!(book.find(&set(number)), None);
            assert_eq!(u64::from(book.intern(&set(number))), number + 1);
        }
        for number in 0..5000 {
            assert_eq!(u64::from(book.intern(&set(number))), number + 1);
        }
        assert_eq!(book.len(), 5001);
        assert_eq!(book.suits(8), [7, 0, 0]);
    }
}
