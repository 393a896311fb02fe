//! The traits file: one row a value of one species, each with its source and,
//! where sources disagree, the values that are set aside.

use super::sources::{self, SourceRow};
use super::species::{self, SpeciesFile};
use super::table::{Row, Table};
use crate::species::checks;
use crate::species::problem::{Report, hint};
use crate::species::traits::values;
use crate::species::{SetAside, Trait};

/// The word of a row that is told but not used.
const SET_ASIDE: &str = "set aside";

/// Adds the values in `bytes` to the species they are of.
pub(super) fn read(bytes: &[u8], species: &mut SpeciesFile, sources: &[SourceRow], report: &mut Report<'_>) {
    let required = ["species", "trait", "value", "source"];
    let table = Table::parse(bytes, &required, &["note", "standing"], true, report);
    if required.iter().any(|name| table.column(name).is_none()) {
        return;
    }
    let cell = |row: &Row, name: &str| row.cell(table.column(name)).to_owned();
    let mut aside = Vec::new();
    for row in &table.rows {
        let Some(owner) = species.place_of(&cell(row, "species"), row.line, report) else {
            continue;
        };
        let (name, value) = (cell(row, "trait"), cell(row, "value"));
        for (column, text) in [("trait", &name), ("value", &value)] {
            if text.is_empty() {
                report.error(
                    row.line,
                    column,
                    "is empty; leave the row out where nothing is known",
                );
            }
        }
        let source = cell(row, "source");
        if let Some(fault) = sources::fault(&source, sources) {
            report.error(row.line, "source", fault);
        }
        if name.is_empty() || value.is_empty() {
            continue;
        }
        let value = if table.separator == ';' && species::is_measured(&name) {
            species::with_points(&value)
        } else {
            value
        };
        checks::traits::value(row.line, "value", &name, &value, report);
        if let Some(told) = values::foreign_unit(&name) {
            report.warning(row.line, "trait", told);
        }
        let note = cell(row, "note");
        if is_set_aside(row, &table, report) {
            aside.push((row.line, owner, name, SetAside { value, source, note }));
            continue;
        }
        let at = &mut species.rows[owner];
        let held = &mut at.species;
        if held.trait_of(&name).is_some() {
            let text = format!(
                "`{}` has a value for `{name}` already: mark one of them `{SET_ASIDE}`",
                held.id
            );
            report.error(row.line, "trait", text);
            continue;
        }
        at.trait_lines.push((name.clone(), row.line));
        held.traits.push(Trait {
            name,
            value,
            source,
            note,
            set_aside: Vec::new(),
        });
    }
    for (line, owner, name, value) in aside {
        let held = &mut species.rows[owner].species;
        if let Some(used) = held.traits.iter_mut().find(|used| used.name == name) {
            used.set_aside.push(value);
        } else {
            let text = format!("sets a value of `{name}` aside, and `{}` has no other", held.id);
            report.error(line, "standing", text);
        }
    }
}

/// Whether a row of a file with a column `standing` is told but not used.
pub(super) fn is_set_aside(row: &Row, table: &Table, report: &mut Report<'_>) -> bool {
    let word = row.cell(table.column("standing"));
    if !word.is_empty() && !word.eq_ignore_ascii_case(SET_ASIDE) {
        let near = hint(word, [SET_ASIDE]);
        let text = format!("`{word}` is neither empty (used) nor `{SET_ASIDE}`{near}");
        report.error(row.line, "standing", text);
    }
    word.eq_ignore_ascii_case(SET_ASIDE)
}

#[cfg(test)]
#[path = "traits_tests.rs"]
mod tests;
