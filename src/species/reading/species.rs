//! The species file: one row a species; every column beyond the first four is a
//! trait, and `X_source` names the source of the value in `X`.

use super::sources::{self, SourceRow};
use super::table::{Row, Table};
use crate::nearest::nearest;
use crate::species::checks;
use crate::species::problem::{Report, hint};
use crate::species::traits::values;
use crate::species::{Form, KnownTrait, Species, Trait, Values};

const NAMES: [&str; 4] = ["id", "scientific_name", "common_name", "form"];

/// A species and the line it stands on.
pub struct SpeciesRow {
    pub species: Species,
    pub line: u64,
    /// Where the traits stand that the traits file gives; the others stand on `line`.
    pub trait_lines: Vec<(String, u64)>,
}

/// What the species file gave.
pub(super) struct SpeciesFile {
    pub(super) rows: Vec<SpeciesRow>,
    /// Ids on rows that could not be used, whose tolerances are no fault of their own.
    pub(super) unusable_ids: Vec<String>,
}

impl SpeciesFile {
    /// The place of the species with this id; what is none is told.
    pub(super) fn place_of(&self, id: &str, line: u64, report: &mut Report<'_>) -> Option<usize> {
        let rows = &self.rows;
        let place = rows.iter().position(|row| row.species.id == id);
        if place.is_none() && !self.unusable_ids.iter().any(|other| other == id) {
            let named = rows.iter().find(|row| {
                let names = [
                    &row.species.id,
                    &row.species.scientific_name,
                    &row.species.common_name,
                ];
                names.iter().any(|name| name.eq_ignore_ascii_case(id))
            });
            let near = match named {
                Some(row) => format!("; its id is `{}`", row.species.id),
                None => hint(id, rows.iter().map(|row| row.species.id.as_str())),
            };
            let text = format!("there is no species with the id `{id}`{near}");
            report.error(line, "species", text);
        }
        place
    }
}

pub(super) fn read(bytes: &[u8], sources: &[SourceRow], report: &mut Report<'_>) -> SpeciesFile {
    let table = Table::parse(bytes, &NAMES, &[], false, report);
    let columns = TraitColumn::of(&table, report);
    let mut rows: Vec<SpeciesRow> = Vec::new();
    let mut unusable_ids = Vec::new();
    for row in &table.rows {
        let mut name = |name: &str| {
            let cell = row.cell(table.column(name));
            if cell.is_empty() && table.column(name).is_some() {
                report.error(row.line, name, "is empty");
            }
            cell.to_owned()
        };
        let (id, scientific_name, common_name) = (name("id"), name("scientific_name"), name("common_name"));
        let form = form(row, &table, report);
        let traits = columns
            .iter()
            .filter_map(|column| column.read(row, sources, report))
            .collect();
        let (Some(form), false) = (form, id.is_empty()) else {
            unusable_ids.push(id);
            continue;
        };
        check_id(&id, row.line, report);
        rows.push(SpeciesRow {
            species: Species {
                id,
                scientific_name,
                common_name,
                form,
                traits,
                opinions: Vec::new(),
            },
            line: row.line,
            trait_lines: Vec::new(),
        });
    }
    if table.header_line > 0 && table.rows.is_empty() {
        report.error(0, "", "holds no species");
    }
    SpeciesFile { rows, unusable_ids }
}

fn form(row: &Row, table: &Table, report: &mut Report<'_>) -> Option<Form> {
    let column = table.column("form")?;
    let word = row.cell(Some(column));
    let form = Form::from_word(word);
    if form.is_none() {
        let words = Form::ALL.map(Form::word);
        let near = hint(word, words);
        report.error(
            row.line,
            "form",
            format!("`{word}` is none of {}{near}", words.join(", ")),
        );
    }
    form
}

