//! One cell of a user's table as a value of a trait: words replaced, units turned,
//! months and spans as this program writes them.

use super::mapping::Column;
use crate::species::{KnownTrait, MONTHS, Values};

/// The word of ours for one of the user's, letter case aside; itself where there is
/// none.
pub(super) fn worded<'a>(word: &'a str, words: &'a [(String, String)]) -> &'a str {
    let word = word.trim();
    let found = words.iter().find(|(theirs, _)| theirs.eq_ignore_ascii_case(word));
    found.map_or(word, |(_, ours)| ours)
}

/// The value and a note on how it was written; what is wrong where it is no number
/// and should be.
pub(super) fn value(text: &str, column: &Column) -> Result<(String, String), String> {
    let whole = worded(text, &column.words);
    if whole != text.trim() {
        return Ok((whole.to_owned(), format!("written as {text}")));
    }
    let values = KnownTrait::of(&column.name).map_or(Values::Text, |known| known.values);
    let turned = match values {
        Values::Number { .. } => return number(text, column),
        Values::Ladder(steps) => ladder(text, column, steps),
        Values::Months => months(text),
        Values::Words(_) | Values::List => list(text, column),
        Values::Conservatism | Values::HardinessZone | Values::Text => text.to_owned(),
    };
    let note = if turned.eq_ignore_ascii_case(text) {
        String::new()
    } else {
        format!("written as {text}")
    };
    Ok((turned, note))
}

/// The two parts of `2 to 4`, `2-4`, `2 - 4`; one part otherwise.
fn ends(text: &str) -> Vec<&str> {
    for between in [" to ", "\u{2013}", " - ", "-"] {
        // A sign at the start is no span.
        if let Some((from, to)) = text
            .split_once(between)
            .filter(|(from, _)| !from.trim().is_empty())
        {
            return vec![from.trim(), to.trim()];
        }
    }
    vec![text.trim()]
}

fn number(text: &str, column: &Column) -> Result<(String, String), String> {
    let numbers: Option<Vec<f64>> = ends(text).into_iter().map(plain_number).collect();
    let Some(numbers) = numbers else {
        return Err(format!("`{text}` is no number, needed one, or two as `2 to 4`"));
    };
    let turn = |number: f64| (number + column.add) * column.times;
    let value: Vec<String> = numbers.into_iter().map(|number| tidy(turn(number))).collect();
    let note = match &column.unit {
        Some(unit) => format!("recorded as {text} {unit}"),
        None => String::new(),
    };
    Ok((value.join(" to "), note))
}

/// A number whose commas part thousands (`850,000`) or, one before other than three
/// digits or after a lone zero, decimals (`1,5`).
fn plain_number(text: &str) -> Option<f64> {
    let groups: Vec<&str> = text.split(',').collect();
    let thousands = groups.len() > 1
        && !groups[0].trim_start_matches('-').starts_with('0')
        && groups[1..].iter().all(|group| group.len() == 3);
    let plain = match groups[..] {
        _ if thousands => groups.concat(),
        [whole, part] => format!("{whole}.{part}"),
        _ => text.to_owned(),
    };
    plain.parse().ok().filter(|number: &f64| number.is_finite())
}

/// To a thousandth below a thousand, whole above.
fn tidy(number: f64) -> String {
    let rounded = if number.abs() < 1000.0 {
        (number * 1000.0).round() / 1000.0
    } else {
        number.round()
    };
    rounded.to_string()
}

/// The least and the most of the steps named, whatever parts them.
fn ladder(text: &str, column: &Column, steps: &[&str]) -> String {
    let place = |word: &str| {
        let word = worded(word, &column.words);
        steps.iter().position(|step| step.eq_ignore_ascii_case(word))
    };
    if let Some(place) = place(text) {
        return steps[place].to_owned();
    }
    let parts = text
        .split([',', ';', '/'])
        .flat_map(|part| part.split(" to "))
        .map(place);
    let Some(places) = parts.collect::<Option<Vec<usize>>>() else {
        return text.to_owned();
    };
    match (places.iter().min(), places.iter().max()) {
        (Some(&least), Some(&most)) if least < most => format!("{} to {}", steps[least], steps[most]),
        (Some(&least), _) => steps[least].to_owned(),
        (None, _) => text.to_owned(),
    }
}

/// `Jun-Aug` as `June to August`; what is no month stays and is told by the checks.
fn months(text: &str) -> String {
    let month = |word: &str| {
        let lower = word.trim().trim_end_matches('.').to_lowercase();
        let found = MONTHS
            .iter()
            .find(|month| lower.len() >= 3 && month.to_lowercase().starts_with(&lower));
        found.map_or_else(|| word.trim().to_owned(), |month| (*month).to_owned())
    };
    let spans = text.split([';', ',']).map(|part| {
        let ends: Vec<String> = ends(part).into_iter().map(month).collect();
        ends.join(" to ")
    });
    spans.collect::<Vec<_>>().join("; ")
}

fn list(text: &str, column: &Column) -> String {
    let parts = text
        .split([',', ';', '/'])
        .map(|part| worded(part, &column.words))
        .filter(|part| !part.is_empty());
    parts.collect::<Vec<_>>().join("; ")
}
