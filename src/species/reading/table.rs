//! One spreadsheet file as headers and rows, whatever program wrote it: commas,
//! semicolons or tabs, any common encoding, quoted cells, uneven rows. Bytes
//! come in; rows with their line numbers and every fault of the form go out.
//! Knows nothing of species.

use super::decoding::decode;
use crate::nearest::nearest;
use crate::plural::counted;
use crate::species::problem::{Report, hint};
use crate::species::text::split;

/// A file of rows under headers.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Headers as written, outer blanks aside.
    headers: Vec<String>,
    pub rows: Vec<Row>,
    pub separator: char,
    /// Line of the headers.
    pub header_line: u64,
}

/// One row, as long as the headers.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    pub line: u64,
    cells: Vec<String>,
}

impl Row {
    /// The cell of a column, outer blanks aside; empty where there is none.
    pub fn cell(&self, column: Option<usize>) -> &str {
        column
            .and_then(|column| self.cells.get(column))
            .map_or("", |cell| cell.trim())
    }
}

impl Table {
    /// The table in `bytes`. `required` columns must be there; when `closed`,
    /// columns that are neither required nor `optional` are told.
    pub fn parse(
        bytes: &[u8],
        required: &[&str],
        optional: &[&str],
        closed: bool,
        report: &mut Report<'_>,
    ) -> Table {
        let decoded = decode(bytes);
        if let Some(line) = decoded.not_utf8 {
            report.warning(
                line,
                "",
                "is not UTF-8; the file was read as windows-1252: check letters with accents",
            );
        }
        if let Some(line) = decoded.broken {
            report.error(line, "", "holds bytes that are no text in the file's encoding");
        }
        let (text, skipped, told) = after_separator_line(&decoded.text);
        let separator = told.unwrap_or_else(|| find_separator(text));
        let mut table = Table {
            headers: Vec::new(),
            rows: Vec::new(),
            separator,
            header_line: 0,
        };
        if let Some(line) = unclosed_quote(text, separator) {
            report.error(
                line + skipped,
                "",
                "a double quote opens here and is never closed",
            );
            return table;
        }
        table.read(text, skipped, report);
        if table.header_line == 0 {
            report.error(
                0,
                "",
                format!("is empty; it needs the columns {}", required.join(", ")),
            );
            return table;
        }
        table.check_headers(required, optional, closed, report);
        table
    }

    fn read(&mut self, text: &str, skipped: u64, report: &mut Report<'_>) {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(u8::try_from(self.separator).unwrap_or(b','))
            .from_reader(text.as_bytes());
        for record in reader.records() {
            let record = match record {
                Ok(record) => record,
                Err(error) => {
                    let line = error.position().map_or(0, csv::Position::line);
                    report.error(line + skipped, "", format!("cannot be read as a row: {error}"));
                    continue;
                }
            };
            // The reader gives the line where it began to look, which may be a blank one before.
            let line = record
                .position()
                .map_or(0, |at| at.line() + blank_lines_at(text, at.byte()))
                + skipped;
            if record.iter().all(|cell| cell.trim().is_empty()) {
                continue;
            }
            if self.header_line == 0 {
                self.headers = record.iter().map(|header| header.trim().to_owned()).collect();
                self.header_line = line;
                continue;
            }
            self.add_row(line, &record, report);
        }
    }

    fn add_row(&mut self, line: u64, record: &csv::StringRecord, report: &mut Report<'_>) {
        let wanted = self.headers.len();
        if record.iter().skip(wanted).any(|cell| !cell.trim().is_empty()) {
            report.error(
                line,
                "",
                format!(
                    "has {} under {}: put a cell that holds `{}` into double quotes",
                    counted(record.len(), "cell"),
                    counted(wanted, "header"),
                    self.shown_separator()
                ),
            );
        } else if record.len() < wanted {
            report.warning(
                line,
                &self.headers[record.len()],
                format!(
                    "the row ends after {} of {}; the rest counts as empty",
                    record.len(),
                    counted(wanted, "cell")
                ),
            );
        }
        let mut cells: Vec<String> = record.iter().take(wanted).map(str::to_owned).collect();
        cells.resize(wanted, String::new());
        self.rows.push(Row { line, cells });
    }

