//! Where the tables of a soil survey lie, and their rows by the words for their
//! columns: a database by way of GDAL, or a folder of delimited text.

use std::path::PathBuf;

use super::delimited;
use crate::gis::{self, FieldValue, LayerFacts, TableQuery};
use crate::nearest::nearest;
use crate::project::{Columns, SoilSurvey, SurveyTable};
use crate::site::finding::Findings;

/// What findings about the survey are filed under.
pub const NAME: &str = "soil_survey";

/// The tables of a survey.
pub enum Tables<'a> {
    /// Tables of a database.
    Database {
        /// What to read and what it is called.
        survey: &'a SoilSurvey,
        /// Its tables.
        tables: Vec<LayerFacts>,
    },
    /// Files of a folder.
    Folder {
        /// What to read and what it is called.
        survey: &'a SoilSurvey,
        /// The folder.
        folder: PathBuf,
    },
}

/// The rows of one table, their cells in the order of the words asked for.
#[derive(Debug, Default)]
pub struct Rows {
    /// The rows.
    ///
    /// # Missing
    /// Cells of columns that the table does not have.
    pub rows: Vec<Vec<FieldValue>>,
    /// For each word whether the table has the column.
    pub has: Vec<bool>,
}

impl<'a> Tables<'a> {
    /// The tables of a survey, looked at and not read.
    pub fn open(survey: &'a SoilSurvey, findings: &mut Findings) -> Option<Tables<'a>> {
        let folder = &survey.tables;
        // A geodatabase is a folder too.
        let is_database = folder
            .extension()
            .is_some_and(|end| end.eq_ignore_ascii_case("gdb"));
        if folder.is_dir() && !is_database {
            return Some(Tables::Folder {
                survey,
                folder: folder.clone(),
            });
        }
        let found = findings.take(NAME, gis::inspect_vector(&survey.tables))?;
        Some(Tables::Database {
            survey,
            tables: found.layers,
        })
    }

    /// The rows of a table that `keep` takes. `needed` are the words of columns without
    /// which it cannot be used.
    ///
    /// # Missing
    /// Nothing where the survey has no such table. Where it lacks although it is
    /// `wanted`, or lacks a needed column, that is an error of the survey.
    pub fn rows(
        &self,
        which: SurveyTable,
        words: &[&str],
        needed: &[&str],
        wanted: bool,
        findings: &mut Findings,
        keep: impl FnMut(&[FieldValue]) -> bool,
    ) -> Option<Rows> {
        let survey = self.survey();
        let Some(table) = survey.columns.table(which) else {
            if wanted {
                findings.error(
                    NAME,
                    format!(
                        "`{}` is not named, and a factor of this project hangs on it",
                        Columns::key(which)
                    ),
                );
            }
            return None;
        };
        let file = &survey.tables_as_written;
        let (columns, text) = match self {
            Tables::Database { tables, .. } => {
                let names = || tables.iter().map(|table| table.name.as_str());
                let Some(found) = tables.iter().find(|found| found.name.eq_ignore_ascii_case(table)) else {
                    if wanted {
                        let near = nearest(table, names());
                        let near = near.map_or_else(String::new, |near| format!("; nearest is `{near}`"));
                        findings.error(NAME, format!("{file} has no table `{table}`{near}"));
                    }
                    return None;
                };
                let names = found.fields.iter().map(|field| field.name.clone());
                (names.collect::<Vec<_>>(), None)
            }
            Tables::Folder { folder, .. } => {
                let Some(found) = findings.take(NAME, delimited::find(folder, table))? else {
                    if wanted {
                        findings.error(
                            NAME,
                            format!("folder {file} has no table `{table}`: a file {table}.csv, .txt or .tsv, or an export that names it, is needed"),
                        );
                    }
                    return None;
                };
                let text = findings.take(NAME, found.read())?;
                if text.not_utf8 {
                    findings.warn(
                        NAME,
                        format!("table `{table}` of {file} is not UTF-8; taken as Windows-1252"),
                    );
                }
                (text.columns.clone(), Some(text.rows))
            }
        };
        let places: Vec<Option<usize>> = words
            .iter()
            .map(|word| {
                let name = survey.columns.column(which, word)?;
                let exact = columns.iter().position(|column| column == name);
                exact.or_else(|| {
                    columns
                        .iter()
                        .position(|column| column.eq_ignore_ascii_case(name))
                })
            })
            .collect();
        if !has_needed(survey, which, table, words, needed, &places, &columns, findings) {
            return None;
        }
        let has = places.iter().map(Option::is_some).collect();
        let rows = match text {
            Some(text) => of_text(&text, &places, keep),
            None => self.of_database(table, &places, &columns, findings, keep)?,
        };
        Some(Rows { rows, has })
    }

    fn of_database(
        &self,
        table: &str,
        places: &[Option<usize>],
        columns: &[String],
        findings: &mut Findings,
        mut keep: impl FnMut(&[FieldValue]) -> bool,
    ) -> Option<Vec<Vec<FieldValue>>> {
        let fields: Vec<&str> = places
            .iter()
            .flatten()
            .map(|&place| columns[place].as_str())
            .collect();
        let query = TableQuery {
            path: &self.survey().tables,
            table,
            fields: &fields,
        };
        let widened = |found: &[FieldValue]| -> Vec<FieldValue> {
            let mut found = found.iter();
            places
                .iter()
                .map(|place| match place {
                    Some(_) => found.next().cloned().unwrap_or(FieldValue::Missing),
                    None => FieldValue::Missing,
                })
                .collect()
        };
        let read = gis::read_rows(&query, |row| keep(&widened(row)));
        let (rows, doubts) = findings.take(NAME, read)?;
        for doubt in doubts {
            findings.warn(NAME, doubt);
        }
        Some(rows.iter().map(|row| widened(row)).collect())
    }

    fn survey(&self) -> &'a SoilSurvey {
        match self {
            Tables::Database { survey, .. } | Tables::Folder { survey, .. } => survey,
        }
    }
}

