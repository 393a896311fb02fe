//! Whole rows of cells rated for all species at once, on sets of species in
//! machine words: bit `i` of word `i / 64` is species `i` of the catalogue.
//!
//! What raster factors say and what vector factors say is kept apart until
//! [`combine`], because only the former is voted on: its single cells may be noise.

use rayon::prelude::*;
use thiserror::Error;

use super::question::{Question, Questions};
use super::rating::Heard;
use super::rule::Settings;
use super::table::{Bins, Memo, NO_SCORE, Table, byte_level, fill_bytes, fill_sets};
use crate::grid::Raster;
use crate::project::Rule;
use crate::score::Score;

/// Why the tables of a rating cannot be built.
#[derive(Debug, Error)]
pub enum RatingError {
    /// Conditions tie too many values of too many factors together.
    #[error(
        "the opinions on {factor} hang on {others} at once, too many combinations to rate; fewer factors in \"given\" conditions, or one stand-in less, are needed"
    )]
    TooManyCombinations {
        /// The question's first factor.
        factor: String,
        /// The factors it hangs on.
        others: String,
    },
}

/// Rates rows of cells.
pub struct CellRater<'a> {
    questions: &'a Questions,
    settings: Settings,
    words: usize,
    tables: Vec<QuestionTables>,
}

struct QuestionTables {
    question: Question,
    from_raster: bool,
    sets: Table<u64>,
    bytes: Table<u8>,
}

/// The sets of rows of cells, before the vote.
pub struct RatedRows {
    /// For each cell what the raster factors say: the set that suits, then the set
    /// that is unknown.
    pub raster: Vec<u64>,
    /// For each cell what the vector factors say: the set below the wanted class,
    /// then the set that is unknown. A species in both is not rated at all.
    pub ground: Vec<u64>,
    /// Under rules other than the limiting one the raster part holds the whole
    /// rating, and only neighbours on ground with the same key take part in the
    /// vote; empty under the limiting rule.
    pub keys: Vec<u32>,
}