    fn shown_separator(&self) -> &'static str {
        match self.separator {
            ';' => ";",
            '\t' => "tab",
            _ => ",",
        }
    }

    fn check_headers(&self, required: &[&str], optional: &[&str], closed: bool, report: &mut Report<'_>) {
        let line = self.header_line;
        for (column, header) in self.headers.iter().enumerate() {
            let name = plain(header);
            if name.is_empty() {
                if self.rows.iter().any(|row| !row.cell(Some(column)).is_empty()) {
                    report.warning(
                        line,
                        "",
                        format!("column {} has values but no header", column + 1),
                    );
                }
            } else if self.headers[..column].iter().any(|other| plain(other) == name) {
                report.error(line, header, "stands twice: only the first is read");
            }
        }
        for &name in required {
            if self.column(name).is_none() {
                let others = self.headers.iter().map(String::as_str);
                let others = others.filter(|header| !required.contains(&plain(header).as_str()));
                let text = match nearest(name, others) {
                    Some(near) => format!("is missing; `{near}` looks like it"),
                    None if self.headers.len() == 1 => format!(
                        "is missing; the only header is `{}`: are the columns parted by a comma, a semicolon or a tab?",
                        self.headers[0]
                    ),
                    None => format!("is missing; there are {}", self.headers.join(", ")),
                };
                report.error(line, name, text);
            }
        }
        if closed {
            let known = || required.iter().chain(optional).copied();
            for header in self.headers.iter().filter(|header| !header.is_empty()) {
                if !known().any(|name| name == plain(header)) {
                    let near = hint(header, known());
                    report.warning(
                        line,
                        header,
                        format!("is no column of this file and is not read{near}"),
                    );
                }
            }
        }
    }

    /// The place of a column, letter case aside; blanks count as underscores.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.headers.iter().position(|header| plain(header) == name)
    }

    /// The plain names of all columns with their places, doubles left out.
    pub fn columns(&self) -> Vec<(usize, String)> {
        let mut columns: Vec<(usize, String)> = Vec::new();
        for (place, header) in self.headers.iter().enumerate() {
            let name = plain(header);
            if !name.is_empty() && columns.iter().all(|(_, other)| *other != name) {
                columns.push((place, name));
            }
        }
        columns
    }
}

/// A header in lower case, blanks and hyphens as underscores.
pub fn plain(header: &str) -> String {
    header.trim().to_lowercase().replace([' ', '-'], "_")
}

/// Text after the line `sep=;` that some spreadsheets write first, the number of
/// lines left out, and the separator it tells.
fn after_separator_line(text: &str) -> (&str, u64, Option<char>) {
    let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
    match first
        .trim()
        .trim_matches('"')
        .strip_prefix("sep=")
        .map(|told| told.chars().collect::<Vec<_>>())
    {
        Some(told) if matches!(told[..], [',' | ';' | '\t']) => (rest, 1, Some(told[0])),
        // A tab told is lost in the trimming above.
        Some(told) if told.is_empty() => (rest, 1, Some('\t')),
        _ => (text, 0, None),
    }
}

/// The separator that stands most often in the first line that has any text,
/// quoted cells aside; a comma where none does.
fn find_separator(text: &str) -> char {
    let line = text.lines().find(|line| !line.trim().is_empty()).unwrap_or("");
    let mut best = (0, ',');
    for separator in [',', ';', '\t'] {
        let count = split(line, &[separator]).len() - 1;
        if count > best.0 {
            best = (count, separator);
        }
    }
    best.1
}

/// The line of a quote that opens a cell and has no end.
fn unclosed_quote(text: &str, separator: char) -> Option<u64> {
    let mut line = 1;
    let mut opened: Option<u64> = None;
    let mut may_open = true;
    for sign in text.chars() {
        let closes = sign == '"' && opened.is_some();
        if closes {
            opened = None;
        } else if sign == '"' && may_open {
            opened = Some(line);
        }
        if sign == '\n' {
            line += 1;
        }
        // After a closing quote another one opens again: a doubled quote in a cell.
        may_open = opened.is_none() && (sign == separator || sign == '\n' || closes);
    }
    opened
}

/// Blank lines that the reader skips between `at` and the row it found there.
fn blank_lines_at(text: &str, at: u64) -> u64 {
    let start = usize::try_from(at).unwrap_or(usize::MAX);
    let rest = text.as_bytes().get(start..).unwrap_or_default();
    rest.iter().take_while(|&&byte| byte == b'\n').count() as u64
}
