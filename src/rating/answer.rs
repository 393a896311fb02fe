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
    Harmless {
        /// Index of the factor whose value harms none.
        factor: usize,
        /// Whether the absent opinion is to be told all the same.
        told: bool,
    },
    /// The question does not count.
    Silent {
        /// Index of the factor that would have been used.
        factor: usize,
        /// Why it does not count.
        silence: Silence,
    },
    /// Not to be known.
    Unknown {
        /// Index of the factor that lacks.
        factor: usize,
        /// What lacks.
        gap: Gap,
    },
}

/// Why a question does not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Silence {
    /// The species has no opinion, and the factor is only helpful.
    NoOpinion,
    /// The cell has no value, and the project has missing values ignored.
    Ignored,
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
        if !question.soil.is_empty() {
            return self.soils_answer(species, question, values);
        }
        let holds_opinion = |factor: &&usize| !self.opinions(species, **factor).is_empty();
        let has_value = |factor: &&usize| !values[**factor].is_nan();
        let members = question.members.iter();
        if let Some(&factor) = members.clone().filter(holds_opinion).find(has_value) {
            return self.scored(species, factor, values);
        }
        if let Some(answer) = members
            .clone()
            .filter(has_value)
            .find_map(|&factor| self.harmless(factor, values[factor]))
        {
            return answer;
        }
        let ignored =
            |factor: usize| values[factor].is_nan() && self.factors()[factor].missing == Missing::Ignore;
        if let Some(&factor) = members.clone().find(holds_opinion) {
            return if ignored(factor) {
                let silence = Silence::Ignored;
                Answer::Silent { factor, silence }
            } else {
                let gap = Gap::Value;
                Answer::Unknown { factor, gap }
            };
        }
        let factor = *members.clone().find(has_value).unwrap_or(&question.members[0]);
        if members.clone().all(|&factor| ignored(factor)) {
            let silence = Silence::Ignored;
            Answer::Silent { factor, silence }
        } else if question.decisive {
            let gap = Gap::Opinion;
            Answer::Unknown { factor, gap }
        } else {
            let silence = Silence::NoOpinion;
            Answer::Silent { factor, silence }
        }
    }

    /// The score of a known value, by the one opinion that holds.
    fn scored(&self, species: usize, factor: usize, values: &[f32]) -> Answer {
        let value = values[factor];
        let mut unmet = None;
        for opinion in self.opinions(species, factor) {
            let holds = match &opinion.given {
                None => true,
                Some(given) => match self.factor_index(&given.factor) {
                    Some(index) if values[index].is_nan() => {
                        unmet = Some(index);
                        false
                    }
                    Some(index) => given.holds_for(values[index]),
                    None => false,
                },
            };
            if holds && let Some(score) = opinion.response.score(value) {
                return Answer::Scored { factor, score };
            }
        }
        self.harmless(factor, value).unwrap_or(match unmet {
            // What a condition hangs on lacks, not the profile.
            Some(factor) => Answer::Unknown {
                factor,
                gap: Gap::Value,
            },
            None => Answer::Unknown {
                factor,
                gap: Gap::Case,
            },
        })
    }

    /// The answer to a known value that harms no plant; nothing where it may.
    fn harmless(&self, factor: usize, value: f32) -> Option<Answer> {
        let harmless = self.factors()[factor].factor.harmless;
        harmless.holds_for(value).then(|| Answer::Harmless {
            factor,
            told: harmless.is_told_at(value),
        })
    }
}

#[cfg(test)]
#[path = "answer_tests.rs"]
mod tests;
