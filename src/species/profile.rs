//! One species: its names, its form, its traits, and what it stands of each
//! factor, every value with its source.

use serde::Serialize;

use super::{KNOWN_TRAITS, KnownTrait, Part, Response};
use crate::factor::as_written;

/// One species of the catalogue.
#[derive(Debug, Clone, PartialEq)]
pub struct Species {
    /// The short word for it in files: `carex-stricta`.
    pub id: String,
    /// Scientific name.
    pub scientific_name: String,
    /// Common name.
    pub common_name: String,
    /// Growth form.
    pub form: Form,
    /// All other traits the catalogue gives, in the order of its columns.
    pub traits: Vec<Trait>,
    /// What it stands, in the order of the catalogue.
    pub opinions: Vec<Opinion>,
}

impl Species {
    /// The opinions on one factor.
    pub fn opinions_on<'a>(&'a self, factor: &'a str) -> impl Iterator<Item = &'a Opinion> {
        self.opinions
            .iter()
            .filter(move |opinion| opinion.factor == factor)
    }

    /// The traits of a part in the order in which the program knows them; of none, those
    /// that it does not know, in the order of the catalogue.
    #[must_use]
    pub fn traits_in(&self, part: Option<Part>) -> Vec<&Trait> {
        if part.is_none() {
            let unknown = |value: &&Trait| KnownTrait::of(&value.name).is_none();
            return self.traits.iter().filter(unknown).collect();
        }
        let known = KNOWN_TRAITS.iter().filter(|known| Some(known.part) == part);
        known.filter_map(|known| self.trait_of(known.name)).collect()
    }

    /// The value of a trait and its source.
    #[must_use]
    pub fn trait_of(&self, name: &str) -> Option<&Trait> {
        self.traits.iter().find(|value| value.name == name)
    }

    /// The ids of all sources that its values name, those set aside too, as often as
    /// they are named.
    pub fn source_ids(&self) -> impl Iterator<Item = &str> {
        let traits = self.traits.iter().map(|held| (&held.source, &held.set_aside));
        let opinions = self.opinions.iter().map(|held| (&held.source, &held.set_aside));
        traits.chain(opinions).flat_map(|(used, aside)| {
            let aside = aside.iter().map(|other| other.source.as_str());
            [used.as_str()].into_iter().chain(aside)
        })
    }

    /// Other names in the trait `synonyms`, parted by semicolons or upright strokes.
    pub fn synonyms(&self) -> impl Iterator<Item = &str> {
        let names = self.trait_of("synonyms").map_or("", |value| value.value.as_str());
        names
            .split([';', '|'])
            .map(str::trim)
            .filter(|name| !name.is_empty())
    }
}

/// Growth forms, in the order in which lists show them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Form {
    /// Trees.
    Tree,
    /// Shrubs and subshrubs.
    Shrub,
    /// Grasses, sedges and rushes.
    Grass,
    /// Broad-leaved herbs.
    Forb,
    /// Ferns.
    Fern,
}

impl Form {
    /// All forms, in the order in which lists show them.
    pub const ALL: [Form; 5] = [Form::Tree, Form::Shrub, Form::Grass, Form::Forb, Form::Fern];

    /// The form so written, letter case aside.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Form> {
        Form::ALL
            .into_iter()
            .find(|form| form.word().eq_ignore_ascii_case(word.trim()))
    }

    /// The form as written in catalogues.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Form::Tree => "tree",
            Form::Shrub => "shrub",
            Form::Grass => "grass",
            Form::Forb => "forb",
            Form::Fern => "fern",
        }
    }
}

/// One trait of a species, as the catalogue words it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trait {
    /// The column's name: `height_m`.
    pub name: String,
    /// The value; never empty.
    pub value: String,
    /// Id of the source of the value.
    pub source: String,
    /// Anything to say about it; may be empty.
    pub note: String,
    /// Values of other sources that are not used. Where there are any, the value
    /// is disputed and the note says why this one is used.
    pub set_aside: Vec<SetAside>,
}

/// A value or response of another source that is told but not used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SetAside {
    /// What that source says.
    pub value: String,
    /// Id of the source.
    pub source: String,
    /// Anything to say about it; may be empty.
    pub note: String,
}

/// What a species stands of one factor, perhaps only under a condition.
#[derive(Debug, Clone, PartialEq)]
pub struct Opinion {
    /// Id of the factor.
    pub factor: String,
    /// Where the response holds; everywhere when there is none.
    pub given: Option<Condition>,
    /// Value to score.
    pub response: Response,
    /// Id of the source.
    pub source: String,
    /// Anything to say about it: derived by which rule, why this one is used.
    pub note: String,
    /// What other sources say, not used; where there is any, the opinion is disputed.
    pub set_aside: Vec<SetAside>,
}

/// Ground on which an opinion holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Condition {
    /// Id of the factor that decides.
    pub factor: String,
    /// The values of it for which the opinion holds.
    pub holds: Holds,
}

/// Values for which a condition holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Holds {
    /// These classes, by index.
    Classes(Vec<u16>),
    /// From the first number up to, but not with, the second.
    Between(f64, f64),
}

impl Condition {
    /// Whether the condition holds for a value of its factor.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "class factors hold small whole indices"
    )]
    pub fn holds_for(&self, value: f32) -> bool {
        match &self.holds {
            Holds::Classes(classes) => classes.contains(&(value as u16)),
            Holds::Between(from, to) => (*from..*to).contains(&as_written(value)),
        }
    }
}
