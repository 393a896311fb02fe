//! Rust source as tokens: comments, texts, characters and items for tests left out.
//! In comes a file's text, out go names and signs; knows no module.

/// The tokens of a file without what is compiled for tests alone. Names and `::` are
/// one token each, every other sign is one of its own.
pub fn code_tokens(text: &str) -> Vec<String> {
    without_tests(&tokens(&blanked(text)))
}

/// The tokens of code that holds no comment and no text any more.
fn tokens(code: &str) -> Vec<String> {
    let mut tokens = Vec::new();
    let mut signs = code.chars().peekable();
    while let Some(sign) = signs.next() {
        if is_of_name(sign) {
            let mut name = String::from(sign);
            while let Some(next) = signs.next_if(|&next| is_of_name(next)) {
                name.push(next);
            }
            tokens.push(name);
        } else if sign == ':' && signs.next_if_eq(&':').is_some() {
            tokens.push("::".to_owned());
        } else if !sign.is_whitespace() {
            tokens.push(sign.to_string());
        }
    }
    tokens
}

fn is_of_name(sign: char) -> bool {
    sign.is_alphanumeric() || sign == '_'
}

/// The text with blanks for comments, texts and characters.
fn blanked(text: &str) -> String {
    let signs: Vec<char> = text.chars().collect();
    let mut code = String::with_capacity(text.len());
    let mut at = 0;
    while at < signs.len() {
        let end = end_of_no_code(&signs, at);
        if end == at {
            code.push(signs[at]);
            at += 1;
        } else {
            code.push(' ');
            at = end;
        }
    }
    code
}

/// Where the comment, text or character ends that begins at `at`; `at` when none does.
fn end_of_no_code(signs: &[char], at: usize) -> usize {
    let starts = |from: usize, with: &str| {
        let mut letters = with.chars().enumerate();
        letters.all(|(step, letter)| signs.get(from + step) == Some(&letter))
    };
    let after_name = at > 0 && is_of_name(signs[at - 1]);
    match signs[at] {
        '/' if starts(at, "//") => (at..signs.len())
            .find(|&end| signs[end] == '\n')
            .unwrap_or(signs.len()),
        '/' if starts(at, "/*") => {
            let (mut depth, mut end) = (1, at + 2);
            while depth > 0 && end < signs.len() {
                let (step, change) = match () {
                    () if starts(end, "/*") => (2, 1),
                    () if starts(end, "*/") => (2, -1),
                    () => (1, 0),
                };
                end += step;
                depth += change;
            }
            end
        }
        'r' if !after_name => end_of_raw(signs, at + 1).unwrap_or(at),
        'b' if !after_name && starts(at, "br") => end_of_raw(signs, at + 2).unwrap_or(at),
        '"' => end_of_quoted(signs, at + 1, '"'),
        // A lifetime has no second mark.
        '\'' if starts(at + 1, "\\") => end_of_quoted(signs, at + 1, '\''),
        '\'' if signs.get(at + 2) == Some(&'\'') => at + 3,
        _ => at,
    }
}

fn end_of_quoted(signs: &[char], from: usize, mark: char) -> usize {
    let mut end = from;
    while end < signs.len() && signs[end] != mark {
        end += if signs[end] == '\\' { 2 } else { 1 };
    }
    (end + 1).min(signs.len())
}

/// The end of a raw text whose hashes begin at `from`, if it is one.
fn end_of_raw(signs: &[char], from: usize) -> Option<usize> {
    let hashes = signs[from..].iter().take_while(|&&sign| sign == '#').count();
    let open = from + hashes;
    if signs.get(open) != Some(&'"') {
        return None;
    }
    let closes = |&end: &usize| {
        signs[end] == '"' && signs[end + 1..].iter().take_while(|&&sign| sign == '#').count() >= hashes
    };
    let end = (open + 1..signs.len()).find(closes);
    Some(end.map_or(signs.len(), |end| end + 1 + hashes))
}

fn without_tests(tokens: &[String]) -> Vec<String> {
    const MARK: [&str; 7] = ["#", "[", "cfg", "(", "test", ")", "]"];
    let mut kept = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        if tokens[at..].len() >= MARK.len()
            && tokens[at..].iter().zip(MARK).all(|(token, sign)| token == sign)
        {
            at = end_of_item(tokens, at + MARK.len());
        } else {
            kept.push(tokens[at].clone());
            at += 1;
        }
    }
    kept
}

/// Where the item ends that begins at `at`, its other attributes included.
fn end_of_item(tokens: &[String], mut at: usize) -> usize {
    while tokens.get(at).is_some_and(|token| token == "#") {
        at = after_brackets(tokens, at + 1);
    }
    let mut start = at;
    if tokens.get(start).is_some_and(|token| token == "pub") {
        start += 1;
        if tokens.get(start).is_some_and(|token| token == "(") {
            start = after_brackets(tokens, start);
        }
    }
    let is_use = tokens.get(start).is_some_and(|token| token == "use");
    while at < tokens.len() {
        match tokens[at].as_str() {
            ";" => return at + 1,
            "{" if !is_use => return after_brackets(tokens, at),
            _ => at += 1,
        }
    }
    at
}

/// What follows the brackets that open at `at`.
fn after_brackets(tokens: &[String], at: usize) -> usize {
    let mut depth = 0;
    for (step, token) in tokens[at..].iter().enumerate() {
        match token.as_str() {
            "{" | "[" | "(" => depth += 1,
            "}" | "]" | ")" => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            return at + step + 1;
        }
    }
    tokens.len()
}

#[test]
fn texts_comments_and_tests_are_no_code() {
    let text = r##"
        // use crate::cli;
        /* use crate::run; /* nested */ use crate::run; */
        const A: &str = "use crate::run; \" still";
        const B: &str = r#"use "crate::run";"#;
        const C: [char; 3] = ['"', '\'', 'x'];
        fn of<'a>(text: &'a str) -> &'a str { text }
        #[cfg(test)]
        #[path = "x.rs"]
        mod x;
        #[cfg(test)]
        pub(crate) use super::{one, other};
        #[cfg(test)]
        mod tests { use crate::run; fn inner() { println!("{}", 1); } }
        use crate::grid::Grid;
    "##;
    let tokens = code_tokens(text).join(" ");
    assert!(tokens.ends_with("} use crate :: grid :: Grid ;"), "{tokens}");
    for gone in ["run", "cli", "println", "mod", "super", "still"] {
        assert!(
            !code_tokens(text).iter().any(|token| token == gone),
            "{gone}: {tokens}"
        );
    }
}
