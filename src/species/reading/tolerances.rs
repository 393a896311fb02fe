//! The tolerances file: one row a response of one species to one factor,
//! perhaps under a condition on another.

use super::sources::{self, SourceRow};
use super::species::SpeciesFile;
use super::table::{Row, Table};
use super::traits;
use crate::factor::{Factor, Kind};
use crate::species::problem::{Report, hint};
use crate::species::text::{Numbers, begins_a_response};
use crate::species::{
    Condition, Opinion, Response, SetAside, parse_condition, parse_response, print_response,
};

/// An opinion, whose it is, and the line it stands on.
pub struct OpinionRow {
    pub species: usize,
    pub opinion: Opinion,
    pub line: u64,
}

const REQUIRED: [&str; 4] = ["species", "factor", "response", "source"];

pub(super) fn read(
    bytes: &[u8],
    species: &SpeciesFile,
    sources: &[SourceRow],
    factors: &[Factor],
    report: &mut Report<'_>,
) -> Vec<OpinionRow> {
    let table = Table::parse(bytes, &REQUIRED, &["given", "note", "standing"], true, report);
    let mut numbers = Numbers::of_file(table.separator);
    let mut found: Vec<OpinionRow> = Vec::new();
    let mut aside = Vec::new();
    // Without one of these no row says anything, and the missing header is told.
    if ["species", "factor", "response"]
        .iter()
        .any(|name| table.column(name).is_none())
    {
        return found;
    }
    for row in &table.rows {
        numbers.at_line(row.line);
        let cell = |name: &str| row.cell(table.column(name));
        let owner = species.place_of(cell("species"), row.line, report);
        let factor = find_factor(cell("factor"), row, factors, report);
        let given = read_given(cell("given"), cell("factor"), row, factors, &mut numbers, report);
        if table.column("source").is_some()
            && let Some(fault) = sources::fault(cell("source"), sources)
        {
            report.error(row.line, "source", fault);
        }
        let is_set_aside = traits::is_set_aside(row, &table, report);
        let set_aside = |value: String| SetAside {
            value,
            source: cell("source").to_owned(),
            note: cell("note").to_owned(),
        };
        // What is told and not used may be told in words: `shade tolerance tolerant`.
        let words = cell("response");
        if is_set_aside && !words.is_empty() && !begins_a_response(words) {
            if let (Some(species), Some(factor), Ok(given)) = (owner, factor, given) {
                let value = set_aside(words.to_owned());
                aside.push((row.line, species, factor.id.clone(), given, value));
            }
            continue;
        }
        let response = factor.and_then(|factor| read_response(words, factor, row, &mut numbers, report));
        if let (Some(species), Some(factor), Ok(given), Some(response)) = (owner, factor, given, response) {
            if is_set_aside {
                let value = set_aside(print_response(&response, factor));
                aside.push((row.line, species, factor.id.clone(), given, value));
                continue;
            }
            found.push(OpinionRow {
                species,
                opinion: Opinion {
                    factor: factor.id.clone(),
                    given,
                    response,
                    source: cell("source").to_owned(),
                    note: cell("note").to_owned(),
                    set_aside: Vec::new(),
                },
                line: row.line,
            });
        }
    }
    for (line, species, factor, given, value) in aside {
        let used = found
            .iter_mut()
            .find(|row| row.species == species && row.opinion.factor == factor && row.opinion.given == given);
        match used {
            Some(used) => used.opinion.set_aside.push(value),
            None => report.error(
                line,
                "standing",
                "sets aside the only response there is for this case",
            ),
        }
    }
    found
}

fn find_factor<'a>(
    id: &str,
    row: &Row,
    factors: &'a [Factor],
    report: &mut Report<'_>,
) -> Option<&'a Factor> {
    let factor = factors.iter().find(|factor| factor.id == id);
    if factor.is_none() {
        let near = hint(id, factors.iter().map(|factor| factor.id.as_str()));
        report.error(row.line, "factor", format!("there is no factor `{id}`{near}"));
    }
    factor
}

/// The condition of a row; `Err` when it has one that cannot be read.
fn read_given(
    text: &str,
    factor: &str,
    row: &Row,
    factors: &[Factor],
    numbers: &mut Numbers,
    report: &mut Report<'_>,
) -> Result<Option<Condition>, ()> {
    if text.is_empty() {
        return Ok(None);
    }
    match parse_condition(text, factors, numbers) {
        Ok(condition) if condition.factor == factor => {
            report.error(
                row.line,
                "given",
                format!(
                    "a response to `{factor}` cannot hang on `{factor}` itself: write it into the response"
                ),
            );
            Err(())
        }
        Ok(condition) => Ok(Some(condition)),
        Err(faults) => {
            for fault in faults {
                report.error(row.line, "given", fault);
            }
            Err(())
        }
    }
}

fn read_response(
    text: &str,
    factor: &Factor,
    row: &Row,
    numbers: &mut Numbers,
    report: &mut Report<'_>,
) -> Option<Response> {
    if text.is_empty() {
        report.error(
            row.line,
            "response",
            "is empty; leave the row out where nothing is known",
        );
        return None;
    }
    match parse_response(text, factor, numbers) {
        Ok(response) => {
            check_values(&response, factor, row, report);
            Some(response)
        }
        Err(faults) => {
            for fault in faults {
                report.error(row.line, "response", fault);
            }
            None
        }
    }
}

/// Values no ground has, and classes without a score.
fn check_values(response: &Response, factor: &Factor, row: &Row, report: &mut Report<'_>) {
    if let (Kind::Measured(unit), Some((lowest, highest))) = (&factor.kind, factor.plausible()) {
        let outside = response
            .knots()
            .into_iter()
            .find(|knot| !(lowest..=highest).contains(knot));
        // A threshold's second knot is where growth ends, which may lie beyond any ground.
        let may_lie_beyond = matches!(response, Response::Threshold(line) if line.threshold() <= highest);
        if let Some(value) = outside.filter(|_| !may_lie_beyond) {
            report.error(
                row.line,
                "response",
                format!(
                    "{value} is no value of `{}`, which runs from {lowest} to {highest} {unit}",
                    factor.id
                ),
            );
        }
    }
    if let (Response::Classes(scores), Some(names)) = (response, factor.kind.classes()) {
        let without: Vec<&str> = names
            .iter()
            .zip(scores)
            .filter(|(_, score)| score.is_none())
            .map(|(name, _)| name.as_str())
            .collect();
        if !without.is_empty() {
            report.warning(
                row.line,
                "response",
                format!(
                    "gives no score for {}: the species is unknown there",
                    without.join(", ")
                ),
            );
        }
    }
}
