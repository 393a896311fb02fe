//! Questions about traits as people write them: `height_m < 1`, `feeds has monarch`,
//! `toxicity is missing`. Text comes in; a question goes out, or what is wrong with it.

use std::collections::BTreeSet;

use super::trait_values::{Scale, Span};
use super::{SpeciesCommandError, refused};
use crate::nearest::nearest;
use crate::species::{Catalogue, Form, KNOWN_TRAITS, KnownTrait, Values, full_name};

/// The trait that holds places, of which a whole one is meant.
pub(super) const PLACES: &str = "present_in";

/// What stands in the columns of every species and can be asked like a trait.
pub(super) const NAMES: [&str; 4] = ["id", "scientific_name", "common_name", "form"];

/// One question about one trait.
#[derive(Debug, PartialEq)]
pub(super) struct Question {
    /// As the person wrote it.
    pub(super) written: String,
    /// The name of the trait.
    pub(super) name: String,
    /// How its values are read.
    pub(super) scale: Scale,
    /// What is asked of them.
    pub(super) wanted: Wanted,
}

/// What is asked of a value.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Wanted {
    /// Nothing is recorded.
    Missing,
    /// Something is recorded.
    Known,
    /// A span that stands so to this one.
    Order(Order, Span),
    /// One of the texts is this, or none is.
    Is { text: String, not: bool },
    /// One of the texts holds words that begin so.
    Has(String),
    /// One of the places is this.
    HasPlace(String),
}

/// How two spans stand to each other; a span is below another where any of it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Order {
    Below,
    AtMost,
    At,
    NotAt,
    AtLeast,
    Above,
}

const SIGNS: [(&str, Order); 7] = [
    ("<=", Order::AtMost),
    (">=", Order::AtLeast),
    ("!=", Order::NotAt),
    ("==", Order::At),
    ("<", Order::Below),
    (">", Order::Above),
    ("=", Order::At),
];

impl Question {
    /// The question so written.
    ///
    /// # Errors
    /// A trait that nobody knows, a comparison that the trait does not have, a value
    /// that is none of its values.
    pub(super) fn read(text: &str, catalogue: &Catalogue) -> Result<Question, SpeciesCommandError> {
        let (name, sign, value) = parted(text)?;
        let name = trait_named(name, catalogue)?;
        let scale = scale_of(&name, value, catalogue);
        let wanted = match sign {
            Sign::Missing => Wanted::Missing,
            Sign::Known => Wanted::Known,
            Sign::Has => has(&name, value, scale, catalogue)?,
            Sign::Order(order) => ordered(&name, order, value, scale)?,
        };
        Ok(Question {
            written: text.trim().to_owned(),
            name,
            scale,
            wanted,
        })
    }
}

enum Sign {
    Missing,
    Known,
    Has,
    Order(Order),
}

/// Name, sign and value.
fn parted(text: &str) -> Result<(&str, Sign, &str), SpeciesCommandError> {
    let text = text.trim();
    for (words, sign) in [
        (&[" is missing", " missing"][..], Sign::Missing),
        (&[" is known", " known"][..], Sign::Known),
    ] {
        if let Some(name) = words.iter().find_map(|word| text.strip_suffix(word)) {
            return Ok((name.trim(), sign, ""));
        }
    }
    let first = text.find(['<', '>', '=', '!']);
    let has = text
        .find(" has ")
        .filter(|at| first.is_none_or(|sign| *at < sign));
    let parts = match (has, first) {
        (Some(at), _) => Some((&text[..at], Sign::Has, &text[at + 5..])),
        (None, Some(at)) => SIGNS
            .iter()
            .find(|(sign, _)| text[at..].starts_with(sign))
            .map(|(sign, order)| (&text[..at], Sign::Order(*order), &text[at + sign.len()..])),
        (None, None) => None,
    };
    match parts {
        Some((name, sign, value)) if !name.trim().is_empty() && !value.trim().is_empty() => {
            Ok((name.trim(), sign, value.trim()))
        }
        _ => Err(refused(format!(
            "`--where '{text}'` needs a trait, one of < <= = != >= > has, and a value; or a trait and `is missing` or `is known`"
        ))),
    }
}

