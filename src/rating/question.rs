//! Questions to the ground: each is one factor, or several that stand in for one
//! another, so that one fact is not counted twice.

use crate::factor::Factor;
use crate::project::Missing;
use crate::species::{Opinion, Species};

/// A factor of the project as the rating sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct RatedFactor {
    /// The factor itself.
    pub factor: Factor,
    /// What a missing value means.
    pub missing: Missing,
    /// Its weight in the geometric mean.
    pub weight: f64,
    /// Whether its values come from a raster, whose single cells may be noise.
    pub from_raster: bool,
}

/// One question: the factors that answer it, first in the project's order first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// Indices into the project's factors.
    pub members: Vec<usize>,
    /// Whether a species without an answer is unknown.
    pub decisive: bool,
}

/// All that a rating asks: factors, the questions they form, and for each species
/// its opinions sorted by factor.
#[derive(Debug, Clone)]
pub struct Questions {
    factors: Vec<RatedFactor>,
    list: Vec<Question>,
    opinions: Vec<Vec<Vec<Opinion>>>,
}

impl Questions {
    /// The questions of a project's factors to the species of a catalogue.
    #[must_use]
    pub fn new(factors: Vec<RatedFactor>, species: &[Species]) -> Questions {
        let mut topics: Vec<(&str, Question)> = Vec::new();
        for (index, rated) in factors.iter().enumerate() {
            let topic = rated.factor.stands_in_for.as_deref().unwrap_or(&rated.factor.id);
            match topics.iter_mut().find(|(known, _)| *known == topic) {
                Some((_, question)) => {
                    question.members.push(index);
                    question.decisive |= rated.factor.decisive;
                }
                None => topics.push((
                    topic,
                    Question {
                        members: vec![index],
                        decisive: rated.factor.decisive,
                    },
                )),
            }
        }
        let list = topics.into_iter().map(|(_, question)| question).collect();
        let opinions = species
            .iter()
            .map(|species| {
                let on = |rated: &RatedFactor| {
                    let about = |opinion: &&Opinion| opinion.factor == rated.factor.id;
                    species.opinions.iter().filter(about).cloned().collect()
                };
                factors.iter().map(on).collect()
            })
            .collect();
        Questions {
            factors,
            list,
            opinions,
        }
    }

    /// The factors, in the project's order.
    #[must_use]
    pub fn factors(&self) -> &[RatedFactor] {
        &self.factors
    }

    /// The questions, in the order of their first factors.
    #[must_use]
    pub fn questions(&self) -> &[Question] {
        &self.list
    }

    /// Number of species.
    #[must_use]
    pub fn species_count(&self) -> usize {
        self.opinions.len()
    }

    /// What a species holds about a factor: one opinion, or several under
    /// conditions that do not overlap.
    #[must_use]
    pub fn opinions(&self, species: usize, factor: usize) -> &[Opinion] {
        &self.opinions[species][factor]
    }

    /// The index of the factor so named.
    #[must_use]
    pub fn factor_index(&self, id: &str) -> Option<usize> {
        self.factors.iter().position(|rated| rated.factor.id == id)
    }

    /// The factors whose values a question's answer hangs on: its members, then
    /// those that conditions of any species name.
    #[must_use]
    pub fn factors_of(&self, question: &Question) -> Vec<usize> {
        let mut indices = question.members.clone();
        for by_factor in &self.opinions {
            for &member in &question.members {
                let conditions = by_factor[member]
                    .iter()
                    .filter_map(|opinion| opinion.given.as_ref());
                for index in conditions.filter_map(|given| self.factor_index(&given.factor)) {
                    if !indices.contains(&index) {
                        indices.push(index);
                    }
                }
            }
        }
        indices
    }
}
