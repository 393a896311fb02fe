//! Rows of cells rated for counting: sets of species by all factors together, ratings
//! as bytes, and numbers for the ground. Neighbours that are alike are rated once.

use std::ops::Range;

use pulp::{Arch, NullaryFnOnce};

use super::cells::{CellRater, WORD, gather};
use super::rating::Heard;
use super::stretches::Stretches;
use super::table::{Memo, NO_SCORE, SaidWithBytes, place};
use crate::project::Rule;
use crate::score::Score;

/// A row of cells as rated, by stretches: neighbours that no rating tells apart. Sets and
/// bytes hold the first word of species of all stretches, then the second, and so on.
#[derive(Debug, Default)]
pub struct AsRated {
    stretches: Stretches,
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
        if self.settings.rule == Rule::Limiting {
            let fine = self.tables.iter().map(|table| &table.fine.bins);
            row.stretches.find(fine, values, cols);
        } else {
            // Where scores are weighed together, bins of single factors do not tell which
            // cells are alike.
            row.stretches.single_cells(values, cols);
        }
        row.ready(self.words(), self.tables.len());
        let values = row.stretches.first_values();
        if self.settings.rule == Rule::Limiting {
            let numbers = row.between.fine.iter_mut().zip(&mut row.ground);
            for (table, (fine, coarse)) in self.tables.iter().zip(numbers) {
                table.fine.number(&values, fine, coarse);
            }
            self.whole_by_factor(row);
        } else {
            for (table, numbers) in self.tables.iter().zip(&mut row.ground) {
                table.bins.number(&values, numbers);
            }
            self.whole_by_species(row);
        }
    }

    fn whole_by_factor(&self, row: &mut AsRated) {
        let stretches = row.stretches.len();
        let Between { fine, memos } = &mut row.between;
        let tables = self.tables.iter().zip(fine).zip(memos);
        let questions: Vec<(&[SaidWithBytes], &[u64])> = tables
            .map(|((table, numbers), memo)| table.with_bytes(self, numbers, memo))
            .collect();
        for word in 0..self.words() {
            let plane = word * stretches..(word + 1) * stretches;
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

    fn whole_by_species(&self, row: &mut AsRated) {
        let stretches = row.stretches.len();
        let values = row.stretches.first_values();
        let mut cell = vec![f32::NAN; values.len()];
        let mut heard = Heard::default();
        for place in 0..stretches {
            gather(&values, place, &mut cell);
            for species in 0..self.questions.species_count() {
                let (at, bit) = (species / WORD * stretches + place, 1u64 << (species % WORD));
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
    /// A row of these stretches of which nothing is told yet.
    #[cfg(test)]
    #[must_use]
    pub fn of_stretches(ends: Vec<usize>) -> AsRated {
        AsRated {
            stretches: Stretches::of(ends),
            ..AsRated::default()
        }
    }

    /// The stretch in which a cell lies.
    #[cfg(test)]
    #[must_use]
    pub fn stretch_of(&self, col: usize) -> usize {
        self.ends().partition_point(|&end| end <= col)
    }

    /// One past the last column of each stretch.
    #[must_use]
    pub fn ends(&self) -> &[usize] {
        self.stretches.ends()
    }

    /// Puts the stretches that some columns meet into `met`, in order: the place of each
    /// and how many of the columns lie in it, under 2^32.
    pub fn stretches_of(&self, cols: Range<usize>, met: &mut Vec<(usize, u32)>) {
        met.clear();
        let ends = self.ends();
        let first = ends.partition_point(|&end| end <= cols.start);
        let mut from = cols.start;
        for (place, &end) in (first..).zip(&ends[first..]) {
            if from == cols.end {
                break;
            }
            let to = end.min(cols.end);
            met.push((place, u32::try_from(to - from).unwrap_or(u32::MAX)));
            from = to;
        }
    }

    /// Makes room for the stretches, in which nothing is known yet.
    fn ready(&mut self, words: usize, questions: usize) {
        let stretches = self.stretches.len();
        let room = stretches * words;
        for sets in [&mut self.known, &mut self.suits] {
            sets.clear();
            sets.resize(room, 0);
        }
        self.bytes.clear();
        self.bytes.resize(room, [NO_SCORE; WORD]);
        self.between.memos.resize_with(questions, Memo::default);
        for numbers in [&mut self.ground, &mut self.between.fine] {
            numbers.resize(questions, Vec::new());
            for numbers in numbers {
                numbers.resize(stretches, 0);
            }
        }
    }
}

/// Takes, for one word of species, all questions together in each stretch.
struct AllQuestions<'t> {
    /// Of each question the entries, and where that of each stretch begins, in words.
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
        let stretches = self.known.iter_mut().zip(self.suits).zip(self.bytes);
        for (at, ((known, suits), bytes)) in stretches.enumerate() {
            let mut all = SaidWithBytes::NOTHING;
            for (entries, places) in self.questions {
                let one = &entries[place(places[at]) * self.words + self.word];
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
