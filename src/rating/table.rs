//! One question compiled for all species: an entry of sets, or of score bytes,
//! for each combination of bins of the ground it asks about.

use std::collections::HashMap;

use super::answer::Answer;
use super::axis::Axis;
use super::question::{Question, Questions};
use super::rule::Settings;
use crate::score::Score;

/// A score byte that does not limit: no score, or nothing to say.
pub const NO_SCORE: u8 = u8::MAX;

/// Most entries that are computed beforehand; larger tables compute an entry when
/// a cell first asks for it.
const MOST_BEFOREHAND: u64 = 1 << 16;

/// The axes of one question and how combinations of their bins are numbered.
#[derive(Debug, Clone)]
pub struct Bins {
    /// Index of the factor, its axis, and the step in number between bins.
    axes: Vec<(usize, Axis, u64)>,
    count: u64,
    factors: usize,
}

impl Bins {
    /// The bins of a question within which no species' `level` changes, or nothing
    /// when there are too many combinations to number.
    pub fn new(questions: &Questions, question: &Question, level: &dyn Fn(f64) -> u32) -> Option<Bins> {
        let mut count = 1u64;
        let mut axes = Vec::new();
        for factor in questions.factors_of(question) {
            let along = Axis::new(questions, factor, level);
            let bins = along.bins() as u64;
            axes.push((factor, along, count));
            count = count.checked_mul(bins)?;
        }
        let factors = questions.factors().len();
        Some(Bins { axes, count, factors })
    }

    /// Writes the number of each cell; `values` gives one slice a factor.
    pub fn number(&self, values: &[&[f32]], numbers: &mut [u64]) {
        numbers.fill(0);
        for (factor, axis, step) in &self.axes {
            for (number, &value) in numbers.iter_mut().zip(values[*factor]) {
                *number += u64::from(axis.bin(value)) * step;
            }
        }
    }

    /// Values of all factors that have this number; those the question does not
    /// ask about are missing.
    pub fn sample(&self, number: u64) -> Vec<f32> {
        let mut values = vec![f32::NAN; self.factors];
        for (factor, axis, step) in &self.axes {
            #[expect(clippy::cast_possible_truncation, reason = "an axis has few bins")]
            let bin = (number / step % axis.bins() as u64) as usize;
            values[*factor] = axis.sample(bin);
        }
        values
    }
}

/// Entries computed when first asked for, by number.
pub type Memo<T> = HashMap<u64, Vec<T>>;

/// An entry of `width` items for each combination of bins.
#[derive(Debug, Clone)]
pub struct Table<T> {
    /// How combinations are numbered.
    pub bins: Bins,
    width: usize,
    blank: T,
    beforehand: Option<Vec<T>>,
}

impl<T: Copy> Table<T> {
    /// Compiles a table; `fill` writes the entry for given values over blanks.
    pub fn new(bins: Bins, width: usize, blank: T, fill: &dyn Fn(&[f32], &mut [T])) -> Table<T> {
        let mut table = Table {
            bins,
            width,
            blank,
            beforehand: None,
        };
        if table.bins.count <= MOST_BEFOREHAND {
            let entries = (0..table.bins.count).flat_map(|number| table.entry(number, fill));
            table.beforehand = Some(entries.collect());
        }
        table
    }

    fn entry(&self, number: u64, fill: &dyn Fn(&[f32], &mut [T])) -> Vec<T> {
        let mut entry = vec![self.blank; self.width];
        fill(&self.bins.sample(number), &mut entry);
        entry
    }

    /// The entry with this number.
    #[inline]
    pub fn get<'t>(&'t self, number: u64, memo: &'t mut Memo<T>, fill: &dyn Fn(&[f32], &mut [T])) -> &'t [T] {
        match &self.beforehand {
            #[expect(
                clippy::cast_possible_truncation,
                reason = "there are at most MOST_BEFOREHAND entries"
            )]
            Some(entries) => &entries[number as usize * self.width..][..self.width],
            None => memo.entry(number).or_insert_with(|| self.entry(number, fill)),
        }
    }
}

/// Writes the answers of all species to a question as three sets of `words` words:
/// those that the answer settles as not suiting, those unknown, those scored.
pub fn fill_sets(
    questions: &Questions,
    question: &Question,
    settings: &Settings,
    values: &[f32],
    sets: &mut [u64],
) {
    let words = sets.len() / 3;
    for species in 0..questions.species_count() {
        let (word, bit) = (species / 64, 1u64 << (species % 64));
        match questions.answer(species, question, values) {
            Answer::Scored { score, .. } => {
                sets[2 * words + word] |= bit;
                if settings.settles(score.get()) {
                    sets[word] |= bit;
                }
            }
            Answer::Unknown { .. } => sets[words + word] |= bit,
            Answer::Harmless { .. } | Answer::Silent { .. } => {}
        }
    }
}

/// Writes the answers of all species to a question as score bytes, [`NO_SCORE`]
/// where there is none.
pub fn fill_bytes(questions: &Questions, question: &Question, values: &[f32], bytes: &mut [u8]) {
    for (species, byte) in bytes.iter_mut().enumerate() {
        if let Answer::Scored { score, .. } = questions.answer(species, question, values) {
            *byte = score.to_byte();
        }
    }
}

/// The level whose changes cut bytes.
pub fn byte_level(score: f64) -> u32 {
    Score::clamped(score).to_byte().into()
}
