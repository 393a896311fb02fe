//! Class names inside the text of a response or condition: a name that holds a
//! mark of the notation stands in double quotes.

/// The pieces of `text` between the given marks, marks in quotes aside.
pub fn split<'a>(text: &'a str, marks: &[char]) -> Vec<&'a str> {
    let mut pieces = Vec::new();
    let mut quoted = false;
    let mut start = 0;
    for (at, sign) in text.char_indices() {
        if sign == '"' {
            quoted = !quoted;
        } else if !quoted && marks.contains(&sign) {
            pieces.push(&text[start..at]);
            start = at + sign.len_utf8();
        }
    }
    pieces.push(&text[start..]);
    pieces
}

/// The name without its quotes and outer blanks.
pub(super) fn unquote(name: &str) -> String {
    let name = name.trim();
    name.strip_prefix('"')
        .and_then(|rest| rest.strip_suffix('"'))
        .map_or_else(|| name.to_owned(), |inner| inner.replace("\"\"", "\""))
}

/// The name, in quotes if it needs them.
pub(super) fn quote(name: &str) -> String {
    if name.contains([',', ';', '=', ':', '"']) {
        format!("\"{}\"", name.replace('"', "\"\""))
    } else {
        name.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_in_quotes_do_not_split() {
        assert_eq!(split("a;\"b;c\" ; d", &[';']), ["a", "\"b;c\" ", " d"]);
        assert_eq!(unquote(" \"b;\"\"c\"\"\" "), "b;\"c\"");
        assert_eq!(quote("b;\"c\""), "\"b;\"\"c\"\"\"");
        assert_eq!(quote("well drained"), "well drained");
    }
}
