//! Map units rated soil by soil: each soil on all questions that hang on the soil, and
//! from the shares of those that suit what the unit is. Never a mean of soils.

use super::answer::{Answer, Gap};
use super::question::{Question, Questions};
use super::rule::Settings;
use crate::score::{Class, Score};

/// How one soil of a unit fares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SoilState {
    /// Known: the lowest score of all questions that hang on the soil, and its factor.
    Rated(Score, usize),
    /// No question that hangs on the soil limits: there is nothing to score.
    Unlimited,
    /// Not to be known.
    Unknown(usize, Gap),
}

/// How the soils of a place fare for one species.
#[derive(Debug, Clone, PartialEq)]
pub struct SoilVerdict {
    /// Name, share and state of each soil; no name for what is not told of the unit.
    pub soils: Vec<(Option<String>, f64, SoilState)>,
    /// Share of soils that suit, 0 to 1.
    pub suits: f64,
    /// Share of soils that are unknown.
    pub unknown: f64,
    /// The share that must suit.
    pub needed: f64,
}

/// Shares that differ by less are the same: a unit of 33, 33 and 34 % is whole.
const SAME_SHARE: f64 = 1e-6;

impl Questions {
    /// How the soils of a place fare for a species.
    ///
    /// # Missing
    /// Nothing for a question that does not ask soil by soil.
    #[must_use]
    pub fn soil_verdict(&self, species: usize, question: &Question, values: &[f32]) -> Option<SoilVerdict> {
        let by_soil = self.by_soil().filter(|_| !question.soil.is_empty())?;
        let (mixes, settings) = (&by_soil.mixes, &by_soil.settings);
        let soils: Vec<(Option<String>, f64, SoilState)> = mixes
            .soils(values)
            .into_iter()
            .map(|soil| {
                let state = self.soil_state(species, question, &soil.values, settings);
                (soil.name.map(str::to_owned), soil.share, state)
            })
            .collect();
        let share = |counts: &dyn Fn(&SoilState) -> bool| -> f64 {
            let those = soils.iter().filter(|(_, _, state)| counts(state));
            those.map(|(_, share, _)| share).sum()
        };
        Some(SoilVerdict {
            suits: share(&|state| match state {
                SoilState::Rated(score, _) => score.get() >= settings.wanted(),
                SoilState::Unlimited => true,
                SoilState::Unknown(..) => false,
            }),
            unknown: share(&|state| matches!(state, SoilState::Unknown(..))),
            needed: mixes.suits_share,
            soils,
        })
    }

    fn soil_state(
        &self,
        species: usize,
        question: &Question,
        values: &[f32],
        settings: &Settings,
    ) -> SoilState {
        let mut scores: Vec<(Score, usize)> = Vec::new();
        let mut unknown = None;
        for part in &question.soil {
            match self.answer(species, part, values) {
                Answer::Scored { factor, score } => scores.push((score, factor)),
                Answer::Unknown { factor, gap } => unknown = unknown.or(Some((factor, gap))),
                Answer::Harmless { .. } | Answer::Silent { .. } => {}
            }
        }
        let lowest = scores
            .iter()
            .copied()
            .reduce(|best, other| if other.0.get() < best.0.get() { other } else { best });
        match (lowest, unknown) {
            (Some((score, _)), _) if settings.settles(score.get()) => {
                SoilState::Rated(score, self.to_blame(&scores, settings).unwrap_or(scores[0].1))
            }
            (_, Some((factor, gap))) => SoilState::Unknown(factor, gap),
            (Some((score, factor)), None) => SoilState::Rated(score, factor),
            (None, None) => SoilState::Unlimited,
        }
    }

