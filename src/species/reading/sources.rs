//! The sources file: one row a source.

use super::table::Table;
use crate::species::problem::{Report, hint};
use crate::species::{Source, SourceKind};

/// A source and the line it stands on.
pub struct SourceRow {
    pub source: Source,
    pub line: u64,
}

pub(super) fn read(bytes: &[u8], report: &mut Report<'_>) -> Vec<SourceRow> {
    let optional = ["author", "year", "publisher", "note"];
    let table = Table::parse(bytes, &["id", "kind", "title"], &optional, true, report);
    let column = |name| table.column(name);
    let (id_at, kind_at, title_at) = (column("id"), column("kind"), column("title"));
    let mut rows: Vec<SourceRow> = Vec::new();
    for row in &table.rows {
        let id = row.cell(id_at);
        if id.is_empty() {
            report.error(row.line, "id", "is empty; every source needs an id");
            continue;
        }
        if let Some(other) = rows.iter().find(|other| other.source.id == id) {
            report.error(
                row.line,
                "id",
                format!("`{id}` stands already on line {}", other.line),
            );
            continue;
        }
        let words = row.cell(kind_at);
        let Some(kind) = SourceKind::from_words(words) else {
            let kinds = SourceKind::ALL.map(SourceKind::words);
            let near = hint(words, kinds);
            report.error(
                row.line,
                "kind",
                format!("`{words}` is none of {}{near}", kinds.join(", ")),
            );
            continue;
        };
        let title = row.cell(title_at);
        if title.is_empty() {
            report.error(
                row.line,
                "title",
                format!("is empty; source `{id}` needs a title"),
            );
        }
        let cell = |name| row.cell(table.column(name)).to_owned();
        rows.push(SourceRow {
            source: Source {
                id: id.to_owned(),
                kind,
                title: title.to_owned(),
                author: cell("author"),
                year: cell("year"),
                publisher: cell("publisher"),
                note: cell("note"),
            },
            line: row.line,
        });
    }
    if rows.is_empty() && !table.rows.is_empty() {
        report.error(0, "", "holds no usable source");
    }
    rows
}

/// What is wrong with the source of a value, if anything.
pub(super) fn fault(id: &str, sources: &[SourceRow]) -> Option<String> {
    if id.is_empty() {
        return Some(
            "is empty; every value needs the id of a source (one of kind `from memory` is enough)".to_owned(),
        );
    }
    if sources.iter().any(|row| row.source.id == id) {
        return None;
    }
    let near = hint(id, sources.iter().map(|row| row.source.id.as_str()));
    Some(format!("there is no source `{id}`{near}"))
}
