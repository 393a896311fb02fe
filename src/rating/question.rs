//! Questions to the ground: each is one factor, or several that stand in for one
//! another, so that one fact is not counted twice.

use super::rule::Settings;
use crate::factor::Factor;
use crate::project::Missing;
use crate::soil::SoilMixes;
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
    /// The questions that are asked of each soil of a map unit, together; nothing where
    /// the question is asked of the place as a whole. Then the one member is the map
    /// unit.
    pub soil: Vec<Question>,
}

/// What is needed to ask soil by soil.
#[derive(Debug, Clone)]
pub(super) struct BySoil {
    /// The soils of map units.
    pub mixes: SoilMixes,
    /// What ratings are measured by: each soil is classed by itself.
    pub settings: Settings,
}

/// All that a rating asks: factors, the questions they form, and for each species
/// its opinions sorted by factor.
#[derive(Debug, Clone)]
pub struct Questions {
    factors: Vec<RatedFactor>,
    list: Vec<Question>,
    opinions: Vec<Vec<Vec<Opinion>>>,
    by_soil: Option<BySoil>,
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
                        soil: Vec::new(),
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
            by_soil: None,
        }
    }

    /// The same questions, but all that hang on what is drawn from a soil survey are
    /// asked of each soil of a map unit, and together make one question.
    ///
    /// Only the limiting rule can be split so.
    #[must_use]
    pub fn with_soils(mut self, mixes: SoilMixes, settings: Settings) -> Questions {
        let hangs_on_soil = |question: &Question| {
            let factors = self.factors_of(question);
            factors.iter().any(|&factor| mixes.is_of_soil(factor))
        };
        let mut place = None;
        let (mut rest, mut soil) = (Vec::new(), Vec::new());
        for question in &self.list {
            if hangs_on_soil(question) {
                place = place.or(Some(rest.len()));
                soil.push(question.clone());
            } else if !matches!(question.members[..], [factor] if mixes.is_behind(factor)) {
                rest.push(question.clone());
            }
        }
        if let Some(place) = place {
            let together = Question {
                members: vec![mixes.map_unit],
                decisive: soil.iter().any(|question| question.decisive),
                soil,
            };
            rest.insert(place, together);
        }
        self.list = rest;
        self.by_soil = Some(BySoil { mixes, settings });
        self
    }

    /// How many factors an answer of a species to a question rests on, those that stand
    /// in for one another counted once: of questions asked soil by soil, those on which
    /// it has an opinion.
    #[must_use]
    pub fn rests_on(&self, species: usize, question: &Question) -> usize {
        let has_opinion = |part: &&Question| {
            let mut members = part.members.iter();
            members.any(|&factor| !self.opinions(species, factor).is_empty())
        };
        match question.soil.iter().filter(has_opinion).count() {
            0 => 1,
            several => several,
        }
    }

    /// How many factors an answer could rest on at most.
    #[must_use]
    pub fn asked(&self) -> usize {
        let questions = self.list.iter().map(|question| question.soil.len().max(1));
        questions.sum()
    }

    /// The factors that answers to a question may name.
    #[must_use]
    pub fn named_by(&self, question: &Question) -> Vec<usize> {
        let of_soil = question.soil.iter().flat_map(|part| part.members.iter());
        of_soil.chain(&question.members).copied().collect()
    }

    /// The factors by which a question may draw a border, each with the factor whose
    /// value tells places apart: the same, but for what differs from soil to soil.
    #[must_use]
    pub fn drawn_by(&self, question: &Question) -> Vec<(usize, usize)> {
        let by_soil = self.by_soil().filter(|_| !question.soil.is_empty());
        let salt = by_soil.and_then(|by_soil| by_soil.mixes.salt);
        let salt = salt.map(|salt| (salt.salinity, salt.salt_water));
        let members = question.members.iter().map(|&factor| (factor, factor));
        members.chain(salt).collect()
    }

    pub(super) fn by_soil(&self) -> Option<&BySoil> {
        self.by_soil.as_ref()
    }

    /// Whether what a factor has makes a difference to any species by itself.
    #[must_use]
    pub fn matters(&self, factor: usize) -> bool {
        let unit = self.by_soil.as_ref().map(|by_soil| by_soil.mixes.map_unit);
        unit == Some(factor) || self.opinions.iter().any(|species| !species[factor].is_empty())
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
        if let Some(by_soil) = self.by_soil().filter(|_| !question.soil.is_empty()) {
            let mixes = &by_soil.mixes;
            let parts = question.soil.iter().flat_map(|part| self.factors_of(part));
            let mut indices = question.members.clone();
            for index in mixes.behind().chain(parts) {
                if !indices.contains(&index) && !mixes.is_of_soil(index) {
                    indices.push(index);
                }
            }
            return indices;
        }
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
