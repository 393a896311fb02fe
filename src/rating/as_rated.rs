//! Rows of cells rated for counting: sets of species by all factors together, ratings
//! as bytes, and numbers for the ground.

use pulp::{Arch, NullaryFnOnce};

use super::cells::{CellRater, WORD, gather};
use super::rating::Heard;
use super::table::{NO_SCORE, Said, place};
use crate::project::Rule;
use crate::score::Score;

/// A row of cells as rated. Sets and bytes hold the first word of species of all cells,
/// then the second, and so on.
#[derive(Debug, Default)]
pub struct AsRated {
    /// Number of cells.
    pub cols: usize,
    /// Species that are known: they suit or do not.
    pub known: Vec<u64>,
    /// Species that suit, all of them known.
    pub suits: Vec<u64>,
    /// The rating byte of each species of a word; it counts only where the species is
    /// known.
    pub bytes: Vec<[u8; WORD]>,
    /// For each question a number for what it finds: cells with one number are alike to
    /// every species, class by class.
    pub ground: Vec<Vec<u64>>,
    between: Between,
}

/// What is only needed on the way, kept for the next row.
#[derive(Debug, Default)]
struct Between {
    said: Vec<Said>,
    fine: Vec<Vec<u64>>,
    memo_of_sets: Vec<Said>,
    memo_of_bytes: Vec<Vec<u8>>,
}

impl CellRater<'_> {
    /// Rates a row of cells into `row`, whatever it held; `values` gives one slice a
    /// factor, all of one length.
    pub fn rate_whole(&self, values: &[&[f32]], cols: usize, row: &mut AsRated) {
        row.ready(cols, self.words(), self.tables.len());
        self.number_ground(values, row);
        if self.settings.rule == Rule::Limiting {
            self.whole_by_factor(row);
        } else {
            self.whole_by_species(values, row);
        }
    }

    fn number_ground(&self, values: &[&[f32]], row: &mut AsRated) {
        let numbers = row.ground.iter_mut().zip(&mut row.between.fine);
        for (table, (coarse, fine)) in self.tables.iter().zip(numbers) {
            table.fine.number(values, fine, coarse);
        }
    }

    fn whole_by_factor(&self, row: &mut AsRated) {
        let (cols, words) = (row.cols, self.words());
        let Between {
            said,
            fine,
            memo_of_sets,
            memo_of_bytes,
        } = &mut row.between;
        let mut coarse = Vec::new();
        for (table, numbers) in self.tables.iter().zip(&row.ground) {
            coarse.clone_from(numbers);
            let entries = table.sets(self, &mut coarse, memo_of_sets);
            for (word, said) in said.chunks_exact_mut(cols.max(1)).enumerate() {
                for (all, &number) in said.iter_mut().zip(&coarse) {
                    let one = &entries[place(number) * words + word];
                    all.below |= one.below;
                    all.unknown |= one.unknown;
                    all.scored |= one.scored;
                }
            }
        }
        for (at, said) in said.iter().enumerate() {
            let silent = !said.scored | self.padding(at / cols.max(1));
            let unknown = (said.unknown | silent) & !said.below;
            row.known[at] = !unknown;
            row.suits[at] = !(unknown | said.below);
        }
        let tables = self.tables.iter().zip(fine).zip(memo_of_bytes);
        let questions: Vec<Bytes> = tables
            .map(|((table, numbers), memo)| Bytes {
                entries: table.bytes(self, numbers, memo).as_chunks().0,
                numbers,
            })
            .collect();
        for (word, lowest) in row.bytes.chunks_exact_mut(cols.max(1)).enumerate() {
            Arch::new().dispatch(LowestBytes {
                questions: &questions,
                word,
                words,
                lowest,
            });
        }
    }

    fn whole_by_species(&self, values: &[&[f32]], row: &mut AsRated) {
        let mut cell = vec![f32::NAN; values.len()];
        let mut heard = Heard::default();
        for col in 0..row.cols {
            gather(values, col, &mut cell);
            for species in 0..self.questions.species_count() {
                let (at, bit) = (species / WORD * row.cols + col, 1u64 << (species % WORD));
                let Some(rating) = heard.rating(self.questions, &self.settings, species, &cell) else {
                    continue;
                };
                row.known[at] |= bit;
                if rating >= self.settings.wanted() {
                    row.suits[at] |= bit;
                }
                row.bytes[at][species % WORD] = Score::clamped(rating).to_byte();
            }
        }
    }
}

impl AsRated {
    /// Makes room for so many cells in which nothing is known.
    fn ready(&mut self, cols: usize, words: usize, questions: usize) {
        let cells = cols * words;
        self.cols = cols;
        for sets in [&mut self.known, &mut self.suits] {
            sets.clear();
            sets.resize(cells, 0);
        }
        self.bytes.clear();
        self.bytes.resize(cells, [NO_SCORE; WORD]);
        self.between.said.clear();
        self.between.said.resize(cells, Said::default());
        self.between.memo_of_bytes.resize(questions, Vec::new());
        for numbers in [&mut self.ground, &mut self.between.fine] {
            numbers.resize(questions, Vec::new());
            for numbers in numbers {
                numbers.resize(cols, 0);
            }
        }
    }
}

/// The score bytes of one question.
struct Bytes<'t> {
    /// For each number and word.
    entries: &'t [[u8; WORD]],
    /// Of each cell.
    numbers: &'t [u64],
}

/// Takes, for one word of species, the lowest byte of all questions in each cell.
struct LowestBytes<'t> {
    questions: &'t [Bytes<'t>],
    word: usize,
    words: usize,
    lowest: &'t mut [[u8; WORD]],
}

impl NullaryFnOnce for LowestBytes<'_> {
    type Output = ();

    #[inline(always)]
    fn call(self) {
        for (col, lowest) in self.lowest.iter_mut().enumerate() {
            for question in self.questions {
                let entry = &question.entries[place(question.numbers[col]) * self.words + self.word];
                for (lowest, &byte) in lowest.iter_mut().zip(entry) {
                    *lowest = byte.min(*lowest);
                }
            }
        }
    }
}
