//! The nearest valid name to a misspelt one.

/// The candidate that `word` most likely means, or nothing when none is near.
/// Of equally near ones the first.
pub(crate) fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.trim().to_lowercase();
    let mut best: Option<(f64, &str)> = None;
    for candidate in candidates {
        let other = candidate.to_lowercase();
        let likeness = likeness(&word, &other);
        if likeness >= 0.7 && best.is_none_or(|(most, _)| likeness > most) {
            best = Some((likeness, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// From 0 (nothing in common) to 1 (equal). A word cut short is near its whole.
fn likeness(word: &str, other: &str) -> f64 {
    let edits = strsim::normalized_damerau_levenshtein(word, other);
    if word.chars().count() >= 3 && other.starts_with(word) {
        edits.max(0.75)
    } else {
        edits
    }
}

/// `; did you mean `x`?`, or nothing when no candidate is near.
pub(crate) fn hint<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> String {
    nearest(word, candidates).map_or_else(String::new, |name| format!("; did you mean `{name}`?"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_misspelt_name_finds_its_neighbour() {
        let classes = ["well drained", "poorly drained", "excessively drained"];
        assert_eq!(nearest("Poorly draned", classes), Some("poorly drained"));
        assert_eq!(nearest("excessive", classes), Some("excessively drained"));
        assert_eq!(nearest("loam", classes), None);
        assert_eq!(nearest("", classes), None);
        assert_eq!(hint("well drianed", classes), "; did you mean `well drained`?");
    }
}
