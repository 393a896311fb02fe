//! Ground values as people read them: what a place has, and what a species would
//! need there.

use std::collections::HashMap;
use std::sync::{PoisonError, RwLock};

use super::question::Questions;
use super::response_cuts::cuts_at;
use crate::factor::{Factor, Kind, Unit, Units};
use crate::species::{Opinion, Response};

/// The value a place has, in words or with its unit.
///
/// # Missing
/// Not a number reads "no value".
#[must_use]
pub fn found_text(factor: &Factor, value: f32, units: Units) -> String {
    if value.is_nan() {
        "no value".to_owned()
    } else {
        factor.show(value, units)
    }
}

/// The values that species would need, asked again and again.
pub struct Needs<'a> {
    questions: &'a Questions,
    units: Units,
    told: RwLock<HashMap<NeedKey, Option<String>>>,
}

/// What a need hangs on: species, factor, the opinion that holds, and the bits of the
/// score asked for.
type NeedKey = (usize, usize, usize, u64);

impl<'a> Needs<'a> {
    /// Needs in the units people read.
    #[must_use]
    pub fn new(questions: &'a Questions, units: Units) -> Needs<'a> {
        Needs {
            questions,
            units,
            told: RwLock::default(),
        }
    }

    /// The values of a factor at which the score of a species is `least` or more,
    /// given all other values of the place: `pH 5 to 7.5`, `well drained, moderately
    /// well drained`. Numbers are rounded into the span, so that each one told would
    /// do.
    ///
    /// # Missing
    /// Nothing where no value of the factor would do, as far as the profile tells.
    #[must_use]
    pub fn text(&self, species: usize, factor: usize, values: &[f32], least: f64) -> Option<String> {
        let holds = |opinion: &Opinion| {
            opinion.given.as_ref().is_none_or(|given| {
                let other = self.questions.factor_index(&given.factor);
                let other = other.map(|index| values[index]);
                other.is_some_and(|other| !other.is_nan() && given.holds_for(other))
            })
        };
        let opinions = self.questions.opinions(species, factor);
        let place = opinions.iter().position(holds)?;
        let key = (species, factor, place, least.to_bits());
        // What is kept is whole even when another thread broke off.
        let told = self.told.read().unwrap_or_else(PoisonError::into_inner);
        if let Some(text) = told.get(&key) {
            return text.clone();
        }
        drop(told);
        let text = self.reckon(factor, &opinions[place].response, least);
        let mut told = self.told.write().unwrap_or_else(PoisonError::into_inner);
        told.entry(key).or_insert(text).clone()
    }

    fn reckon(&self, factor: usize, response: &Response, least: f64) -> Option<String> {
        let reaches = |value: f32| response.score(value).is_some_and(|score| score.get() >= least);
        let (texts, between): (Vec<String>, _) = match &self.questions.factors()[factor].factor.kind {
            Kind::Classes { names, .. } => {
                #[expect(clippy::cast_precision_loss, reason = "class counts are small")]
                let fitting = (0..names.len()).filter(|&class| reaches(class as f32));
                (fitting.map(|class| names[class].clone()).collect(), ", ")
            }
            Kind::Measured(unit) => {
                let spans = spans(response, least).into_iter();
                (
                    spans.map(|span| span_text(span, *unit, self.units)).collect(),
                    " or ",
                )
            }
        };
        (!texts.is_empty()).then(|| texts.join(between))
    }
}

/// Values from the first up to, but not with, the second; open where there is none.
type Span = (Option<f32>, Option<f32>);

/// The spans in which a response's score is `least` or more.
fn spans(response: &Response, least: f64) -> Vec<Span> {
    let reaches = |value: f32| response.score(value).is_some_and(|score| score.get() >= least);
    let cuts = cuts_at(response, least);
    let mut spans: Vec<Span> = Vec::new();
    if reaches(f32::MIN) {
        spans.push((None, cuts.first().copied()));
    }
    for (place, &from) in cuts.iter().enumerate() {
        if reaches(from) {
            spans.push((Some(from), cuts.get(place + 1).copied()));
        }
    }
    spans
}

/// A span in the units people read.
fn span_text((from, to): Span, unit: Unit, units: Units) -> String {
    let read = |value: f32| unit.for_people(f64::from(value), units).0;
    let (_, symbol) = unit.for_people(0.0, units);
    let (low, high) = (from.map(read), to.map(|to| read(to.next_down())));
    let mut decimals = unit.decimals();
    // A narrow span needs more decimals to hold any number at all.
    if let (Some(low), Some(high)) = (low, high) {
        while decimals < 6 && rounded_up(low, decimals) >= rounded_down(high, decimals) {
            decimals += 1;
        }
    }
    let number = |value: f64| {
        let text = format!("{value:.decimals$}");
        if text.contains('.') {
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        } else {
            text
        }
    };
    let low = low.map(|value| number(rounded_up(value, decimals)));
    let high = high.map(|value| number(rounded_down(value, decimals)));
    match (low, high) {
        (None, None) => "any value".to_owned(),
        (None, Some(high)) => format!("at most {}", unit.beside(&high, symbol)),
        (Some(low), None) => format!("at least {}", unit.beside(&low, symbol)),
        (Some(low), Some(high)) => unit.beside(&format!("{low} to {high}"), symbol),
    }
}

/// Rounded up, but for the last digits of a single-precision number.
fn rounded_up(value: f64, decimals: usize) -> f64 {
    let (factor, slack) = step(value, decimals);
    (value * factor - slack).ceil() / factor
}

/// Rounded down, but for the last digits of a single-precision number.
fn rounded_down(value: f64, decimals: usize) -> f64 {
    let (factor, slack) = step(value, decimals);
    (value * factor + slack).floor() / factor
}

fn step(value: f64, decimals: usize) -> (f64, f64) {
    let factor = 10f64.powi(i32::try_from(decimals).unwrap_or(0));
    (factor, value.abs() * factor * 4.0 * f64::from(f32::EPSILON))
}

#[cfg(test)]
#[path = "needed_tests.rs"]
mod tests;
