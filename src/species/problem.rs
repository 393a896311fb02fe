//! Faults of a catalogue, each with the place where it stands. Reading goes on
//! past them, so that one run tells them all.

use std::fmt;
use std::path::{Path, PathBuf};

use serde::Serialize;

use crate::nearest::nearest;
use crate::severity::Severity;

/// One fault of a catalogue.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// Whether ratings from this catalogue would be wrong or lack a source.
    pub severity: Severity,
    /// The file it stands in.
    pub file: PathBuf,
    /// The line, from 1; nothing where the fault is of the file as a whole.
    pub line: Option<u64>,
    /// The header of the column; nothing where the fault is of the line.
    pub column: Option<String>,
    /// What was found and what is needed.
    pub text: String,
}

impl Problem {
    /// Whether the catalogue must not be used until this is mended.
    #[must_use]
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

/// `species.csv:4, column form: ...`
impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file.display())?;
        if let Some(line) = self.line {
            write!(f, ":{line}")?;
        }
        if let Some(column) = &self.column {
            write!(f, ", column `{column}`")?;
        }
        write!(f, ": {}", self.text)
    }
}

/// `; did you mean `x`?`, or nothing when no valid name is near.
pub(super) fn hint<'n>(written: &str, valid: impl IntoIterator<Item = &'n str>) -> String {
    nearest(written, valid).map_or_else(String::new, |name| format!("; did you mean `{name}`?"))
}

/// Collects the problems of one file.
#[derive(Debug)]
pub(super) struct Report<'a> {
    file: &'a Path,
    problems: &'a mut Vec<Problem>,
}

impl<'a> Report<'a> {
    pub(super) fn new(file: &'a Path, problems: &'a mut Vec<Problem>) -> Report<'a> {
        Report { file, problems }
    }

    pub(super) fn error(&mut self, line: u64, column: &str, text: impl Into<String>) {
        self.add(Severity::Error, line, column, &text.into());
    }

    pub(super) fn warning(&mut self, line: u64, column: &str, text: impl Into<String>) {
        self.add(Severity::Warning, line, column, &text.into());
    }

    /// Line 0 stands for the whole file, an empty column for the whole line.
    fn add(&mut self, severity: Severity, line: u64, column: &str, text: &str) {
        self.problems.push(Problem {
            severity,
            file: self.file.to_owned(),
            line: (line > 0).then_some(line),
            column: (!column.is_empty()).then(|| on_one_line(column, 60)),
            text: on_one_line(text, 600),
        });
    }
}

/// The text without line breaks and of a length that can be read: a quote that is
/// never closed makes a field of the rest of the file, which a message may cite.
fn on_one_line(text: &str, longest: usize) -> String {
    let mut line = String::new();
    for letter in text.chars().take(longest) {
        if letter.is_control() {
            line.extend(letter.escape_default());
        } else {
            line.push(letter);
        }
    }
    if text.chars().nth(longest).is_some() {
        line.push_str("...");
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_is_told_on_one_line_however_much_it_cites() {
        let mut problems = Vec::new();
        let mut report = Report::new(Path::new("species.csv"), &mut problems);
        report.error(2, "id\nname", format!("`{}`", "a\n".repeat(1_000)));
        let told = problems[0].to_string();
        assert!(
            told.starts_with("species.csv:2, column `id\\nname`: `a\\na"),
            "{told}"
        );
        assert!(!told.contains('\n') && told.ends_with("..."), "{told}");
    }
}
