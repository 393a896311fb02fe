//! Ground values as people read them: what a place has, and what a species would
//! need there.

use super::axis::Axis;
use super::question::Questions;
use super::rule::Settings;
use crate::factor::{Factor, Kind};

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

/// The values of a factor at which a species reaches the wanted class, given all
/// other values of the cell: `pH 5.0 to 7.5`, `well drained, moderately well
/// drained`.
///
/// # Missing
/// Nothing where no value of the factor would do, as far as the profile tells.
#[must_use]
pub fn needed_text(
    questions: &Questions,
    settings: &Settings,
    species: usize,
    factor: usize,
    values: &[f32],
) -> Option<String> {
    let mut values = values.to_vec();
    let mut reaches = |value: f32| {
        values[factor] = value;
        let opinions = questions.opinions(species, factor).iter();
        let mut holding = opinions.filter(|opinion| {
            opinion.given.as_ref().is_none_or(|given| {
                let other = questions.factor_index(&given.factor).map(|index| values[index]);
                other.is_some_and(|other| !other.is_nan() && given.holds_for(other))
            })
        });
        let score = holding.find_map(|opinion| opinion.response.score(value));
        score.is_some_and(|score| score.get() >= settings.wanted())
    };
    let kind = &questions.factors()[factor].factor.kind;
    if let Kind::Classes { names, .. } = kind {
        #[expect(clippy::cast_precision_loss, reason = "class counts are small")]
        let fitting: Vec<&str> = (0..names.len())
            .filter(|&class| reaches(class as f32))
            .map(|class| names[class].as_str())
            .collect();
        return (!fitting.is_empty()).then(|| fitting.join(", "));
    }
    let limits = settings.limits;
    let axis = Axis::new(questions, factor, &|score| limits.class_of(score, true) as u32);
    let mut spans: Vec<(Option<f32>, Option<f32>)> = Vec::new();
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
    let Kind::Measured(unit) = kind else { return None };
    let number = |value: f32| {
        let text = format!("{value:.1}");
        text.strip_suffix(".0").unwrap_or(&text).to_owned()
    };
    let texts: Vec<String> = spans
        .into_iter()
        .map(|span| match span {
            (None, None) => format!("any {unit}"),
            (None, Some(to)) => format!("at most {} {unit}", number(to)),
            (Some(from), None) => format!("at least {} {unit}", number(from)),
            (Some(from), Some(to)) => format!("{} to {} {unit}", number(from), number(to)),
        })
        .collect();
    (!texts.is_empty()).then(|| texts.join(" or "))
}
