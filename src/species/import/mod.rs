//! A user's own table of species as a catalogue: a spreadsheet with one row a
//! species and a mapping of its columns come in, the files of a catalogue go out,
//! with the responses that follow from its levels by the same rules. Writes nothing
//! itself.

mod cells;
mod files;
mod mapping;

use std::path::Path;

use super::problem::Report;
use super::reading::{Row, Table, plain};
use super::{Catalogue, Form, Problem, Species, Trait, checks, problem, rules, starter};
use crate::factor::Factor;
use crate::project::RuleSettings;
use mapping::Mapping;

/// A catalogue made from a table.
#[derive(Debug)]
pub struct Imported {
    /// The catalogue.
    pub catalogue: Catalogue,
    /// How many traits the table gave.
    pub traits: usize,
    /// How many responses follow from its levels.
    pub responses: usize,
}

/// The catalogue in a table by a mapping, and every problem of the two. Where one is
/// an error the catalogue is not to be used.
#[must_use]
pub fn import(table: (&Path, &[u8]), mapping: (&Path, &str), factors: &[Factor]) -> (Imported, Vec<Problem>) {
    let mut in_mapping = Vec::new();
    let mut in_table = Vec::new();
    let mut map_report = Report::new(mapping.0, &mut in_mapping);
    let mapped = mapping::read(mapping.1, &mut map_report);
    let mut report = Report::new(table.0, &mut in_table);
    let mut required: Vec<String> = vec![mapped.scientific_name.clone(), mapped.form.clone()];
    required.extend(
        [mapped.common_name.clone(), mapped.source_column.clone()]
            .into_iter()
            .flatten(),
    );
    required.extend(mapped.columns.iter().map(|column| column.header.clone()));
    let required: Vec<String> = required
        .iter()
        .filter(|header| !header.is_empty())
        .map(|header| plain(header))
        .collect();
    let names: Vec<&str> = required.iter().map(String::as_str).collect();
    let rows = Table::parse(table.1, &names, &[], false, &mut report);
    let beneath = starter::read().0;
    let mut catalogue = Catalogue {
        species: Vec::new(),
        sources: mapped.sources.clone(),
    };
    for row in &rows.rows {
        if let Some(species) = species(row, &rows, &mapped, &beneath, &mut report) {
            if let Some(other) = catalogue.species.iter().find(|other| other.id == species.id) {
                let text = format!("`{}` stands in the table twice", other.scientific_name);
                report.error(row.line, &mapped.scientific_name, text);
            } else {
                catalogue.species.push(species);
            }
        }
    }
    let traits = catalogue.species.iter().map(|species| species.traits.len()).sum();
    let responses = rules::derive(&mut catalogue, factors, &RuleSettings::default());
    in_mapping.extend(in_table);
    let imported = Imported {
        catalogue,
        traits,
        responses,
    };
    (imported, in_mapping)
}

fn species(
    row: &Row,
    table: &Table,
    mapping: &Mapping,
    beneath: &Catalogue,
    report: &mut Report<'_>,
) -> Option<Species> {
    let cell = |header: &str| row.cell(table.column(&plain(header)));
    let written = cell(&mapping.scientific_name);
    if written.is_empty() {
        report.error(row.line, &mapping.scientific_name, "is empty");
    }
    let (id, name) = match beneath.index_of(written).map(|place| &beneath.species[place]) {
        Some(held) => {
            if !held.scientific_name.eq_ignore_ascii_case(written) {
                let accepted = &held.scientific_name;
                let text =
                    format!("`{written}` is another name of `{accepted}`, the accepted one, which is used");
                report.warning(row.line, &mapping.scientific_name, text);
            }
            (held.id.clone(), held.scientific_name.clone())
        }
        None => (id_of(written), written.to_owned()),
    };
    let word = cell(&mapping.form);
    let form = Form::from_word(cells::worded(word, &mapping.form_words));
    if form.is_none() {
        let forms = Form::ALL.map(Form::word);
        let near = problem::hint(word, forms);
        let text = format!(
            "`{word}` is none of {}{near}; or give it a line under [form_words]",
            forms.join(", ")
        );
        report.error(row.line, &mapping.form, text);
    }
    let told = mapping.source_column.as_deref().map_or("", cell);
    let source = if told.is_empty() { &mapping.source } else { told };
    if !mapping.sources.iter().any(|held| held.id == source) {
        let near = problem::hint(source, mapping.sources.iter().map(|held| held.id.as_str()));
        let column = mapping.source_column.as_deref().unwrap_or_default();
        report.error(
            row.line,
            column,
            format!("there is no source `{source}` in the mapping{near}"),
        );
    }
    let mut traits: Vec<Trait> = Vec::new();
    for column in &mapping.columns {
        let text = cell(&column.header);
        if text.is_empty() {
            continue;
        }
        match cells::value(text, column) {
            Ok((value, note)) => {
                checks::traits::value(row.line, &column.header, &column.name, &value, report);
                traits.push(Trait {
                    name: column.name.clone(),
                    value,
                    source: column.source.clone().unwrap_or_else(|| source.to_owned()),
                    note,
                    set_aside: Vec::new(),
                });
            }
            Err(fault) => report.error(row.line, &column.header, format!("{}: {fault}", column.name)),
        }
    }
    let common = mapping.common_name.as_deref().map_or("", cell);
    Some(Species {
        id,
        common_name: if common.is_empty() {
            name.clone()
        } else {
            common.to_owned()
        },
        scientific_name: name,
        form: form?,
        traits,
        opinions: Vec::new(),
    })
}

/// `Carex stricta` as `carex-stricta`.
fn id_of(name: &str) -> String {
    let lower = name.to_lowercase();
    let words = lower.split(|sign: char| !sign.is_ascii_alphanumeric());
    words
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join("-")
}

#[cfg(test)]
mod tests;