impl<'a> CellRater<'a> {
    /// Compiles the questions.
    ///
    /// # Errors
    /// When conditions tie too many factors together.
    pub fn new(questions: &'a Questions, settings: Settings) -> Result<CellRater<'a>, RatingError> {
        let words = questions.species_count().div_ceil(64).max(1);
        let tables = questions
            .questions()
            .par_iter()
            .map(|question| {
                let hangs_on = questions.factors_of(question);
                let from_raster = hangs_on
                    .iter()
                    .any(|&factor| questions.factors()[factor].from_raster);
                let name = |&factor: &usize| questions.factors()[factor].factor.id.clone();
                let too_many = || RatingError::TooManyCombinations {
                    factor: name(&hangs_on[0]),
                    others: hangs_on.iter().map(name).collect::<Vec<_>>().join(", "),
                };
                let class_level = |score: f64| settings.limits.class_of(score, true) as u32;
                let by_class = Bins::new(questions, question, &class_level).ok_or_else(too_many)?;
                let by_byte = Bins::new(questions, question, &byte_level).ok_or_else(too_many)?;
                let sets = |values: &[f32], sets: &mut [u64]| {
                    fill_sets(questions, question, &settings, values, sets);
                };
                let bytes = |values: &[f32], bytes: &mut [u8]| fill_bytes(questions, question, values, bytes);
                Ok(QuestionTables {
                    question: question.clone(),
                    from_raster,
                    sets: Table::new(by_class, 3 * words, 0, &sets),
                    bytes: Table::new(by_byte, questions.species_count(), NO_SCORE, &bytes),
                })
            })
            .collect::<Result<_, RatingError>>()?;
        Ok(CellRater {
            questions,
            settings,
            words,
            tables,
        })
    }

    /// Machine words of one set of species.
    #[must_use]
    pub fn words(&self) -> usize {
        self.words
    }

    /// Whether any question hangs on a raster factor.
    #[must_use]
    pub fn has_raster_factors(&self) -> bool {
        self.tables.iter().any(|table| table.from_raster)
    }

    /// The set of all species, and of the bits past the last one.
    fn padding(&self, word: usize) -> u64 {
        let past = self.questions.species_count().saturating_sub(word * 64);
        if past >= 64 { 0 } else { u64::MAX << past }
    }

    /// Rates some rows of a band, in parallel; `values` gives one raster a factor,
    /// all of one shape.
    #[must_use]
    pub fn rate_rows(&self, values: &[Raster<f32>], rows: std::ops::Range<usize>, cols: usize) -> RatedRows {
        let width = cols * 2 * self.words;
        let mut rated = RatedRows {
            raster: vec![0; rows.len() * width],
            ground: vec![0; rows.len() * width],
            keys: Vec::new(),
        };
        if self.settings.rule != Rule::Limiting {
            rated.keys = vec![0; rows.len() * cols];
        }
        let raster = rated.raster.par_chunks_mut(width.max(1));
        let ground = rated.ground.par_chunks_mut(width.max(1));
        if self.settings.rule == Rule::Limiting {
            raster
                .zip(ground)
                .enumerate()
                .for_each(|(index, (raster, ground))| {
                    let row: Vec<&[f32]> = values
                        .iter()
                        .map(|raster| raster.row(rows.start + index))
                        .collect();
                    match self.words {
                        1 => self.limiting_row::<1>(&row, raster, ground),
                        2 => self.limiting_row::<2>(&row, raster, ground),
                        3 => self.limiting_row::<3>(&row, raster, ground),
                        4 => self.limiting_row::<4>(&row, raster, ground),
                        _ => self.limiting_row::<0>(&row, raster, ground),
                    }
                });
        } else {
            let keys = rated.keys.par_chunks_mut(cols.max(1));
            raster.zip(keys).enumerate().for_each(|(index, (raster, keys))| {
                let row: Vec<&[f32]> = values
                    .iter()
                    .map(|raster| raster.row(rows.start + index))
                    .collect();
                self.whole_row(&row, raster, keys);
            });
        }
        rated
    }

    /// One row under the limiting rule. `W` is the number of words where it is
    /// known at compile time, else 0.
    fn limiting_row<const W: usize>(&self, values: &[&[f32]], raster: &mut [u64], ground: &mut [u64]) {
        let words = if W == 0 { self.words } else { W };
        let cols = raster.len() / (2 * words);
        let mut scored = vec![0u64; cols * words];
        let mut numbers = vec![0; cols];
        for table in &self.tables {
            let fill = |values: &[f32], sets: &mut [u64]| {
                fill_sets(self.questions, &table.question, &self.settings, values, sets);
            };
            let mut memo = Memo::new();
            table.sets.bins.number(values, &mut numbers);
            let part = if table.from_raster {
                &mut *raster
            } else {
                &mut *ground
            };
            let cells = part
                .chunks_exact_mut(2 * words)
                .zip(scored.chunks_exact_mut(words));
            for (&number, (cell, scored)) in numbers.iter().zip(cells) {
                let sets = table.sets.get(number, &mut memo, &fill);
                for word in 0..words {
                    cell[word] |= sets[word];
                    cell[words + word] |= sets[words + word];
                    scored[word] |= sets[2 * words + word];
                }
            }
        }
        let cells = raster
            .chunks_exact_mut(2 * words)
            .zip(ground.chunks_exact_mut(2 * words));
        for ((raster, ground), scored) in cells.zip(scored.chunks_exact(words)) {
            for word in 0..words {
                let silent = !scored[word] | self.padding(word);
                let (below, unknown) = (raster[word], raster[words + word] | silent);
                raster[words + word] = unknown & !below;
                raster[word] = !(below | unknown);
                ground[words + word] = (ground[words + word] | silent) & !ground[word];
            }
        }
    }

    /// One row under a rule that needs all scores together.
    fn whole_row(&self, values: &[&[f32]], raster: &mut [u64], keys: &mut [u32]) {
        let words = self.words;
        let mut cell_values = vec![f32::NAN; values.len()];
        let mut heard = Heard::default();
        for (col, (cell, key)) in raster.chunks_exact_mut(2 * words).zip(keys).enumerate() {
            gather(values, col, &mut cell_values);
            for word in 0..words {
                cell[words + word] = self.padding(word);
            }
            for species in 0..self.questions.species_count() {
                let bit = 1u64 << (species % 64);
                match heard.rating(self.questions, &self.settings, species, &cell_values) {
                    Some(rating) if rating >= self.settings.wanted() => cell[species / 64] |= bit,
                    Some(_) => {}
                    None => cell[words + species / 64] |= bit,
                }
            }
            *key = self.ground_key(&cell_values);
        }
    }

    /// A number that is the same where all vector factors have the same values.
    ///
    /// # Method
    /// Fowler, Noll and Vo's hash (FNV-1a) of the values' bits.
    fn ground_key(&self, values: &[f32]) -> u32 {
        let factors = self.questions.factors().iter().zip(values);
        let vector = factors.filter(|(rated, _)| !rated.from_raster);
        let bytes = vector.flat_map(|(_, value)| value.to_bits().to_le_bytes());
        bytes.fold(0x811c_9dc5_u32, |hash, byte| {
            (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193)
        })
    }

    /// Writes the rating of each cell of a row for each species as a byte, cell
    /// after cell, before anything is known to be unknown: the byte counts only
    /// where the species is known.
    pub fn byte_row(&self, values: &[&[f32]], bytes: &mut [u8]) {
        let species = self.questions.species_count();
        if species == 0 {
            return;
        }
        bytes.fill(NO_SCORE);
        let mut cell_values = vec![f32::NAN; values.len()];
        if self.settings.rule != Rule::Limiting {
            let mut heard = Heard::default();
            for (col, cell) in bytes.chunks_exact_mut(species).enumerate() {
                gather(values, col, &mut cell_values);
                for (index, byte) in cell.iter_mut().enumerate() {
                    if let Some(rating) = heard.rating(self.questions, &self.settings, index, &cell_values) {
                        *byte = Score::clamped(rating).to_byte();
                    }
                }
            }
            return;
        }
        let mut numbers = vec![0; bytes.len() / species];
        for table in &self.tables {
            let fill =
                |values: &[f32], bytes: &mut [u8]| fill_bytes(self.questions, &table.question, values, bytes);
            let mut memo = Memo::new();
            table.bytes.bins.number(values, &mut numbers);
            for (&number, cell) in numbers.iter().zip(bytes.chunks_exact_mut(species)) {
                for (byte, &score) in cell.iter_mut().zip(table.bytes.get(number, &mut memo, &fill)) {
                    *byte = (*byte).min(score);
                }
            }
        }
    }

    /// Writes for each cell of a row a number for what the question finds there:
    /// cells with one number are alike to every species, class by class.
    pub fn ground_numbers(&self, question: usize, values: &[&[f32]], numbers: &mut [u64]) {
        self.tables[question].sets.bins.number(values, numbers);
    }

    /// Values of all factors that the question numbers so; missing for factors it
    /// does not ask about.
    #[must_use]
    pub fn ground_sample(&self, question: usize, number: u64) -> Vec<f32> {
        self.tables[question].sets.bins.sample(number)
    }
}

fn gather(values: &[&[f32]], col: usize, cell: &mut [f32]) {
    for (value, row) in cell.iter_mut().zip(values) {
        *value = row[col];
    }
}

/// Puts together what raster factors (perhaps voted) and vector factors say of
/// cells: in place of the raster part stand the set that suits and the set that is
/// unknown. Does the same as rating all factors at once.
pub fn combine(words: usize, raster: &mut [u64], ground: &[u64]) {
    for (raster, ground) in raster
        .chunks_exact_mut(2 * words)
        .zip(ground.chunks_exact(2 * words))
    {
        for word in 0..words {
            let not_rated = ground[word] & ground[words + word];
            let low = !(raster[word] | raster[words + word]);
            let below = (low | ground[word]) & !not_rated;
            let unknown = ((raster[words + word] | ground[words + word]) & !below) | not_rated;
            raster[words + word] = unknown;
            raster[word] = !(below | unknown);
        }
    }
}

#[cfg(test)]
#[path = "cells_tests.rs"]
mod tests;
