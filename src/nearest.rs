//! The nearest valid name to a misspelt one. Comes in: what was written and
//! what would be valid. Knows nothing of what the names stand for.

use std::fmt::Write as _;

/// The valid name that `written` most likely meant, or nothing when none is near.
///
/// # Method
/// Optimal string alignment distance, letter case, blanks, hyphens and
/// underscores aside; at most a third of the letters may differ. A name that
/// holds the written one (or the other way round) counts as one step away.
/// Equally near names: the first one given.
///
/// # Examples
/// ```
/// use groundfit::nearest::nearest;
/// assert_eq!(nearest("boundry", ["layer", "boundary"]), Some("boundary"));
/// assert_eq!(nearest("rainfall", ["layer", "boundary"]), None);
/// ```
pub fn nearest<'n>(written: &str, valid: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    let wanted = folded(written);
    let mut best: Option<(usize, &str)> = None;
    for name in valid {
        let candidate = folded(name);
        let longest = wanted.chars().count().max(candidate.chars().count());
        let shortest = wanted.chars().count().min(candidate.chars().count());
        let holds = shortest >= 3 && (candidate.contains(&wanted) || wanted.contains(&candidate));
        let steps = match strsim::osa_distance(&wanted, &candidate) {
            steps if holds => steps.min(1),
            steps if steps <= longest / 3 => steps,
            _ => continue,
        };
        if best.is_none_or(|(fewest, _)| steps < fewest) {
            best = Some((steps, name));
        }
    }
    best.map(|(_, name)| name)
}

fn folded(name: &str) -> String {
    name.chars()
        .filter(|letter| !matches!(letter, ' ' | '-' | '_'))
        .flat_map(char::to_lowercase)
        .collect()
}

/// "nearest is `x`", or the list of all valid names when none is near.
pub(crate) fn suggest(written: &str, valid: &[&str]) -> String {
    match nearest(written, valid.iter().copied()) {
        Some(name) => format!("nearest is `{name}`"),
        None => format!("valid are {}", listed(valid)),
    }
}

/// The names in backticks, with commas between.
pub(crate) fn listed(names: &[&str]) -> String {
    let mut text = String::new();
    for name in names {
        let comma = if text.is_empty() { "" } else { ", " };
        // Writing to a string cannot fail.
        let _ = write!(text, "{comma}`{name}`");
    }
    text
}

/// What a user wrote, in backticks, on one line and not too long.
pub(crate) fn quoted(written: &str) -> String {
    const LONGEST: usize = 80;
    let mut text = String::from("`");
    for letter in written.chars().take(LONGEST) {
        if letter.is_control() {
            text.extend(letter.escape_default());
        } else {
            text.push(letter);
        }
    }
    if written.chars().nth(LONGEST).is_some() {
        text.push_str("...");
    }
    text.push('`');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swapped_letter_is_one_step() {
        assert_eq!(nearest("dranaige", ["canopy", "drainage"]), Some("drainage"));
        assert_eq!(nearest("Well-Drained", ["well drained"]), Some("well drained"));
    }

    #[test]
    fn a_part_of_a_name_is_near() {
        assert_eq!(nearest("crs", ["cell_m", "grid_crs"]), Some("grid_crs"));
        assert_eq!(
            nearest("salinity", ["ph", "soil_salinity"]),
            Some("soil_salinity")
        );
    }

    #[test]
    fn the_nearer_name_wins_over_the_first() {
        let classes = ["somewhat poorly drained", "poorly drained"];
        assert_eq!(nearest("porly drained", classes), Some("poorly drained"));
    }

    #[test]
    fn short_names_need_a_likeness() {
        assert_eq!(nearest("N1", ["S1"]), None);
        assert_eq!(nearest("pH", ["ph"]), Some("ph"));
        assert_eq!(nearest("ph", ["us"]), None);
        assert_eq!(nearest("", ["us", "metric"]), None);
    }

    #[test]
    fn control_characters_stay_on_the_line() {
        assert_eq!(quoted("a\nb"), "`a\\nb`");
        assert_eq!(quoted(&"x".repeat(100)).len(), 85);
    }
}
