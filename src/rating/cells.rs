//! All species rated at once, from tables compiled beforehand: what every way of rating
//! rows of cells shares.

use rayon::prelude::*;
use thiserror::Error;

use super::bins::{Bins, FineBins};
use super::question::{Question, Questions};
use super::rule::Settings;
use super::table::{Memo, Said, SaidWithBytes, Table, fill_sets, fill_with_bytes};
use crate::score::Score;

/// Species in a machine word.
pub const WORD: usize = 64;

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
    pub(super) questions: &'a Questions,
    pub(super) settings: Settings,
    words: usize,
    pub(super) tables: Vec<QuestionTables>,
}

/// One question, compiled.
pub(super) struct QuestionTables {
    question: Question,
    /// Whether it hangs on any raster factor.
    pub from_raster: bool,
    /// Bins within which no class changes.
    pub bins: Bins,
    /// Bins within which no score byte changes either.
    pub fine: FineBins,
    sets: Table<Said>,
    with_bytes: Table<SaidWithBytes>,
}

impl<'a> CellRater<'a> {
    /// Compiles the questions.
    ///
    /// # Errors
    /// When conditions tie too many factors together.
    pub fn new(questions: &'a Questions, settings: Settings) -> Result<CellRater<'a>, RatingError> {
        let words = questions.species_count().div_ceil(WORD).max(1);
        let compile = |question: &Question| {
            let hangs_on = questions.factors_of(question);
            let from_raster = hangs_on
                .iter()
                .any(|&factor| questions.factors()[factor].from_raster);
            let name = |&factor: &usize| questions.factors()[factor].factor.id.clone();
            let too_many = || RatingError::TooManyCombinations {
                factor: name(&hangs_on[0]),
                others: hangs_on.iter().map(name).collect::<Vec<_>>().join(", "),
            };
            let class = |score: f64| settings.limits.class_of(score, true) as u32;
            // A limit may lie between two bytes.
            let byte_and_class = |score: f64| u32::from(Score::clamped(score).to_byte()) << 8 | class(score);
            let bins = Bins::new(questions, question, &class).ok_or_else(too_many)?;
            let fine = Bins::new(questions, question, &byte_and_class);
            let fine = fine.and_then(|fine| fine.within(&bins)).ok_or_else(too_many)?;
            let sets = |values: &[f32], sets: &mut [Said]| {
                fill_sets(questions, question, &settings, values, sets);
            };
            let with_bytes = |values: &[f32], entries: &mut [SaidWithBytes]| {
                fill_with_bytes(questions, question, &settings, values, entries);
            };
            Ok(QuestionTables {
                question: question.clone(),
                from_raster,
                sets: Table::new(
                    bins.count(),
                    words,
                    Said::default(),
                    |number| bins.sample(number),
                    &sets,
                ),
                with_bytes: Table::new(
                    fine.bins.count(),
                    words,
                    SaidWithBytes::NOTHING,
                    |number| fine.bins.sample(number),
                    &with_bytes,
                ),
                bins,
                fine,
            })
        };
        Ok(CellRater {
            questions,
            settings,
            words,
            tables: questions
                .questions()
                .par_iter()
                .map(compile)
                .collect::<Result<_, RatingError>>()?,
        })
    }

    /// Machine words of one set of species.
    #[must_use]
    pub fn words(&self) -> usize {
        self.words
    }

    /// The bits of a word past the last species.
    pub(super) fn padding(&self, word: usize) -> u64 {
        let past = self.questions.species_count().saturating_sub(word * WORD);
        if past >= WORD { 0 } else { u64::MAX << past }
    }

    /// For each question how many numbers the ground may have.
    #[must_use]
    pub fn ground_counts(&self) -> Vec<u64> {
        self.tables.iter().map(|table| table.bins.count()).collect()
    }

    /// Values of all factors that the question numbers so; missing for factors it
    /// does not ask about.
    #[must_use]
    pub fn ground_sample(&self, question: usize, number: u64) -> Vec<f32> {
        self.tables[question].bins.sample(number)
    }
}

impl QuestionTables {
    /// What the question says of each word of species by the numbers of
    /// [`QuestionTables::bins`], and where each number's entry begins, in words.
    pub fn sets<'t>(
        &'t self,
        rater: &CellRater,
        numbers: &'t [u64],
        memo: &'t mut Memo<Said>,
    ) -> (&'t [Said], &'t [u64]) {
        let fill = |values: &[f32], sets: &mut [Said]| {
            fill_sets(rater.questions, &self.question, &rater.settings, values, sets);
        };
        self.sets
            .entries(numbers, memo, |number| self.bins.sample(number), &fill)
    }

    /// The same with score bytes, by the numbers of [`QuestionTables::fine`].
    pub fn with_bytes<'t>(
        &'t self,
        rater: &CellRater,
        numbers: &'t [u64],
        memo: &'t mut Memo<SaidWithBytes>,
    ) -> (&'t [SaidWithBytes], &'t [u64]) {
        let fill = |values: &[f32], entries: &mut [SaidWithBytes]| {
            fill_with_bytes(rater.questions, &self.question, &rater.settings, values, entries);
        };
        let sample = |number| self.fine.bins.sample(number);
        self.with_bytes.entries(numbers, memo, sample, &fill)
    }
}

/// The values of all factors in one cell.
pub(super) fn gather(values: &[&[f32]], col: usize, cell: &mut [f32]) {
    for (value, row) in cell.iter_mut().zip(values) {
        *value = row[col];
    }
}

#[cfg(test)]
#[path = "cells_tests.rs"]
mod tests;
