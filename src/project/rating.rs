//! `[rating]`: how scores become ratings, and ratings classes.

use serde::Serialize;

use super::table::Table;
use super::value::{ABOVE_ZERO, Need, as_number, describe};
use crate::nearest::{quoted, suggest};
use crate::score::{Class, ClassLimits};

/// Section `[rating]`: the rule, the wanted class and the class limits.
///
/// Keys: `rule`, `at_least`, `limits` (`S1`, `S2`, `S3`), `weights` (one number
/// a factor, with the rule `geometric` alone).
#[derive(Debug, Clone, PartialEq)]
pub struct RatingSection {
    /// `rule`: how the scores of a species in a cell become its rating;
    /// `limiting` unless given.
    pub rule: Rule,
    /// `at_least`: the class a species must reach to be listed; S2 unless given.
    pub at_least: Class,
    /// `limits`: the lowest rating of each class; what is not given is the
    /// rule's own.
    pub limits: ClassLimits,
    /// `weights`: the factors that do not count once, with their weights; in
    /// the order of the file.
    pub weights: Vec<(String, f64)>,
}

/// Rules that make one rating of the scores on all factors.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    /// The lowest score.
    Limiting,
    /// The weighted geometric mean.
    Geometric,
    /// The lowest score times the square root of the product of the others
    /// (Khiddir 1986).
    SquareRoot,
    /// The product (Storie).
    Product,
}

impl Rule {
    /// The rule as written in project files.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Rule::Limiting => "limiting",
            Rule::Geometric => "geometric",
            Rule::SquareRoot => "square-root",
            Rule::Product => "product",
        }
    }

    /// The limits of the classes S1, S2 and S3 when the project gives none.
    ///
    /// # Method
    /// After Sys, Van Ranst and Debaveye, Land Evaluation, 1991: from memory,
    /// unverified, and so a setting.
    #[must_use]
    pub fn usual_limits(self) -> [f64; 3] {
        match self {
            Rule::Limiting => [0.85, 0.60, 0.40],
            Rule::Geometric | Rule::SquareRoot | Rule::Product => [0.75, 0.50, 0.25],
        }
    }
}

const RULES: [(&str, Rule); 4] = [
    ("limiting", Rule::Limiting),
    ("geometric", Rule::Geometric),
    ("square-root", Rule::SquareRoot),
    ("product", Rule::Product),
];

const CLASSES: [(&str, Class); 3] = [("S1", Class::S1), ("S2", Class::S2), ("S3", Class::S3)];

const LIMIT: Need = Need {
    words: "a number above 0 and at most 1",
    holds: |number| number > 0.0 && number <= 1.0,
};

impl RatingSection {
    /// The weight of a factor in the geometric mean: 1 unless the project says.
    #[must_use]
    pub fn weight_of(&self, factor: &str) -> f64 {
        let given = self.weights.iter().find(|(id, _)| id == factor);
        given.map_or(1.0, |(_, weight)| *weight)
    }

    /// The section, or the defaults where the file has none. `factors` are the
    /// names of the project's factors.
    pub(super) fn read(table: Option<&Table>, factors: &[&str]) -> Option<RatingSection> {
        let Some(table) = table else {
            let [s1, s2, s3] = Rule::Limiting.usual_limits();
            return Some(RatingSection {
                rule: Rule::Limiting,
                at_least: Class::S2,
                limits: ClassLimits::new(s1, s2, s3)?,
                weights: Vec::new(),
            });
        };
        // A misspelt rule is told, and nothing that hangs on the rule is judged.
        let rule = match table.spot_of("rule") {
            None => Some(Rule::Limiting),
            Some(_) => table.word("rule", &RULES).map(|found| found.value),
        };
        let at_least = table.word("at_least", &CLASSES);
        let limits = limits(table, rule);
        let weights = weights(table, rule, factors);
        table.finish();
        Some(RatingSection {
            rule: rule?,
            at_least: at_least.map_or(Class::S2, |found| found.value),
            limits: limits?,
            weights,
        })
    }
}

fn limits(table: &Table, rule: Option<Rule>) -> Option<ClassLimits> {
    let given = table.table("limits");
    let mut values = rule.unwrap_or(Rule::Limiting).usual_limits();
    if let Some(given) = &given {
        let mut readable = true;
        for (value, key) in values.iter_mut().zip(["S1", "S2", "S3"]) {
            match given.number(key, LIMIT) {
                Some(found) => *value = found.value,
                None => readable &= given.spot_of(key).is_none(),
            }
        }
        given.finish();
        if !readable {
            return None;
        }
    }
    let rule = rule?;
    let [s1, s2, s3] = values;
    let limits = ClassLimits::new(s1, s2, s3);
    if let (None, Some(given)) = (limits, &given) {
        given.spot.problem(format!(
            "found S1 = {s1}, S2 = {s2}, S3 = {s3}, needed 1 >= S1 > S2 > S3 > 0 (what is not given is that of the rule `{}`)",
            rule.word()
        ));
    }
    limits
}

fn weights(table: &Table, rule: Option<Rule>, factors: &[&str]) -> Vec<(String, f64)> {
    let Some(given) = table.table("weights") else {
        return Vec::new();
    };
    if let Some(rule) = rule.filter(|&rule| rule != Rule::Geometric) {
        given.spot.problem(format!(
            "found weights with the rule `{}`, needed the rule `geometric`: no other rule has weights",
            rule.word()
        ));
    }
    let mut weights = Vec::new();
    for item in given.named_items() {
        let (name, value) = item.value;
        if !factors.contains(&name) {
            item.spot.problem(format!(
                "found a weight for {}, needed a factor of this project; {}",
                quoted(name),
                suggest(name, factors)
            ));
        }
        match as_number(value) {
            Some(weight) if (ABOVE_ZERO.holds)(weight) => weights.push((name.to_owned(), weight)),
            _ => item
                .spot
                .problem(format!("found {}, needed {}", describe(value), ABOVE_ZERO.words)),
        }
    }
    weights
}