fn check_id(id: &str, line: u64, report: &mut Report<'_>) {
    let plain = |sign: char| sign.is_ascii_lowercase() || sign.is_ascii_digit() || sign == '-' || sign == '_';
    if !id.chars().all(plain) {
        report.warning(
            line,
            "id",
            format!("`{id}` holds other signs than small letters, digits and hyphens, which file formats may spoil"),
        );
    }
}

/// A trait's column and that of its source.
struct TraitColumn {
    name: String,
    place: usize,
    source: Option<usize>,
    decimal_comma: bool,
}

impl TraitColumn {
    fn of(table: &Table, report: &mut Report<'_>) -> Vec<TraitColumn> {
        let columns = table.columns();
        let mut traits = Vec::new();
        for (place, name) in &columns {
            // A header that looks like a missing name is told as such, and is no trait.
            let is_misspelt =
                |wanted: &str| table.column(wanted).is_none() && nearest(wanted, [name.as_str()]).is_some();
            if NAMES.contains(&name.as_str()) || NAMES.into_iter().any(is_misspelt) {
                continue;
            }
            if let Some(owner) = name.strip_suffix("_source") {
                if table.column(owner).is_none() {
                    let others = columns.iter().map(|(_, other)| other.as_str());
                    let others = others.filter(|other| !other.ends_with("_source"));
                    let near = hint(owner, others);
                    report.error(
                        table.header_line,
                        name,
                        format!("there is no column `{owner}`{near}"),
                    );
                }
                continue;
            }
            if let Some(told) = values::foreign_unit(name) {
                report.warning(table.header_line, name, told);
            }
            let source = table.column(&format!("{name}_source"));
            let used = table.rows.iter().any(|row| !row.cell(Some(*place)).is_empty());
            if source.is_none() && used {
                report.error(
                    table.header_line,
                    name,
                    format!("has no column `{name}_source` that names the source of each value"),
                );
            }
            traits.push(TraitColumn {
                name: name.clone(),
                place: *place,
                source,
                decimal_comma: table.separator == ';' && is_measured(name),
            });
        }
        traits
    }

    fn read(&self, row: &Row, sources: &[SourceRow], report: &mut Report<'_>) -> Option<Trait> {
        let value = row.cell(Some(self.place));
        if value.is_empty() {
            return None;
        }
        let source = row.cell(self.source);
        if self.source.is_some()
            && let Some(fault) = sources::fault(source, sources)
        {
            report.error(row.line, &format!("{}_source", self.name), fault);
        }
        let value = if self.decimal_comma {
            with_points(value)
        } else {
            value.to_owned()
        };
        checks::traits::value(row.line, &self.name, &self.name, &value, report);
        Some(Trait {
            name: self.name.clone(),
            value,
            source: source.to_owned(),
            note: String::new(),
            set_aside: Vec::new(),
        })
    }
}

/// Whether a trait is a number in a unit, by the end of its name.
pub(super) fn is_measured(name: &str) -> bool {
    let by_end = ["_m", "_cm", "_mm", "_g", "_kg", "_pct", "_years"]
        .iter()
        .any(|unit| name.ends_with(unit));
    let known = KnownTrait::of(name);
    by_end || known.is_some_and(|known| matches!(known.values, Values::Number { .. }))
}

/// A value with its decimal commas, those between two digits, as points.
pub(super) fn with_points(value: &str) -> String {
    let signs: Vec<char> = value.chars().collect();
    let digit = |at: Option<usize>| at.and_then(|at| signs.get(at)).is_some_and(char::is_ascii_digit);
    let point = |at: usize| signs[at] == ',' && digit(at.checked_sub(1)) && digit(Some(at + 1));
    (0..signs.len())
        .map(|at| if point(at) { '.' } else { signs[at] })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_comma_stands_between_digits() {
        assert_eq!(with_points("0,5 to 1,25, rarely 2"), "0.5 to 1.25, rarely 2");
        assert!(is_measured("height_m"));
        assert!(!is_measured("bloom_months"));
    }
}
