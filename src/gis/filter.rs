//! Filters of a layer: whether GDAL takes one, and what is wrong with one it does not
//! take. GDAL answers in statements that it makes of a filter; what comes out speaks of
//! the filter as the user wrote it.

use gdal::vector::{Layer, LayerAccess};

use super::{GisError, c_interface, messages};

/// Lets a layer give only the features that meet the condition.
pub(super) fn set_filter(layer: &mut Layer, filter: &str, path: &str) -> Result<(), GisError> {
    let fault = if has_separator(filter) {
        // GDAL may take it here and stumble when an extent is asked for as well.
        "has a `;`, and one condition is needed".to_owned()
    } else {
        messages::forget();
        let set = layer.set_attribute_filter(filter);
        if set.is_ok() {
            // Some formats look at the filter only when they are read.
            let _ = c_interface::features(layer).next();
        }
        let said = messages::said();
        if set.is_ok() && said.is_empty() {
            return Ok(());
        }
        fault(&said)
    };
    Err(GisError::Filter {
        path: path.to_owned(),
        layer: layer.name(),
        filter: filter.to_owned(),
        fault,
        have: layer.defn().fields().map(|field| field.name()).collect(),
    })
}

/// Whether there is a semicolon outside of quotes. Of two kinds of quotes the one that
/// comes first holds the other as text.
fn has_separator(filter: &str) -> bool {
    let mut within = None;
    filter.chars().any(|sign| {
        match (within, sign) {
            (None, '\'' | '"') => within = Some(sign),
            (Some(quote), _) if quote == sign => within = None,
            _ => {}
        }
        within.is_none() && sign == ';'
    })
}

/// What GDAL says of a filter, as the end of a sentence on the filter.
fn fault(said: &str) -> String {
    let words = without_statement(said);
    let one_of = |ways: [(&str, &str); 2]| {
        ways.iter()
            .find_map(|(before, after)| between(words, before, after))
    };
    if let Some(field) = one_of([
        ("no such column: ", ""),
        ("\"", "\" not recognised as an available field"),
    ]) {
        return format!("asks for the field `{field}`, which the layer does not have");
    }
    if let Some(function) = one_of([("no such function: ", ""), ("Undefined function '", "' used")]) {
        return format!("asks for the function `{function}`, which is not known");
    }
    let has = |ways: [&str; 2]| ways.iter().any(|way| words.contains(way));
    if has(["unrecognized token: \"'", "Did not find end-of-string"]) {
        return "has a quote that is not closed".to_owned();
    }
    if has(["incomplete input", "unexpected end of string"]) {
        return "ends before it is complete".to_owned();
    }
    let token = one_of([("near \"", "\": syntax error"), ("unrecognized token: \"", "\"")]);
    if let Some(place) = token.or_else(|| marked_by_caret(words)) {
        return format!("cannot be understood from `{place}` on");
    }
    if words.is_empty() {
        return "cannot be understood".to_owned();
    }
    format!("cannot be used: {}", words.trim_end_matches('.'))
}

/// The words of `SQLite`, without the statements that GDAL made of the filter.
fn without_statement(said: &str) -> &str {
    if !said.starts_with("sqlite3_prepare") {
        return said;
    }
    let words = said.split_once(") failed: ").map_or("", |(_, words)| words);
    words.split("; failed to prepare SQL: ").next().unwrap_or(words)
}

/// The text between two others; the second may be empty, which is the end.
fn between<'t>(text: &'t str, before: &str, after: &str) -> Option<&'t str> {
    let (_, text) = text.split_once(before)?;
    let end = if after.is_empty() {
        text.len()
    } else {
        text.find(after)?
    };
    Some(&text[..end]).filter(|found| !found.is_empty())
}

/// GDAL repeats the filter and marks, in the line below, where it stopped.
fn marked_by_caret(words: &str) -> Option<&str> {
    let mut lines = words.lines().rev();
    let caret = lines.next()?.find('^')?;
    lines.next()?.get(caret..).filter(|rest| !rest.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_statement_of_gdal_is_shown() {
        let of_sqlite = |words: &str| {
            format!(
                "sqlite3_prepare_v2(SELECT Count(*) FROM \"soils\" WHERE x) failed: {words}; \
                 failed to prepare SQL: SELECT m.\"fid\" FROM \"soils\" m WHERE x"
            )
        };
        for (words, expected) in [
            (
                "no such column: x",
                "asks for the field `x`, which the layer does not have",
            ),
            (
                "no such function: f",
                "asks for the function `f`, which is not known",
            ),
            ("unrecognized token: \"'x\"", "has a quote that is not closed"),
            ("unrecognized token: \"#\"", "cannot be understood from `#` on"),
            ("incomplete input", "ends before it is complete"),
            (
                "near \"where\": syntax error",
                "cannot be understood from `where` on",
            ),
            ("out of memory", "cannot be used: out of memory"),
        ] {
            assert_eq!(fault(&of_sqlite(words)), expected);
        }
        assert_eq!(
            fault("sqlite3_step(SELECT 1)"),
            "cannot be used: sqlite3_step(SELECT 1)"
        );
        assert_eq!(fault(""), "cannot be understood");
    }

    #[test]
    fn a_semicolon_within_quotes_is_text() {
        assert!(has_separator("ph > 3;"));
        assert!(has_separator("name = 'a' ; name = 'b'"));
        assert!(!has_separator("\"owner's name\" = 'a;b'"));
        assert!(has_separator("name = '\"' ; size = '\"'"));
        assert!(!has_separator("name = 'a;b' or \"odd;field\" = 'it''s;'"));
    }
}
