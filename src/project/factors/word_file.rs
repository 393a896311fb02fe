//! A CSV file of two columns, the source's word and our class. A byte order
//! mark and semicolons are taken as they come.

use std::path::Path;

use crate::factor::Factor;
use crate::nearest::quoted;
use crate::plural::counted;
use crate::project::reader::{Spot, place};

/// Hands every line's word and class to `take`, with a spot that names the line.
pub(super) fn read(path: &Path, spot: &Spot, factor: &Factor, mut take: impl FnMut(&str, &str, &Spot)) {
    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
    let bytes = match std::fs::read(path) {
        Ok(bytes) => bytes,
        Err(error) => {
            spot.problem(format!("{} could not be read: {error}", path.display()));
            return;
        }
    };
    let text = match std::str::from_utf8(&bytes) {
        Ok(text) => text.trim_start_matches('\u{feff}'),
        Err(error) => {
            let line = place(&String::from_utf8_lossy(&bytes), error.valid_up_to()).0;
            spot.problem(format!(
                "{name} line {line}: found a letter that is not UTF-8, needed a file saved as UTF-8"
            ));
            return;
        }
    };
    let first_line = text.lines().next().unwrap_or_default();
    let semicolons = first_line.contains(';') && !first_line.contains(',');
    let mut csv = csv::ReaderBuilder::new()
        .delimiter(if semicolons { b';' } else { b',' })
        .flexible(true)
        .has_headers(false)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut lines = 0;
    for (index, record) in csv.records().enumerate() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                spot.problem(format!("{name}: {error}"));
                return;
            }
        };
        let line = record.position().map_or(0, csv::Position::line);
        let on_line = spot.within(format!("{name} line {line}"));
        let fields: Vec<&str> = record.iter().collect();
        let (word, class) = match fields[..] {
            [word, class] => (word, class),
            // Spreadsheets save empty columns and lines along with the full ones.
            [word, class, ref rest @ ..] if rest.iter().all(|field| field.is_empty()) => (word, class),
            _ => {
                on_line.problem(format!(
                    "found {}, needed two: the word and the class",
                    counted(fields.len(), "column")
                ));
                continue;
            }
        };
        lines += 1;
        if index == 0 {
            if factor.kind.class_index(class).is_some() {
                on_line.problem(format!(
                    "found the class {} in the first line, needed names of the columns there, such as `word,class`",
                    quoted(class)
                ));
            }
        } else if !(word.is_empty() && class.is_empty()) {
            take(word, class, &on_line);
        }
    }
    if lines < 2 {
        spot.problem(format!(
            "{name}: found no words, needed a line with names of the columns and one line a word"
        ));
    }
}
