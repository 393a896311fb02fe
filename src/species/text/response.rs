//! Responses as text: `range 4.5 5.5 7.0 7.8`, `curve 0:1 40:0.85 70:0.4`,
//! `classes well drained=1; poorly drained=0.3`, `threshold 2.0 slope 7.3`.
//! Text and a factor come in, a response goes out, and back.

use std::fmt::Write as _;

use super::numbers::Numbers;
use super::quoting::{quote, split, unquote};
use crate::factor::{Factor, Kind};
use crate::nearest::nearest;
use crate::score::Score;
use crate::species::ResponseError;
use crate::species::problem::hint;
use crate::species::response::{Curve, Range, Response, Threshold};

const WORDS: [&str; 4] = ["range", "curve", "classes", "threshold"];

/// Whether a text begins as responses do, right or wrong.
pub fn begins_a_response(text: &str) -> bool {
    let first = text.split_whitespace().next().unwrap_or_default();
    WORDS.iter().any(|word| word.eq_ignore_ascii_case(first))
}

/// The response so written for `factor`.
///
/// # Errors
/// Every fault of the text, each with what was found and what is needed.
///
/// # Examples
/// ```
/// use groundfit::factor::Factor;
/// use groundfit::species::{Numbers, parse_response, print_response};
/// let canopy = Factor::standard("canopy").unwrap();
/// let text = "curve 0:1 40:0.85 70:0.4";
/// let response = parse_response(text, &canopy, &mut Numbers::with_points()).unwrap();
/// assert_eq!(print_response(&response, &canopy), text);
/// ```
pub fn parse_response(text: &str, factor: &Factor, numbers: &mut Numbers) -> Result<Response, Vec<String>> {
    let text = text.trim();
    let (word, rest) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
    let word = word.to_lowercase();
    if !WORDS.contains(&word.as_str()) {
        return Err(vec![format!(
            "a response starts with range, curve, classes or threshold, not with `{word}`{}",
            hint(&word, WORDS)
        )]);
    }
    match (&factor.kind, word.as_str()) {
        (Kind::Classes { names, .. }, "classes") => parse_classes(rest, factor, names, numbers),
        (Kind::Classes { .. }, _) => Err(vec![format!(
            "`{}` has classes, so its response is written `classes name=score; ...`, not `{word}`",
            factor.id
        )]),
        (Kind::Measured(unit), "classes") => Err(vec![format!(
            "`{}` is measured in {unit}, so its response is a range, a curve or a threshold, not classes",
            factor.id
        )]),
        (Kind::Measured(_), "range") => parse_range(rest, numbers),
        (Kind::Measured(_), "curve") => parse_curve(rest, numbers),
        (Kind::Measured(_), _) => parse_threshold(rest, numbers),
    }
}

fn parse_range(rest: &str, numbers: &mut Numbers) -> Result<Response, Vec<String>> {
    let words: Vec<&str> = rest.split_whitespace().collect();
    if words.len() != 4 {
        return Err(vec![format!(
            "a range needs four limits (lowest, best from, best to, highest; `-` for an open end), found {}",
            words.len()
        )]);
    }
    let mut faults = Vec::new();
    let limits: Vec<Option<f64>> = words
        .iter()
        .map(|&word| {
            if word == "-" {
                None
            } else {
                keep(numbers.parse(word), &mut faults)
            }
        })
        .collect();
    if !faults.is_empty() {
        return Err(faults);
    }
    Response::range(limits[0], limits[1], limits[2], limits[3])
        .map_err(|error| vec![range_fault(&limits).unwrap_or_else(|| error.to_string())])
}

/// What is wrong with four limits, in words for the two common slips.
fn range_fault(limits: &[Option<f64>]) -> Option<String> {
    let half = |outer: Option<f64>, inner: Option<f64>| outer.is_some() != inner.is_some();
    if limits.iter().all(Option::is_none) {
        return Some(
            "a range with both ends open says nothing: leave the line out, or give a limit".to_owned(),
        );
    }
    if half(limits[0], limits[1]) || half(limits[3], limits[2]) {
        return Some(
            "an open end is written `- -`: its outer and its best limit are both left out".to_owned(),
        );
    }
    let (best_from, best_to) = (limits[1].or(limits[0]), limits[2].or(limits[3]));
    let outside = limits[0]
        .zip(best_from)
        .is_some_and(|(lowest, best)| best < lowest)
        || limits[3]
            .zip(best_to)
            .is_some_and(|(highest, best)| best > highest);
    let show = |limit: Option<f64>| limit.map_or_else(|| "open".to_owned(), |limit| limit.to_string());
    outside.then(|| {
        format!(
            "the best range {} to {} lies outside the limits {} to {}: limits must rise from the lowest to the highest",
            show(limits[1]),
            show(limits[2]),
            show(limits[0]),
            show(limits[3])
        )
    })
}

