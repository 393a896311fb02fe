//! Which species are meant: filters by name, form, traits and what a species stands.
//! One thing that does not hold settles it, whatever else is unknown; where all that is
//! known holds and something is not known, the species is told apart.

use clap::Args;

use super::stands::{Ground, STANDS_FROM, find_factor, score};
use super::trait_query::Question;
use super::trait_test::Answer;
use super::{Opened, SpeciesCommandError, refused};
use crate::factor::Factor;
use crate::nearest::nearest;
use crate::species::{Form, Species};

#[derive(Debug, Args)]
pub(super) struct Filters {
    /// Only this growth form: tree, shrub, grass, forb or fern
    #[arg(long)]
    form: Option<String>,
    /// Only names that hold this text
    #[arg(long, value_name = "TEXT")]
    name: Option<String>,
    /// Only species of which this trait holds, as `height_m < 1`; may be given several times
    #[arg(long = "where", value_name = "EXPRESSION")]
    questions: Vec<String>,
    /// Only species that stand this value (score 0.60 or more); may be given several times
    #[arg(long, value_name = "FACTOR=VALUE")]
    stands: Vec<String>,
    /// Only species without an opinion on this factor
    #[arg(long, value_name = "FACTOR")]
    no_opinion: Option<String>,
}

/// How `--where` is written, for the help of commands.
pub(super) const WHERE_HELP: &str = "An EXPRESSION is a trait, a sign and a value:
  numbers       'height_m < 1'  'height_m < 3 ft'  'c_michigan >= 5'  (introduced never is a number)
  steps         'recorded_drought_tolerance >= medium'  'moisture_range = mesic'
  months        'bloom_months >= August'  'bloom_months = May'
  words         'flower_colour = yellow'  'feeds has monarch'  'present_in has Ohio'
  being there   'toxicity is missing'  'cultivar is known'
A span such as `dry to mesic` holds if any of it does. Species of which the trait is not recorded
are told apart: nobody knows.";

/// The filters, read.
pub(super) struct Sieve<'a> {
    form: Option<Form>,
    name: Option<String>,
    without: Option<&'a Factor>,
    pub(super) questions: Vec<Question>,
    pub(super) ground: Vec<Ground<'a>>,
}

/// What passed, and what may pass if only more were known.
pub(super) struct Sifted<'a> {
    pub(super) held: Vec<&'a Species>,
    pub(super) unknown: Vec<(&'a Species, Vec<String>)>,
}

impl Filters {
    /// The filters, read against a catalogue.
    ///
    /// # Errors
    /// A filter that says nothing.
    pub(super) fn read<'a>(&self, opened: &'a Opened) -> Result<Sieve<'a>, SpeciesCommandError> {
        let without = self.no_opinion.as_deref();
        Ok(Sieve {
            form: self.form.as_deref().map(find_form).transpose()?,
            name: self.name.as_ref().map(|text| text.to_lowercase()),
            without: without.map(|id| find_factor(id, opened)).transpose()?,
            questions: self
                .questions
                .iter()
                .map(|text| Question::read(text, &opened.catalogue))
                .collect::<Result<_, _>>()?,
            ground: self
                .stands
                .iter()
                .map(|text| Ground::read(text, opened))
                .collect::<Result<_, _>>()?,
        })
    }
}

impl Sieve<'_> {
    /// The species that pass, and those of which nobody knows.
    pub(super) fn sift<'s>(&self, species: &'s [Species]) -> Sifted<'s> {
        let mut sifted = Sifted {
            held: Vec::new(),
            unknown: Vec::new(),
        };
        for species in species.iter().filter(|species| self.is_wanted(species)) {
            match self.lacking(species) {
                Some(lacking) if lacking.is_empty() => sifted.held.push(species),
                Some(lacking) => sifted.unknown.push((species, lacking)),
                None => {}
            }
        }
        sifted
    }

    fn is_wanted(&self, species: &Species) -> bool {
        self.form.is_none_or(|form| species.form == form)
            && self.name.as_deref().is_none_or(|text| is_named(species, text))
            && self
                .without
                .is_none_or(|factor| species.opinions_on(&factor.id).next().is_none())
    }

    /// What is not known of a species; nothing where something does not hold.
    fn lacking(&self, species: &Species) -> Option<Vec<String>> {
        let mut lacking = Vec::new();
        for question in &self.questions {
            match question.answer(species) {
                Answer::Yes => {}
                Answer::No => return None,
                Answer::Unknown(why) => lacking.push(why),
            }
        }
        for asked in &self.ground {
            match score(species, asked, &self.ground) {
                Some(score) if score < STANDS_FROM => return None,
                Some(_) => {}
                None => lacking.push(format!("no opinion on {} that holds there", asked.factor.id)),
            }
        }
        Some(lacking)
    }
}

fn is_named(species: &Species, text: &str) -> bool {
    let names = [&species.id, &species.scientific_name, &species.common_name];
    names.iter().any(|name| name.to_lowercase().contains(text))
        || species.synonyms().any(|name| name.to_lowercase().contains(text))
}

fn find_form(word: &str) -> Result<Form, SpeciesCommandError> {
    Form::from_word(word).ok_or_else(|| {
        let words = Form::ALL.map(Form::word);
        let near = nearest(word, words).map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
        refused(format!(
            "`{word}` is no growth form; there are {}{near}",
            words.join(", ")
        ))
    })
}
