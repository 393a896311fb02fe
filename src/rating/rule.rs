//! The four rules by which the scores of several factors make one rating.

use serde::Serialize;

use crate::project::Rule;
use crate::score::{Class, ClassLimits, Score};

/// What a rating is measured by: the rule, the class limits and the class wanted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Settings {
    /// How scores combine.
    pub rule: Rule,
    /// Lowest rating of each class.
    pub limits: ClassLimits,
    /// The class from which a species suits.
    pub at_least: Class,
}

impl Settings {
    /// The lowest rating with which a species suits.
    #[must_use]
    pub fn wanted(&self) -> f64 {
        self.limits.lowest_of(self.at_least)
    }

    /// Whether the lowest score alone is the rating.
    #[must_use]
    pub fn lowest_decides(&self) -> bool {
        self.rule == Rule::Limiting
    }

    /// Whether a known score of one factor settles that the species does not
    /// suit, whatever else is unknown: a score below the wanted class under the
    /// limiting rule; under the others only 0, which nothing can lift.
    #[must_use]
    pub fn settles(&self, score: f64) -> bool {
        match self.rule {
            Rule::Limiting => score < self.wanted(),
            Rule::Geometric | Rule::SquareRoot | Rule::Product => score <= 0.0,
        }
    }
}

impl Rule {
    /// The rating that scores make together, each given with its weight; nothing
    /// when there are no scores. Weights count in the geometric mean alone.
    ///
    /// # Method
    /// Limiting: law of the minimum. Geometric: weighted geometric mean, as in
    /// habitat suitability index models (US Fish and Wildlife Service, 103 ESM,
    /// 1981). Square root: Khiddir 1986. Product: Storie 1978.
    #[must_use]
    pub fn combine(self, scores: &[(f64, f64)]) -> Option<f64> {
        let lowest = scores.iter().map(|&(_, score)| score).reduce(f64::min)?;
        if lowest <= 0.0 {
            return Some(0.0);
        }
        let product = || scores.iter().map(|&(_, score)| score).product::<f64>();
        let rating = match self {
            Rule::Limiting => lowest,
            Rule::Product => product(),
            Rule::SquareRoot => lowest * (product() / lowest).sqrt(),
            Rule::Geometric => {
                let weights: f64 = scores.iter().map(|&(weight, _)| weight).sum();
                let logs: f64 = scores.iter().map(|&(weight, score)| weight * score.ln()).sum();
                (logs / weights).exp()
            }
        };
        Some(Score::clamped(rating).get())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn combined(rule: Rule, scores: &[f64]) -> f64 {
        let weighted: Vec<(f64, f64)> = scores.iter().map(|&score| (1.0, score)).collect();
        rule.combine(&weighted).unwrap()
    }

    /// Computed from the formulas of Storie 1978 and Khiddir 1986; no printed
    /// worked example was found.
    #[test]
    fn storie_and_square_root_pairs() {
        let close = |left: f64, right: f64| assert!((left - right).abs() < 5e-6, "{left} {right}");
        let first = [0.95, 0.85, 0.60, 1.00, 0.90];
        close(combined(Rule::Product, &first), 0.436_05);
        close(combined(Rule::SquareRoot, &first), 0.511_50);
        let second = [0.80, 0.70, 0.50, 0.90];
        close(combined(Rule::Product, &second), 0.252_00);
        close(combined(Rule::SquareRoot, &second), 0.354_96);
        close(combined(Rule::Product, &[1.0, 1.0]), 1.0);
        close(combined(Rule::SquareRoot, &[1.0, 1.0]), 1.0);
    }

    /// The forms of published habitat suitability indices: four and three
    /// variables (Allen, Jordan and Terrell 1987, Biological Report 82(10.155);
    /// Snaith et al. 2004, Alces 38), weights 1, 2, 2 (Snaith et al. 2004), lowest
    /// of all (US Fish and Wildlife Service). Values computed from the forms.
    #[test]
    fn habitat_index_forms() {
        let close = |left: f64, right: f64| assert!((left - right).abs() < 5e-7, "{left} {right}");
        close(combined(Rule::Geometric, &[0.8, 0.5, 0.6, 0.9]), 0.681_732);
        close(combined(Rule::Geometric, &[0.8, 0.5, 0.6]), 0.621_447);
        let weighted = Rule::Geometric
            .combine(&[(1.0, 0.8), (2.0, 0.5), (2.0, 0.6)])
            .unwrap();
        close(weighted, 0.590_835);
        close(combined(Rule::Limiting, &[0.8, 0.5, 0.6, 0.9]), 0.5);
        let ten = [1.0, 1.0, 0.9, 0.67, 0.8, 0.67, 0.67, 1.0, 0.67, 0.6];
        close(combined(Rule::Geometric, &ten), 0.783_390);
    }

    #[test]
    fn any_rule_gives_0_when_a_score_is_0() {
        for rule in [Rule::Limiting, Rule::Geometric, Rule::SquareRoot, Rule::Product] {
            assert_eq!(combined(rule, &[1.0, 0.0, 0.7]), 0.0);
            assert!(rule.combine(&[]).is_none());
        }
    }

    /// Rabia and Terribile 2013: the square root is not below the product.
    #[test]
    fn square_root_is_never_below_the_product() {
        for scores in [[0.9, 0.8, 0.7], [0.2, 1.0, 0.9], [0.5, 0.5, 0.5]] {
            assert!(combined(Rule::SquareRoot, &scores) >= combined(Rule::Product, &scores));
        }
    }
}