fn parse_curve(rest: &str, numbers: &mut Numbers) -> Result<Response, Vec<String>> {
    let mut faults = Vec::new();
    let mut points = Vec::new();
    for word in rest.split_whitespace() {
        let Some((value, score)) = word.split_once(':') else {
            faults.push(format!(
                "a point of a curve is written value:score, found `{word}`"
            ));
            continue;
        };
        let value = keep(numbers.parse(value), &mut faults);
        let score = keep(numbers.parse(score), &mut faults);
        points.extend(value.zip(score));
    }
    if faults.is_empty() {
        Response::curve(points).map_err(as_fault)
    } else {
        Err(faults)
    }
}

fn parse_classes(
    rest: &str,
    factor: &Factor,
    names: &[String],
    numbers: &mut Numbers,
) -> Result<Response, Vec<String>> {
    let mut faults = Vec::new();
    let mut scores: Vec<Option<Score>> = vec![None; names.len()];
    for piece in split(rest, &[';']) {
        if piece.trim().is_empty() {
            continue;
        }
        let Some((name, score)) = piece.rsplit_once('=') else {
            faults.push(format!("a class is written name=score, found `{}`", piece.trim()));
            continue;
        };
        let index = keep(parse_class(name, factor), &mut faults);
        let score = keep(numbers.parse(score), &mut faults).and_then(|number| {
            let fault = || format!("score {number} of `{}` must lie within 0 to 1", name.trim());
            keep(Score::new(number).ok_or_else(fault), &mut faults)
        });
        let Some((index, score)) = index.zip(score) else {
            continue;
        };
        if scores[usize::from(index)].replace(score).is_some() {
            faults.push(format!("class `{}` has two scores", names[usize::from(index)]));
        }
    }
    if faults.is_empty() && scores.iter().all(Option::is_none) {
        faults.push("classes needs at least one class with its score".to_owned());
    }
    if faults.is_empty() {
        Ok(Response::Classes(scores))
    } else {
        Err(faults)
    }
}

/// The index of a class written in a response or a condition.
pub(super) fn parse_class(name: &str, factor: &Factor) -> Result<u16, String> {
    let name = unquote(name);
    factor.kind.class_index(&name).ok_or_else(|| {
        let names = factor.kind.classes().unwrap_or_default();
        match nearest(&name, names.iter().map(String::as_str)) {
            Some(near) => format!("`{name}` is no class of `{}`; did you mean `{near}`?", factor.id),
            None => format!(
                "`{name}` is no class of `{}`, which has {}",
                factor.id,
                names.join(", ")
            ),
        }
    })
}

fn parse_threshold(rest: &str, numbers: &mut Numbers) -> Result<Response, Vec<String>> {
    let words: Vec<&str> = rest.split_whitespace().collect();
    let [threshold, word, slope] = words[..] else {
        return Err(vec![format!(
            "a threshold is written `threshold 2.0 slope 7.3`, found `{rest}`"
        )]);
    };
    let mut faults = Vec::new();
    if !word.eq_ignore_ascii_case("slope") {
        faults.push(format!(
            "between threshold and slope stands the word slope, found `{word}`"
        ));
    }
    let threshold = keep(numbers.parse(threshold), &mut faults);
    let slope = keep(numbers.parse(slope), &mut faults);
    match threshold.zip(slope) {
        Some((threshold, slope)) if faults.is_empty() => {
            Response::threshold(threshold, slope).map_err(as_fault)
        }
        _ => Err(faults),
    }
}

#[expect(clippy::needless_pass_by_value, reason = "shaped for map_err")]
fn as_fault(error: ResponseError) -> Vec<String> {
    vec![error.to_string()]
}

/// The value, or nothing and one more fault.
fn keep<T>(result: Result<T, String>, faults: &mut Vec<String>) -> Option<T> {
    result.map_err(|fault| faults.push(fault)).ok()
}

/// The response as text, which reads back to the same response.
#[must_use]
pub fn print_response(response: &Response, factor: &Factor) -> String {
    match response {
        Response::Range(range) => print_range(range),
        Response::Curve(curve) => print_curve(curve),
        Response::Classes(scores) => print_classes(scores, factor),
        Response::Threshold(line) => print_threshold(*line),
    }
}

fn print_range(range: &Range) -> String {
    let end = |limits: Option<(f64, f64)>| {
        limits.map_or_else(|| "- -".to_owned(), |(from, to)| format!("{from} {to}"))
    };
    format!("range {} {}", end(range.low()), end(range.high()))
}

fn print_curve(curve: &Curve) -> String {
    let mut text = "curve".to_owned();
    for (value, score) in curve.points() {
        let _ = write!(text, " {value}:{score}");
    }
    text
}

fn print_classes(scores: &[Option<Score>], factor: &Factor) -> String {
    let names = factor.kind.classes().unwrap_or_default();
    let pieces: Vec<String> = names
        .iter()
        .zip(scores)
        .filter_map(|(name, score)| score.map(|score| format!("{}={}", quote(name), score.get())))
        .collect();
    format!("classes {}", pieces.join("; "))
}

fn print_threshold(line: Threshold) -> String {
    format!("threshold {} slope {}", line.threshold(), line.slope_pct())
}
