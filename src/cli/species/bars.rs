//! Scores as bars and as the words of the usual class limits.

use crate::factor::Factor;
use crate::project::Rule;
use crate::score::Score;

/// Signs in the bar of a score of 1.
const BAR: f64 = 20.0;

/// The class of one score by the usual limits: S1, S2, S3, or N for not suited.
pub(super) fn class_word(score: f64) -> &'static str {
    let limits = Rule::Limiting.usual_limits();
    let words = ["S1", "S2", "S3"];
    let reached = words.into_iter().zip(limits).find(|(_, limit)| score >= *limit);
    reached.map_or("N", |(word, _)| word)
}

/// One bar a class.
pub(super) fn class_bars(scores: &[Option<Score>], factor: &Factor) -> Vec<String> {
    let names = factor.kind.classes().unwrap_or_default();
    let width = names.iter().map(|name| name.chars().count()).max().unwrap_or(0);
    let bars = names.iter().zip(scores).map(|(name, score)| match score {
        Some(score) => format!("{name:width$}  {}", bar(score.get())),
        None => format!("{name:width$}  not known"),
    });
    bars.collect()
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a score lies within 0 to 1"
)]
fn bar(score: f64) -> String {
    let length = (score * BAR).round() as usize;
    format!("|{:<20}| {score:.2} {}", "#".repeat(length), class_word(score))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_belongs_to_the_better_class() {
        let scores = [1.0, 0.85, 0.849, 0.6, 0.4, 0.399, 0.0];
        assert_eq!(scores.map(class_word), ["S1", "S1", "S2", "S2", "S3", "N", "N"]);
    }

    #[test]
    fn a_bar_is_as_long_as_its_score() {
        assert_eq!(bar(0.5), "|##########          | 0.50 S3");
        assert_eq!(bar(0.0), "|                    | 0.00 N");
    }
}
