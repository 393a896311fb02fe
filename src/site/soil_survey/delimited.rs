//! Tables of delimited text: with names of columns in the first line, or, as the soil
//! survey of the United States exports them, without, and with the names in two tables
//! beside them. Bytes come in; text cells go out.

use std::path::{Path, PathBuf};

use encoding_rs::WINDOWS_1252;

use crate::plural::counted;

/// The tables of an export without names: which file holds which table, and what the
/// columns of each are.
const FILES: &str = "mstab.txt";
const COLUMNS: &str = "mstabcol.txt";

/// A table as text.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct DelimitedTable {
    /// Names of the columns.
    pub columns: Vec<String>,
    /// Cells, blanks around them taken off.
    pub rows: Vec<Vec<String>>,
    /// Whether it was not UTF-8 and taken as Windows-1252.
    pub not_utf8: bool,
}

/// Where a table lies in a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DelimitedFile {
    /// The file.
    pub path: PathBuf,
    /// Names of its columns, where the file itself has none.
    columns: Option<Vec<String>>,
}

/// The file of a table in a folder, by its name with or without ending.
///
/// # Errors
/// Files that cannot be read, in words.
pub fn find(folder: &Path, table: &str) -> Result<Option<DelimitedFile>, String> {
    if let Some(found) = find_in_export(folder, table)? {
        return Ok(Some(found));
    }
    let entries = std::fs::read_dir(folder)
        .map_err(|error| format!("{} cannot be looked into: {error}", folder.display()))?;
    let mut names: Vec<String> = entries
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .collect();
    names.sort();
    let wanted = [
        table.to_owned(),
        format!("{table}.csv"),
        format!("{table}.txt"),
        format!("{table}.tsv"),
    ];
    let found = wanted.iter().find_map(|wanted| {
        let mut alike = names.iter().filter(|name| name.eq_ignore_ascii_case(wanted));
        alike.find(|name| folder.join(name).is_file())
    });
    Ok(found.map(|name| DelimitedFile {
        path: folder.join(name),
        columns: None,
    }))
}

/// A table of an export without names of columns. The first cell of a row of either
/// list is the name of the table; a file's name stands in the fifth, a column's number
/// and name in the second and third. Which cell holds what is from memory,
/// unverified.
fn find_in_export(folder: &Path, table: &str) -> Result<Option<DelimitedFile>, String> {
    let (files, columns) = (folder.join(FILES), folder.join(COLUMNS));
    if !(files.is_file() && columns.is_file()) {
        return Ok(None);
    }
    let of_table = |rows: Vec<Vec<String>>| -> Vec<Vec<String>> {
        rows.into_iter()
            .filter(|row| row.first().is_some_and(|name| name.eq_ignore_ascii_case(table)))
            .collect()
    };
    let files = of_table(rows_of(&files, Some(b'|'))?.rows);
    let Some(file) = files.first().and_then(|row| row.get(4)) else {
        return Ok(None);
    };
    let mut numbered: Vec<(usize, String)> = of_table(rows_of(&columns, Some(b'|'))?.rows)
        .into_iter()
        .filter_map(|row| Some((row.get(1)?.parse().ok()?, row.get(2)?.clone())))
        .collect();
    numbered.sort();
    let in_order = (1..)
        .zip(&numbered)
        .all(|(wanted, (number, _))| *number == wanted);
    if numbered.is_empty() || !in_order {
        return Err(format!(
            "{COLUMNS} in {} does not tell the columns of `{table}` from the first to the last",
            folder.display()
        ));
    }
    let path = folder.join(format!("{file}.txt"));
    if !path.is_file() {
        return Ok(None);
    }
    Ok(Some(DelimitedFile {
        path,
        columns: Some(numbered.into_iter().map(|(_, name)| name).collect()),
    }))
}

impl DelimitedFile {
    /// The rows with the names of their columns.
    ///
    /// # Errors
    /// A file that cannot be read, rows of another length than the names, in words.
    pub fn read(&self) -> Result<DelimitedTable, String> {
        let mut table = rows_of(&self.path, self.columns.as_ref().map(|_| b'|'))?;
        match &self.columns {
            Some(columns) => table.columns.clone_from(columns),
            None if table.rows.is_empty() => {
                return Err(format!(
                    "{} is empty: it needs names of columns",
                    self.path.display()
                ));
            }
            None => table.columns = table.rows.remove(0),
        }
        let wanted = table.columns.len();
        for (number, row) in (1..).zip(&mut table.rows) {
            if row.iter().skip(wanted).any(|cell| !cell.is_empty()) {
                return Err(format!(
                    "row {number} of {} has {}, needed at most {wanted}: the names of its columns are no more",
                    self.path.display(),
                    counted(row.len(), "cell")
                ));
            }
            row.resize(wanted, String::new());
        }
        Ok(table)
    }
}

