//! From text to a TOML document, with the syntax errors told by line. A line
//! that cannot be read is left out where that is safe, so that the problems of
//! the other lines are told in the same run.

use toml_edit::Document;

use super::reader::place;

/// More broken lines than this are not the odd slip any more.
const MOST_LINES: usize = 8;

/// A syntax error: the byte where it stands, and what is wrong.
pub(super) struct SyntaxError {
    pub at: usize,
    pub text: String,
}

/// The document, without the lines that have errors, and the errors.
///
/// There is no document when lines could not be left out one by one: when a
/// table's head is broken, or a text or a list runs on into the next lines.
pub(super) fn read(text: &str) -> (Option<Document<String>>, Vec<SyntaxError>) {
    let mut rest = text.to_owned();
    let mut errors: Vec<SyntaxError> = Vec::new();
    let mut lines: Vec<usize> = Vec::new();
    loop {
        let error = match Document::parse(rest.clone()) {
            Ok(document) => return (Some(document), errors),
            Err(error) => error,
        };
        let at = error.span().map_or(0, |span| span.start).min(text.len());
        let line = place(text, at).0;
        let fresh = SyntaxError {
            at,
            text: format!("not valid TOML: {}", error.message().replace('\n', " ")),
        };
        let apart = lines.iter().all(|&other| line.abs_diff(other) > 1) && errors.len() < MOST_LINES;
        let Some(blanked) = blanked(&rest, at).filter(|_| apart) else {
            // What follows the first error may only be its echo.
            errors.truncate(1);
            if errors.is_empty() {
                errors.push(fresh);
            }
            return (None, errors);
        };
        errors.push(fresh);
        lines.push(line);
        rest = blanked;
    }
}

/// The text with the line around byte `at` replaced by blanks, if that line is
/// a key and a value.
fn blanked(text: &str, at: usize) -> Option<String> {
    let bytes = text.as_bytes();
    let start = bytes
        .get(..at)?
        .iter()
        .rposition(|&byte| byte == b'\n')
        .map_or(0, |end| end + 1);
    let length = bytes[start..].iter().position(|&byte| byte == b'\n');
    let end = length.map_or(text.len(), |length| start + length);
    let line = text.get(start..end)?;
    let key = line.split_once('=')?.0.trim();
    let bare = |letter: char| letter.is_ascii_alphanumeric() || matches!(letter, '_' | '-' | '.');
    let several_lines = line.contains("\"\"\"") || line.contains("'''");
    if key.is_empty() || several_lines || !key.chars().all(bare) {
        return None;
    }
    Some(format!(
        "{}{}{}",
        &text[..start],
        " ".repeat(end - start),
        &text[end..]
    ))
}
