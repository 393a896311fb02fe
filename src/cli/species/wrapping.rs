//! Text broken into lines that fit the page.

/// Columns of a page.
pub(super) const PAGE: usize = 100;

/// The lines of `text`, none longer than `width` unless a single word is.
pub(super) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// `head` followed by `text`, whose further lines stand under its first.
pub(super) fn hanging(head: &str, text: &str) -> String {
    let indent = head.chars().count();
    let lines = wrapped(text, PAGE.saturating_sub(indent).max(20));
    let between = format!("\n{}", " ".repeat(indent));
    format!("{head}{}", lines.join(&between))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_fit_and_lose_no_word() {
        let text = "one two three four five six seven";
        let lines = wrapped(text, 10);
        assert!(lines.iter().all(|line| line.len() <= 10), "{lines:?}");
        assert_eq!(lines.join(" "), text);
        assert_eq!(wrapped("unbreakably", 4), ["unbreakably"]);
        let told = hanging("  head  ", &"word ".repeat(30));
        assert!(told.lines().all(|line| line.len() <= PAGE) && told.contains("\n        word"));
    }
}