fn rows_of(path: &Path, separator: Option<u8>) -> Result<DelimitedTable, String> {
    let bytes =
        std::fs::read(path).map_err(|error| format!("{} could not be read: {error}", path.display()))?;
    let (text, not_utf8) = match std::str::from_utf8(&bytes) {
        Ok(text) => (text.to_owned(), false),
        Err(_) => (
            WINDOWS_1252.decode_without_bom_handling(&bytes).0.into_owned(),
            true,
        ),
    };
    let text = text.trim_start_matches('\u{feff}');
    let separator = separator.unwrap_or_else(|| separator_of(text));
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|error| format!("{}: {error}", path.display()))?;
        if record.iter().any(|cell| !cell.is_empty()) {
            let cell = |cell: &str| {
                if separator == b';' {
                    with_point(cell)
                } else {
                    cell.to_owned()
                }
            };
            rows.push(record.iter().map(cell).collect());
        }
    }
    Ok(DelimitedTable {
        columns: Vec::new(),
        rows,
        not_utf8,
    })
}

/// The sign that stands most often in the first line; a comma where none does.
fn separator_of(text: &str) -> u8 {
    let line = text.lines().next().unwrap_or_default();
    let mut best = (0, b',');
    for sign in [b',', b';', b'\t', b'|'] {
        let count = line.bytes().filter(|&byte| byte == sign).count();
        if count > best.0 {
            best = (count, sign);
        }
    }
    best.1
}

/// A number with a decimal comma, as spreadsheets write it beside semicolons.
fn with_point(cell: &str) -> String {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let number = cell.strip_prefix('-').unwrap_or(cell).split_once(',');
    match number {
        Some((whole, rest)) if digits(whole) && digits(rest) => cell.replace(',', "."),
        _ => cell.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in files {
            std::fs::write(folder.path().join(name), text).unwrap();
        }
        folder
    }

    fn read(folder: &tempfile::TempDir, table: &str) -> DelimitedTable {
        find(folder.path(), table).unwrap().unwrap().read().unwrap()
    }

    #[test]
    fn keys_keep_their_zeros_whatever_parts_the_cells() {
        for (name, text) in [
            ("component.csv", "\u{feff}mukey,ph\n00123,6.5\n"),
            ("COMPONENT.TXT", "mukey|ph\n\"00123\"|6.5\n"),
            ("component.tsv", "mukey\tph\n00123\t6.5\n"),
            ("component.csv", "mukey;ph\n00123; 6,5\n"),
        ] {
            let table = read(&folder(&[(name, text)]), "component");
            assert_eq!(table.columns, ["mukey", "ph"], "{name}");
            assert_eq!(table.rows, [["00123", "6.5"]], "{name}");
        }
        let empty = folder(&[("other.csv", "a\n")]);
        assert_eq!(find(empty.path(), "component").unwrap(), None);
    }

    #[test]
    fn an_export_without_names_gets_them_from_the_lists_beside_it() {
        let files = [
            (
                "mstab.txt",
                "\"component\"|\"Component\"|\"x\"|\"a\nb\"|\"comp\"\n",
            ),
            (
                "mstabcol.txt",
                "\"component\"|2|\"mukey\"|\"k\"\n\"chorizon\"|1|\"hzname\"|\"\"\n\"component\"|1|\"comppct_r\"|\"\"\n",
            ),
            ("comp.txt", "85|\"00123\"\n15|\"00123\"\n"),
        ];
        let table = read(&folder(&files), "component");
        assert_eq!(table.columns, ["comppct_r", "mukey"]);
        assert_eq!(table.rows, [["85", "00123"], ["15", "00123"]]);
        // A column too few in the list, and what the rest means is not known.
        let short = [
            files[0],
            ("mstabcol.txt", "\"component\"|1|\"comppct_r\"\n"),
            files[2],
        ];
        let folder = folder(&short);
        let error = find(folder.path(), "component")
            .unwrap()
            .unwrap()
            .read()
            .unwrap_err();
        assert!(error.contains("has 2 cells, needed at most 1"), "{error}");
    }
}