fn of_text(
    text: &[Vec<String>],
    places: &[Option<usize>],
    mut keep: impl FnMut(&[FieldValue]) -> bool,
) -> Vec<Vec<FieldValue>> {
    let cell = |row: &[String], place: Option<usize>| match place.and_then(|place| row.get(place)) {
        Some(cell) if !cell.is_empty() => FieldValue::Text(cell.clone()),
        _ => FieldValue::Missing,
    };
    text.iter()
        .map(|row| places.iter().map(|&place| cell(row, place)).collect::<Vec<_>>())
        .filter(|row| keep(row))
        .collect()
}

/// Whether all needed columns are there; those that the project names itself are.
#[expect(
    clippy::too_many_arguments,
    reason = "all that a message about a column needs"
)]
fn has_needed(
    survey: &SoilSurvey,
    which: SurveyTable,
    table: &str,
    words: &[&str],
    needed: &[&str],
    places: &[Option<usize>],
    columns: &[String],
    findings: &mut Findings,
) -> bool {
    let mut all = true;
    for (word, place) in words.iter().zip(places) {
        let asked = needed.contains(word) || survey.columns.is_given(which, word);
        if place.is_some() || !asked {
            continue;
        }
        all = false;
        let name = survey.columns.column(which, word).unwrap_or(word);
        let near = nearest(name, columns.iter().map(String::as_str));
        let near = near.map_or_else(
            || format!("; it has {}", columns.join(", ")),
            |near| format!("; nearest is `{near}`"),
        );
        findings.error(
            NAME,
            format!(
                "table `{table}` of {} has no column `{name}`{near}",
                survey.tables_as_written
            ),
        );
    }
    all
}

/// A key as text: leading zeros stay, a whole number has no point.
pub fn key_text(value: &FieldValue) -> Option<String> {
    match value {
        FieldValue::Missing => None,
        FieldValue::Text(text) => Some(text.clone()),
        FieldValue::Number(number) => Some(number.to_string()),
    }
}

/// A number, also where a table holds it as text.
pub fn number(value: &FieldValue) -> Option<f64> {
    match value {
        FieldValue::Missing => None,
        FieldValue::Text(text) => text.parse().ok().filter(|number: &f64| number.is_finite()),
        FieldValue::Number(number) => Some(*number),
    }
}
