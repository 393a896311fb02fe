//! The rating of one species in one cell: the meaning that the fast tables keep.

use super::answer::{Answer, Gap};
use super::question::Questions;
use super::rule::Settings;
use crate::score::{Class, Score};

/// How one species fares in one cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Rating {
    /// It suits or does not.
    Known {
        /// The rating, 0 to 1. Where a low score settles it although something
        /// else is unknown, the rating of what is known.
        rating: f64,
        /// The factors below the wanted class with their scores, lowest first;
        /// ties in the project's order.
        limiting: Vec<(usize, Score)>,
        /// Number of questions with a score.
        rests_on: usize,
        /// Whether it would be in order S if all that people can put right scored 1.
        remediable: bool,
    },
    /// Not to be known.
    Unknown {
        /// What lacks, by factor; empty when the species has an opinion on nothing.
        missing: Vec<(usize, Gap)>,
    },
}

/// The three states of a species in a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum State {
    /// Reaches the wanted class.
    Suits,
    /// Does not.
    DoesNot,
    /// Unknown, never turned into either.
    Unknown,
}

impl Rating {
    /// The state this rating is.
    #[must_use]
    pub fn state(&self, settings: &Settings) -> State {
        match self {
            Rating::Unknown { .. } => State::Unknown,
            Rating::Known { rating, .. } if *rating >= settings.wanted() => State::Suits,
            Rating::Known { .. } => State::DoesNot,
        }
    }

    /// The class, where known. Order N parts into N1 and N2 by what could be put
    /// right.
    #[must_use]
    pub fn class(&self, settings: &Settings) -> Option<Class> {
        let Rating::Known {
            rating, remediable, ..
        } = self
        else {
            return None;
        };
        Some(settings.limits.class_of(*rating, *remediable))
    }
}

/// Rates one species in one cell, given the values of all factors in the
/// project's order.
///
/// # Missing
/// A value that is not a number is missing.
///
/// # Examples
/// ```
/// use groundfit::factor::Factor;
/// use groundfit::project::{Missing, Rule};
/// use groundfit::rating::{Questions, RatedFactor, Rating, Settings, State, rate};
/// use groundfit::score::{Class, ClassLimits};
/// use groundfit::species::{Form, Opinion, Response, Species};
///
/// let ph = RatedFactor {
///     factor: Factor::standard("ph").unwrap(),
///     missing: Missing::Unknown,
///     weight: 1.0,
///     from_raster: false,
/// };
/// let sedge = Species {
///     id: "carex-stricta".into(),
///     scientific_name: "Carex stricta".into(),
///     common_name: "upright sedge".into(),
///     form: Form::Grass,
///     traits: vec![],
///     opinions: vec![Opinion {
///         factor: "ph".into(),
///         given: None,
///         response: Response::range(Some(3.0), Some(4.0), Some(6.5), Some(8.0)).unwrap(),
///         source: "example".into(),
///         note: String::new(),
///         set_aside: Vec::new(),
///     }],
/// };
/// let settings = Settings {
///     rule: Rule::Limiting,
///     limits: ClassLimits::new(0.85, 0.6, 0.4).unwrap(),
///     at_least: Class::S2,
/// };
/// let questions = Questions::new(vec![ph], &[sedge]);
/// assert_eq!(rate(&questions, &settings, 0, &[6.0]).state(&settings), State::Suits);
/// assert_eq!(rate(&questions, &settings, 0, &[8.0]).state(&settings), State::DoesNot);
/// assert_eq!(rate(&questions, &settings, 0, &[f32::NAN]).state(&settings), State::Unknown);
/// ```
#[must_use]
pub fn rate(questions: &Questions, settings: &Settings, species: usize, values: &[f32]) -> Rating {
    let mut heard = Heard::default();
    let Some(rating) = heard.rating(questions, settings, species, values) else {
        let missing = heard.missing;
        return Rating::Unknown { missing };
    };
    let remediable = heard.put_right(questions, settings) >= settings.limits.lowest_of(Class::S3);
    let rests_on = heard.rests_on;
    let mut limiting = heard.scores;
    limiting.retain(|&(_, score)| score.get() < settings.wanted());
    limiting.sort_by(|left, right| left.1.get().total_cmp(&right.1.get()).then(left.0.cmp(&right.0)));
    Rating::Known {
        rating,
        limiting,
        rests_on,
        remediable,
    }
}

/// What a species and a cell say to all questions; kept from cell to cell, so that
/// nothing is allocated for each.
#[derive(Default)]
pub(super) struct Heard {
    scores: Vec<(usize, Score)>,
    rests_on: usize,
    missing: Vec<(usize, Gap)>,
    weighted: Vec<(f64, f64)>,
}

impl Heard {
    /// The rating of one species in one cell.
    ///
    /// # Missing
    /// Nothing where it is unknown.
    pub(super) fn rating(
        &mut self,
        questions: &Questions,
        settings: &Settings,
        species: usize,
        values: &[f32],
    ) -> Option<f64> {
        self.scores.clear();
        self.rests_on = 0;
        self.missing.clear();
        for question in questions.questions() {
            match questions.answer(species, question, values) {
                Answer::Scored { factor, score } => {
                    self.scores.push((factor, score));
                    self.rests_on += questions.rests_on(species, question);
                }
                Answer::Unknown { factor, gap } => self.missing.push((factor, gap)),
                Answer::Harmless { .. } | Answer::Silent { .. } => {}
            }
        }
        let settled = |&(_, score): &(usize, Score)| settings.settles(score.get());
        if !self.missing.is_empty() && !self.scores.iter().any(settled) {
            return None;
        }
        self.combined(questions, settings, |_, score| score)
    }

    /// The rating if every factor that people can put right scored 1.
    fn put_right(&mut self, questions: &Questions, settings: &Settings) -> f64 {
        let mended = |factor: usize, score| {
            if questions.factors()[factor].factor.remediable {
                1.0
            } else {
                score
            }
        };
        self.combined(questions, settings, mended).unwrap_or(1.0)
    }

    fn combined(
        &mut self,
        questions: &Questions,
        settings: &Settings,
        change: impl Fn(usize, f64) -> f64,
    ) -> Option<f64> {
        self.weighted.clear();
        self.weighted.extend(self.scores.iter().map(|&(factor, score)| {
            let weight = questions.factors()[factor].weight;
            (weight, change(factor, score.get()))
        }));
        settings.rule.combine(&self.weighted)
    }
}

#[cfg(test)]
#[path = "rating_tests.rs"]
mod tests;
