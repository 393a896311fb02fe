//! Whether a species answers a question about a trait. What is not recorded is neither
//! yes nor no.

use super::trait_query::{Order, Question, Wanted};
use super::trait_values::Span;
use crate::species::Species;

/// What a species answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Answer {
    Yes,
    No,
    /// Why nobody knows: `height_m is not recorded`.
    Unknown(String),
}

impl Question {
    /// The answer of one species; only the value in use is looked at.
    pub(super) fn answer(&self, species: &Species) -> Answer {
        let value = match self.name.as_str() {
            "id" => Some(species.id.as_str()),
            "scientific_name" => Some(species.scientific_name.as_str()),
            "common_name" => Some(species.common_name.as_str()),
            "form" => Some(species.form.word()),
            name => species.trait_of(name).map(|held| held.value.as_str()),
        };
        let holds = match (&self.wanted, value) {
            (Wanted::Missing, value) => Some(value.is_none()),
            (Wanted::Known, value) => Some(value.is_some()),
            (_, None) => return Answer::Unknown(format!("{} is not recorded", self.name)),
            (wanted, Some(value)) => self.holds(wanted, value),
        };
        match holds {
            Some(true) => Answer::Yes,
            Some(false) => Answer::No,
            None => Answer::Unknown(format!(
                "{} `{}` cannot be compared",
                self.name,
                value.unwrap_or_default()
            )),
        }
    }

    /// Nothing where the value cannot be read as what was asked.
    fn holds(&self, wanted: &Wanted, value: &str) -> Option<bool> {
        Some(match wanted {
            Wanted::Missing | Wanted::Known => return None,
            Wanted::Is { text, not } => {
                let is =
                    value.eq_ignore_ascii_case(text) || items(value).any(|item| item == text.to_lowercase());
                is != *not
            }
            Wanted::Has(text) => holds_words(&value.to_lowercase(), text),
            Wanted::HasPlace(text) => items(value).any(|item| item == text.to_lowercase()),
            Wanted::Order(order, asked) => match self.scale.spans(value) {
                Some(spans) => order.holds(&spans, *asked),
                // A plant that was brought in has no coefficient, and that is known.
                None if value.eq_ignore_ascii_case("introduced") => *order == Order::NotAt,
                None => return None,
            },
        })
    }
}

impl Order {
    /// Whether any of the spans stands so to the one asked for.
    fn holds(self, spans: &[Span], asked: Span) -> bool {
        let any = |test: &dyn Fn(&Span) -> bool| spans.iter().any(test);
        match self {
            Order::Below => any(&|span| span.0 < asked.0),
            Order::AtMost => any(&|span| span.0 <= asked.1),
            Order::At => any(&|span| span.0 <= asked.1 && span.1 >= asked.0),
            Order::NotAt => !Order::At.holds(spans, asked),
            Order::AtLeast => any(&|span| span.1 >= asked.0),
            Order::Above => any(&|span| span.1 > asked.1),
        }
    }
}

fn items(value: &str) -> impl Iterator<Item = String> {
    value.split(';').map(|item| item.trim().to_lowercase())
}

/// Whether `text` stands in `value` from the beginning of a word.
fn holds_words(value: &str, text: &str) -> bool {
    value.match_indices(text).any(|(at, _)| {
        let before = value[..at].chars().next_back();
        before.is_none_or(|sign| !sign.is_alphanumeric())
    })
}
