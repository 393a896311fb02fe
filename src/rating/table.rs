//! One question compiled for all species: an entry of sets, or of score bytes,
//! for each combination of bins of the ground it asks about.

use std::collections::HashMap;

use super::answer::Answer;
use super::cells::WORD;
use super::question::{Question, Questions};
use super::rule::Settings;

/// A score byte that does not limit: no score, or nothing to say.
pub const NO_SCORE: u8 = u8::MAX;

/// Most entries that are computed beforehand; larger tables compute an entry when
/// a cell first asks for it.
const MOST_BEFOREHAND: u64 = 1 << 16;

/// Writes the entry for given values over blanks.
pub type Fill<'f, T> = dyn Fn(&[f32], &mut [T]) + 'f;

/// Entries of numbers that turned up in some cells, for a table too large to keep.
#[derive(Debug)]
pub struct Memo<T> {
    entries: Vec<T>,
    places: Vec<u64>,
}

impl<T> Default for Memo<T> {
    fn default() -> Memo<T> {
        Memo {
            entries: Vec::new(),
            places: Vec::new(),
        }
    }
}

/// An entry of `width` items for each number.
#[derive(Debug, Clone)]
pub struct Table<T> {
    width: usize,
    blank: T,
    beforehand: Option<Vec<T>>,
}

impl<T: Copy> Table<T> {
    /// Compiles a table of so many entries; `sample` gives values that have a number.
    pub fn new(
        count: u64,
        width: usize,
        blank: T,
        sample: impl Fn(u64) -> Vec<f32>,
        fill: &Fill<T>,
    ) -> Table<T> {
        let mut table = Table {
            width,
            blank,
            beforehand: None,
        };
        if count <= MOST_BEFOREHAND {
            let entries = (0..count).flat_map(|number| table.entry(&sample(number), fill));
            table.beforehand = Some(entries.collect());
        }
        table
    }

    fn entry(&self, values: &[f32], fill: &Fill<T>) -> Vec<T> {
        let mut entry = vec![self.blank; self.width];
        fill(values, &mut entry);
        entry
    }

    /// The entries that `numbers` stand for, one after another, and the place of each
    /// number's entry among them. Entries of a large table are computed into `memo`.
    pub fn entries<'t>(
        &'t self,
        numbers: &'t [u64],
        memo: &'t mut Memo<T>,
        sample: impl Fn(u64) -> Vec<f32>,
        fill: &Fill<T>,
    ) -> (&'t [T], &'t [u64]) {
        if let Some(entries) = &self.beforehand {
            return (entries, numbers);
        }
        let mut places: HashMap<u64, u64> = HashMap::new();
        memo.entries.clear();
        memo.places.clear();
        for &number in numbers {
            let next = places.len() as u64;
            let place = *places.entry(number).or_insert_with(|| {
                memo.entries.extend(self.entry(&sample(number), fill));
                next
            });
            memo.places.push(place);
        }
        (&memo.entries, &memo.places)
    }
}

/// Where the entry of a number stands among those of [`Table::entries`].
#[inline]
#[expect(
    clippy::cast_possible_truncation,
    reason = "there are no more entries than memory holds"
)]
pub fn place(number: u64) -> usize {
    number as usize
}

/// What a question says of the 64 species of one word.
#[derive(Debug, Clone, Copy, Default)]
pub struct Said {
    /// Those that the answer settles as not suiting.
    pub below: u64,
    /// Those unknown.
    pub unknown: u64,
    /// Those scored.
    pub scored: u64,
}

/// Writes the answers of all species to a question, one entry a word.
pub fn fill_sets(
    questions: &Questions,
    question: &Question,
    settings: &Settings,
    values: &[f32],
    sets: &mut [Said],
) {
    for species in 0..questions.species_count() {
        let answer = questions.answer(species, question, values);
        sets[species / WORD].add(species, &answer, settings);
    }
}

impl Said {
    /// Takes the answer of a species of the word in.
    fn add(&mut self, species: usize, answer: &Answer, settings: &Settings) {
        let bit = 1u64 << (species % WORD);
        match answer {
            Answer::Scored { score, .. } => {
                self.scored |= bit;
                if settings.settles(score.get()) {
                    self.below |= bit;
                }
            }
            Answer::Unknown { .. } => self.unknown |= bit,
            Answer::Harmless { .. } | Answer::Silent { .. } => {}
        }
    }
}

/// What a question says of the 64 species of one word, and their score bytes,
/// [`NO_SCORE`] where there is none.
#[derive(Debug, Clone, Copy)]
pub struct SaidWithBytes {
    /// The score bytes.
    pub bytes: [u8; WORD],
    /// The sets.
    pub said: Said,
}

impl SaidWithBytes {
    /// Nothing said of any species.
    pub const NOTHING: SaidWithBytes = SaidWithBytes {
        bytes: [NO_SCORE; WORD],
        said: Said {
            below: 0,
            unknown: 0,
            scored: 0,
        },
    };
}

/// Writes the answers of all species to a question with their score bytes, one entry a
/// word.
pub fn fill_with_bytes(
    questions: &Questions,
    question: &Question,
    settings: &Settings,
    values: &[f32],
    entries: &mut [SaidWithBytes],
) {
    for species in 0..questions.species_count() {
        let entry = &mut entries[species / WORD];
        let answer = questions.answer(species, question, values);
        entry.said.add(species, &answer, settings);
        if let Answer::Scored { score, .. } = answer {
            entry.bytes[species % WORD] = score.to_byte();
        }
    }
}
