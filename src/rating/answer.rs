//! One species' answer to one question in one cell.

use super::question::{Question, Questions};
use crate::project::Missing;
use crate::score::Score;

/// What a species and a cell say to a question.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Answer {
    /// The factor that was used and the score of its value.
    Scored {
        /// Index of the factor.
        factor: usize,
        /// The score.
        score: Score,
    },
    /// The species has no opinion, and the value harms no plant.
    Harmless,
    /// The question does not count: the species has no opinion on a helpful
    /// factor, or a missing value is ignored.
    Silent,
    /// Not to be known.
    Unknown {
        /// Index of the factor that lacks.
        factor: usize,
        /// What lacks.
        gap: Gap,
    },
}

/// What lacks where an answer is unknown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gap {
    /// The cell has no value.
    Value,
    /// The species has no opinion.
    Opinion,
    /// The species has opinions under conditions, and none covers this case.
    Case,
}

impl Questions {
    /// The answer of a species to a question, given the values of all factors in
    /// the project's order.
    ///
    /// # Missing
    /// A value that is not a number is missing.
    #[must_use]
    pub fn answer(&self, species: usize, question: &Question, values: &[f32]) -> Answer {
        let holds_opinion = |factor: &&usize| !self.opinions(species, **factor).is_empty();
        let has_value = |factor: &&usize| !values[**factor].is_nan();
        let members = question.members.iter();
        if let Some(&factor) = members.clone().filter(holds_opinion).find(has_value) {
            return self.scored(species, factor, values);
        }
        let harmless = |factor: &&usize| self.is_harmless(**factor, values[**factor]);
        if members.clone().filter(has_value).any(|factor| harmless(&factor)) {
            return Answer::Harmless;
        }
        let ignored =
            |factor: usize| values[factor].is_nan() && self.factors()[factor].missing == Missing::Ignore;
        if let Some(&factor) = members.clone().find(holds_opinion) {
            let gap = Gap::Value;
            return if ignored(factor) {
                Answer::Silent
            } else {
                Answer::Unknown { factor, gap }
            };
        }
        let factor = question.members[0];
        if !question.decisive || ignored(factor) {
            return Answer::Silent;
        }
        Answer::Unknown {
            factor,
            gap: Gap::Opinion,
        }
    }

    /// The score of a known value, by the one opinion that holds.
    fn scored(&self, species: usize, factor: usize, values: &[f32]) -> Answer {
        let value = values[factor];
        for opinion in self.opinions(species, factor) {
            let holds = opinion.given.as_ref().is_none_or(|given| {
                self.factor_index(&given.factor)
                    .map(|index| values[index])
                    .is_some_and(|other| !other.is_nan() && given.holds_for(other))
            });
            if holds && let Some(score) = opinion.response.score(value) {
                return Answer::Scored { factor, score };
            }
        }
        if self.is_harmless(factor, value) {
            Answer::Harmless
        } else {
            Answer::Unknown {
                factor,
                gap: Gap::Case,
            }
        }
    }
}