    /// The factor of the lowest score; but where one that nobody can put right is out
    /// of order S, that one, so that ground beyond mending is not called mendable.
    fn to_blame(&self, scores: &[(Score, usize)], settings: &Settings) -> Option<usize> {
        let lowest_of = |list: &mut dyn Iterator<Item = &(Score, usize)>| {
            list.copied()
                .reduce(|best, other| if other.0.get() < best.0.get() { other } else { best })
        };
        let out = settings.limits.lowest_of(Class::S3);
        let beyond = |(score, factor): &&(Score, usize)| {
            score.get() < out && !self.factors()[*factor].factor.remediable
        };
        lowest_of(&mut scores.iter().filter(beyond))
            .or_else(|| lowest_of(&mut scores.iter()))
            .map(|(_, factor)| factor)
    }

    /// The answer of a species to a question that asks soil by soil.
    ///
    /// # Method
    /// The species suits where soils that suit make up the share needed, does not where
    /// they could not even if all unknown soils suited, and is unknown between. Its
    /// score is then the best that soils of that share reach: the soils stand in the
    /// order of their scores, and the score is that of the soil at which the share is
    /// full. So its class is a class of some soil and never one between two.
    pub(super) fn soils_answer(&self, species: usize, question: &Question, values: &[f32]) -> Answer {
        let first = question.soil.first().map_or(0, |part| part.members[0]);
        let Some(verdict) = self.soil_verdict(species, question, values) else {
            return Answer::Unknown {
                factor: first,
                gap: Gap::Value,
            };
        };
        let full = verdict.needed - SAME_SHARE;
        let suits = verdict.suits >= full;
        if !suits && verdict.suits + verdict.unknown >= full {
            let unknown = verdict.soils.iter().filter_map(|(_, share, state)| match state {
                SoilState::Unknown(factor, gap) => Some((*share, *factor, *gap)),
                _ => None,
            });
            let most = unknown.reduce(|best, other| if other.0 > best.0 { other } else { best });
            let (factor, gap) = most.map_or((first, Gap::Value), |(_, factor, gap)| (factor, gap));
            return Answer::Unknown { factor, gap };
        }
        if verdict
            .soils
            .iter()
            .all(|(_, _, state)| *state == SoilState::Unlimited)
        {
            return self.unlimited(species, question, values);
        }
        // Unknown soils are taken for the worst where it suits, for the best where not.
        let rank = |state: &SoilState| match state {
            SoilState::Rated(score, factor) => (score.get(), *factor),
            SoilState::Unlimited => (1.0, first),
            SoilState::Unknown(factor, _) => (if suits { 0.0 } else { 1.0 }, *factor),
        };
        let mut ranked: Vec<(f64, usize, f64)> = verdict
            .soils
            .iter()
            .map(|(_, share, state)| {
                let (score, factor) = rank(state);
                (score, factor, *share)
            })
            .collect();
        ranked.sort_by(|one, other| other.0.total_cmp(&one.0).then(one.1.cmp(&other.1)));
        let mut reached = 0.0;
        let at = ranked.iter().position(|&(_, _, share)| {
            reached += share;
            reached >= full
        });
        let (score, factor, _) = ranked[at.unwrap_or(ranked.len() - 1)];
        Answer::Scored {
            factor,
            score: Score::clamped(score),
        }
    }

    /// The answer where no soil has a score: harmless if told so for any, else silent.
    fn unlimited(&self, species: usize, question: &Question, values: &[f32]) -> Answer {
        let soils = self.by_soil().map(|by_soil| by_soil.mixes.soils(values));
        let largest = soils.into_iter().flatten();
        let largest = largest.reduce(|best, other| if other.share > best.share { other } else { best });
        let values = largest.map_or_else(|| values.to_vec(), |soil| soil.values);
        let mut answers = question
            .soil
            .iter()
            .map(|part| self.answer(species, part, &values));
        let first = answers.next().unwrap_or(Answer::Unknown {
            factor: 0,
            gap: Gap::Value,
        });
        let told = |answer: &Answer| matches!(answer, Answer::Harmless { told: true, .. });
        if told(&first) {
            return first;
        }
        answers.find(told).unwrap_or(first)
    }
}

#[cfg(test)]
#[path = "soils_tests.rs"]
mod tests;