/// The trait of this name, or with this label.
pub(super) fn trait_named(name: &str, catalogue: &Catalogue) -> Result<String, SpeciesCommandError> {
    let held = catalogue
        .species
        .iter()
        .flat_map(|species| species.traits.iter().map(|value| value.name.as_str()));
    let names: BTreeSet<&str> = KNOWN_TRAITS
        .iter()
        .map(|known| known.name)
        .chain(NAMES)
        .chain(held)
        .collect();
    if let Some(found) = names.iter().find(|other| other.eq_ignore_ascii_case(name)) {
        return Ok((*found).to_owned());
    }
    if let Some(known) = KNOWN_TRAITS
        .iter()
        .find(|known| known.label.eq_ignore_ascii_case(name))
    {
        return Ok(known.name.to_owned());
    }
    // A name without its unit is the likeliest slip.
    let without_unit = names
        .iter()
        .find(|other| other.rsplit_once('_').is_some_and(|(stem, _)| stem == name));
    let hint = match without_unit
        .copied()
        .or_else(|| nearest(name, names.iter().copied()))
    {
        Some(near) => format!("; did you mean `{near}`?"),
        None => format!("; there are {}", names.into_iter().collect::<Vec<_>>().join(", ")),
    };
    Err(refused(format!("there is no trait `{name}`{hint}")))
}

/// How values are read: as the trait is known, and of an unknown one as numbers where
/// a number is asked for and some species has one.
fn scale_of(name: &str, value: &str, catalogue: &Catalogue) -> Scale {
    if let Some(known) = KnownTrait::of(name) {
        return Scale::of(known.values);
    }
    let numbers = Scale::Numbers("");
    let has_numbers = || {
        let held = catalogue
            .species
            .iter()
            .filter_map(|species| species.trait_of(name));
        held.into_iter()
            .any(|value| numbers.spans(&value.value).is_some())
    };
    if !NAMES.contains(&name) && numbers.asked(value).is_ok() && has_numbers() {
        numbers
    } else {
        Scale::Texts
    }
}

fn ordered(name: &str, order: Order, value: &str, scale: Scale) -> Result<Wanted, SpeciesCommandError> {
    let is = |not| Wanted::Is {
        text: value.to_owned(),
        not,
    };
    let wanted = match (scale, order) {
        (Scale::Texts, Order::At) => is(false),
        (Scale::Texts, Order::NotAt) => is(true),
        (Scale::Texts, _) => {
            return Err(refused(format!(
                "`{name}` holds words, which have no order: ask with =, != or has"
            )));
        }
        (Scale::Conservatism, Order::At | Order::NotAt) if value.eq_ignore_ascii_case("introduced") => {
            is(order == Order::NotAt)
        }
        _ => {
            let span = scale.asked(value).map_err(|needed| {
                refused(format!(
                    "found `{value}` for `{name}`, needed {}",
                    near_word(scale, value, needed)
                ))
            })?;
            Wanted::Order(order, span)
        }
    };
    if scale == Scale::Texts {
        check_word(name, value)?;
    }
    Ok(wanted)
}

/// The list of words, with the nearest where there is one.
fn near_word(scale: Scale, value: &str, needed: String) -> String {
    let near = match scale {
        Scale::Ladder(words) => nearest(value, words.iter().copied()),
        _ => None,
    };
    match near {
        Some(near) => format!("{needed}; did you mean `{near}`?"),
        None => needed,
    }
}

/// A word of a trait that has only certain words.
fn check_word(name: &str, value: &str) -> Result<(), SpeciesCommandError> {
    let forms = Form::ALL.map(Form::word);
    let words: &[&str] = match KnownTrait::of(name).map(|known| known.values) {
        Some(Values::Words(words)) => words,
        None if name == "form" => &forms,
        _ => return Ok(()),
    };
    if words.iter().any(|word| word.eq_ignore_ascii_case(value)) {
        return Ok(());
    }
    let near = nearest(value, words.iter().copied())
        .map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
    Err(refused(format!(
        "found `{value}` for `{name}`, needed one of {}{near}",
        words.join(", ")
    )))
}

fn has(name: &str, value: &str, scale: Scale, catalogue: &Catalogue) -> Result<Wanted, SpeciesCommandError> {
    match scale {
        Scale::Texts if name == PLACES => {
            let value = full_name(value);
            let places: BTreeSet<&str> = catalogue
                .species
                .iter()
                .filter_map(|species| species.trait_of(name))
                .flat_map(|held| held.value.split(';').map(str::trim))
                .collect();
            if places.iter().any(|place| place.eq_ignore_ascii_case(value)) {
                return Ok(Wanted::HasPlace(value.to_owned()));
            }
            let near = nearest(value, places.iter().copied());
            let hint = near.map_or_else(
                || {
                    format!(
                        "; there are {}",
                        places.iter().copied().collect::<Vec<_>>().join(", ")
                    )
                },
                |near| format!("; did you mean `{near}`?"),
            );
            Err(refused(format!("no species is recorded in `{value}`{hint}")))
        }
        Scale::Texts => Ok(Wanted::Has(value.to_lowercase())),
        // A month or a step that is among the others.
        Scale::Months | Scale::Ladder(_) | Scale::Zones => ordered(name, Order::At, value, scale),
        Scale::Numbers(_) | Scale::Conservatism => Err(refused(format!(
            "`{name}` holds numbers: ask with <, <=, =, !=, >= or >"
        ))),
    }
}
