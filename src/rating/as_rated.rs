//! Rows of cells rated for counting: sets of species by all factors together, ratings
//! as bytes, and numbers for the ground.

use pulp::{Arch, NullaryFnOnce};

use super::cells::{CellRater, WORD, gather};
use super::rating::Heard;
use super::table::{Memo, NO_SCORE, SaidWithBytes, place};
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
    fine: Vec<Vec<u64>>,
    memos: Vec<Memo<SaidWithBytes>>,
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
        let Between { fine, memos } = &mut row.between;
        let tables = self.tables.iter().zip(fine).zip(memos);
        let questions: Vec<(&[SaidWithBytes], &[u64])> = tables
            .map(|((table, numbers), memo)| table.with_bytes(self, numbers, memo))
            .collect();
        for word in 0..self.words() {
            let plane = word * row.cols..(word + 1) * row.cols;
            Arch::new().dispatch(AllQuestions {
                questions: &questions,
                word,
                words: self.words(),
                padding: self.padding(word),
                known: &mut row.known[plane.clone()],
                suits: &mut row.suits[plane.clone()],
                bytes: &mut row.bytes[plane],
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
        self.between.memos.resize_with(questions, Memo::default);
        for numbers in [&mut self.ground, &mut self.between.fine] {
            numbers.resize(questions, Vec::new());
            for numbers in numbers {
                numbers.resize(cols, 0);
            }
        }
    }
}

/// Takes, for one word of species, all questions together in each cell.
struct AllQuestions<'t> {
    /// Of each question the entries, and where that of each cell begins, in words.
    questions: &'t [(&'t [SaidWithBytes], &'t [u64])],
    word: usize,
    words: usize,
    padding: u64,
    known: &'t mut [u64],
    suits: &'t mut [u64],
    bytes: &'t mut [[u8; WORD]],
}

impl NullaryFnOnce for AllQuestions<'_> {
    type Output = ();

    #[inline(always)]
    fn call(self) {
        let cells = self.known.iter_mut().zip(self.suits).zip(self.bytes);
        for (col, ((known, suits), bytes)) in cells.enumerate() {
            let mut all = SaidWithBytes::NOTHING;
            for (entries, places) in self.questions {
                let one = &entries[place(places[col]) * self.words + self.word];
                for (lowest, &byte) in all.bytes.iter_mut().zip(&one.bytes) {
                    *lowest = byte.min(*lowest);
                }
                all.said.below |= one.said.below;
                all.said.unknown |= one.said.unknown;
                all.said.scored |= one.said.scored;
            }
            // A species with no score at all is unknown.
            let silent = !all.said.scored | self.padding;
            let unknown = (all.said.unknown | silent) & !all.said.below;
            *known = !unknown;
            *suits = !(unknown | all.said.below);
            *bytes = all.bytes;
        }
    }
}
