//! Ground values as people read them: what a place has, and what a species would
//! need there.

use std::cell::RefCell;
use std::collections::HashMap;

use super::axis::Axis;
use super::question::Questions;
use super::rule::Settings;
use crate::factor::{Factor, Kind, Unit};

/// The value a place has, in words or with its unit.
///
/// # Missing
/// Not a number reads "no value".
#[must_use]
pub fn found_text(factor: &Factor, value: f32) -> String {
    if value.is_nan() {
        "no value".to_owned()
    } else {
        factor.show(value)
    }
}

/// The values that species would need, asked again and again.
pub struct Needs<'a> {
    questions: &'a Questions,
    settings: &'a Settings,
    /// For each factor its axis, cut where a class changes.
    axes: Vec<Axis>,
    /// What does not hang on other factors, by species and factor.
    known: RefCell<HashMap<(usize, usize), Option<String>>>,
}

impl<'a> Needs<'a> {
    /// Needs under the settings of a rating.
    #[must_use]
    pub fn new(questions: &'a Questions, settings: &'a Settings) -> Needs<'a> {
        let level = |score: f64| settings.limits.class_of(score, true) as u32;
        let factors = 0..questions.factors().len();
        Needs {
            questions,
            settings,
            axes: factors
                .map(|factor| Axis::new(questions, factor, &level))
                .collect(),
            known: RefCell::default(),
        }
    }

    /// The values of a factor at which a species reaches the wanted class, given all
    /// other values of the place: `5.0 to 7.5 pH`, `well drained, moderately well
    /// drained`.
    ///
    /// # Missing
    /// Nothing where no value of the factor would do, as far as the profile tells.
    #[must_use]
    pub fn text(&self, species: usize, factor: usize, values: &[f32]) -> Option<String> {
        let opinions = self.questions.opinions(species, factor);
        if opinions.iter().any(|opinion| opinion.given.is_some()) {
            return self.reckon(species, factor, values);
        }
        if let Some(known) = self.known.borrow().get(&(species, factor)) {
            return known.clone();
        }
        let text = self.reckon(species, factor, values);
        self.known.borrow_mut().insert((species, factor), text.clone());
        text
    }

    fn reckon(&self, species: usize, factor: usize, values: &[f32]) -> Option<String> {
        let mut values = values.to_vec();
        let mut reaches = |value: f32| {
            values[factor] = value;
            let opinions = self.questions.opinions(species, factor).iter();
            let mut holding = opinions.filter(|opinion| {
                opinion.given.as_ref().is_none_or(|given| {
                    let other = self
                        .questions
                        .factor_index(&given.factor)
                        .map(|index| values[index]);
                    other.is_some_and(|other| !other.is_nan() && given.holds_for(other))
                })
            });
            let score = holding.find_map(|opinion| opinion.response.score(value));
            score.is_some_and(|score| score.get() >= self.settings.wanted())
        };
        match &self.questions.factors()[factor].factor.kind {
            Kind::Classes { names, .. } => {
                #[expect(clippy::cast_precision_loss, reason = "class counts are small")]
                let fitting: Vec<&str> = (0..names.len())
                    .filter(|&class| reaches(class as f32))
                    .map(|class| names[class].as_str())
                    .collect();
                (!fitting.is_empty()).then(|| fitting.join(", "))
            }
            Kind::Measured(unit) => {
                let texts: Vec<String> = spans(&self.axes[factor], &mut reaches)
                    .into_iter()
                    .map(|span| span_text(span, *unit))
                    .collect();
                (!texts.is_empty()).then(|| texts.join(" or "))
            }
        }
    }
}

/// From and to; open where there is no number.
type Span = (Option<f32>, Option<f32>);

/// The stretches of an axis on which `reaches` holds.
fn spans(axis: &Axis, reaches: &mut dyn FnMut(f32) -> bool) -> Vec<Span> {
    let mut spans: Vec<Span> = Vec::new();
    for bin in 1..axis.bins() {
        let from = (bin > 1).then(|| axis.sample(bin));
        let to = (bin + 1 < axis.bins()).then(|| axis.sample(bin + 1));
        if !reaches(axis.sample(bin)) {
            continue;
        }
        match spans.last_mut() {
            Some(last) if last.1 == from => last.1 = to,
            _ => spans.push((from, to)),
        }
    }
    spans
}

fn span_text(span: Span, unit: Unit) -> String {
    let number = |value: f32| {
        let text = format!("{value:.1}");
        text.strip_suffix(".0").unwrap_or(&text).to_owned()
    };
    match span {
        (None, None) => format!("any {unit}"),
        (None, Some(to)) => format!("at most {} {unit}", number(to)),
        (Some(from), None) => format!("at least {} {unit}", number(from)),
        (Some(from), Some(to)) => format!("{} to {} {unit}", number(from), number(to)),
    }
}
