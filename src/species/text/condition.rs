//! Conditions as text: `drainage: well drained, moderately well drained` or
//! `canopy: 0..40`. Text and the factors come in, a condition goes out, and back.

use super::numbers::Numbers;
use super::quoting::{quote, split};
use super::response;
use crate::factor::{Factor, Kind};
use crate::species::problem::hint;
use crate::species::profile::{Condition, Holds};

/// The condition so written; `factors` are those it may hang on.
///
/// A span `from..to` holds from the first number up to, but not with, the
/// second; either may be left out.
///
/// # Errors
/// Every fault of the text.
pub fn parse_condition(
    text: &str,
    factors: &[Factor],
    numbers: &mut Numbers,
) -> Result<Condition, Vec<String>> {
    let Some((id, rest)) = text.split_once(':') else {
        return Err(vec![format!(
            "a condition is written `factor: class, class` or `factor: from..to`, found `{}`",
            text.trim()
        )]);
    };
    let id = id.trim();
    let Some(factor) = factors.iter().find(|factor| factor.id == id) else {
        let ids = factors.iter().map(|factor| factor.id.as_str());
        return Err(vec![format!("there is no factor `{id}`{}", hint(id, ids))]);
    };
    let holds = match &factor.kind {
        Kind::Classes { .. } => parse_class_list(rest, factor)?,
        Kind::Measured(_) => parse_span(rest, numbers)?,
    };
    Ok(Condition {
        factor: factor.id.clone(),
        holds,
    })
}

fn parse_class_list(rest: &str, factor: &Factor) -> Result<Holds, Vec<String>> {
    let mut faults = Vec::new();
    let mut classes = Vec::new();
    for name in split(rest, &[',', ';']) {
        if name.trim().is_empty() {
            continue;
        }
        match response::parse_class(name, factor) {
            Ok(class) => classes.push(class),
            Err(fault) => faults.push(fault),
        }
    }
    classes.sort_unstable();
    classes.dedup();
    if faults.is_empty() && classes.is_empty() {
        faults.push(format!("the condition names no class of `{}`", factor.id));
    }
    if faults.is_empty() {
        Ok(Holds::Classes(classes))
    } else {
        Err(faults)
    }
}

fn parse_span(rest: &str, numbers: &mut Numbers) -> Result<Holds, Vec<String>> {
    let rest = rest.trim();
    let Some((from, to)) = rest.split_once("..") else {
        return Err(vec![format!("a span is written `from..to`, found `{rest}`")]);
    };
    let mut end = |text: &str, open: f64| {
        if text.trim().is_empty() {
            Ok(open)
        } else {
            numbers.parse(text).map_err(|fault| vec![fault])
        }
    };
    let from = end(from, f64::NEG_INFINITY)?;
    let to = end(to, f64::INFINITY)?;
    if from.is_infinite() && to.is_infinite() {
        return Err(vec![
            "a span open at both ends is no condition: leave it out".to_owned(),
        ]);
    }
    if from >= to {
        return Err(vec![format!(
            "the span {rest} is empty: its first number must be below its second"
        )]);
    }
    Ok(Holds::Between(from, to))
}

/// The condition as text, which reads back to the same condition.
#[must_use]
pub fn print_condition(condition: &Condition, factors: &[Factor]) -> String {
    let factor = factors.iter().find(|factor| factor.id == condition.factor);
    let names = factor
        .and_then(|factor| factor.kind.classes())
        .unwrap_or_default();
    let values = match &condition.holds {
        Holds::Classes(classes) => classes
            .iter()
            .map(|&class| {
                names
                    .get(usize::from(class))
                    .map_or_else(|| class.to_string(), |name| quote(name))
            })
            .collect::<Vec<_>>()
            .join(", "),
        Holds::Between(from, to) => {
            let end = |number: &f64| {
                if number.is_finite() {
                    number.to_string()
                } else {
                    String::new()
                }
            };
            format!("{}..{}", end(from), end(to))
        }
    };
    format!("{}: {values}", condition.factor)
}
