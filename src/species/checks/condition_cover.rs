//! Whether conditions on one factor overlap, and which values none of them
//! covers.

use crate::factor::Factor;
use crate::species::{Condition, Holds};

/// Whether both conditions may hold in one place. Conditions on different
/// factors always may.
pub(super) fn conditions_overlap(one: &Condition, other: &Condition) -> bool {
    if one.factor != other.factor {
        return true;
    }
    match (&one.holds, &other.holds) {
        (Holds::Classes(mine), Holds::Classes(theirs)) => mine.iter().any(|class| theirs.contains(class)),
        (Holds::Between(from, to), Holds::Between(start, end)) => from < end && start < to,
        _ => true,
    }
}

/// The values of `factor` that none of `holds` covers, in words.
pub(super) fn uncovered(holds: &[&Holds], factor: &Factor, range: Option<(f64, f64)>) -> Vec<String> {
    if let Some(names) = factor.kind.classes() {
        let covered = |class: usize| {
            holds.iter().any(|holds| match holds {
                Holds::Classes(classes) => classes.iter().any(|&covered| usize::from(covered) == class),
                Holds::Between(..) => false,
            })
        };
        return (0..names.len())
            .filter(|&class| !covered(class))
            .map(|class| names[class].clone())
            .collect();
    }
    let mut spans: Vec<(f64, f64)> = holds
        .iter()
        .filter_map(|holds| match holds {
            Holds::Between(from, to) => Some((*from, *to)),
            Holds::Classes(_) => None,
        })
        .collect();
    spans.sort_by(|one, other| one.0.total_cmp(&other.0));
    let (lowest, highest) = range.unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
    let mut gaps = Vec::new();
    let mut reached = lowest;
    for (from, to) in spans {
        if from > reached {
            gaps.push(if reached.is_finite() {
                format!("{reached}..{from}")
            } else {
                format!("below {from}")
            });
        }
        reached = reached.max(to);
    }
    // A span ends below its second number, so the highest value itself needs an open end.
    if reached <= highest && reached < f64::INFINITY {
        gaps.push(format!("{reached} and above"));
    }
    gaps
}

#[cfg(test)]
mod tests {
    use super::*;

    fn canopy(from: f64, to: f64) -> Holds {
        Holds::Between(from, to)
    }

    #[test]
    fn gaps_between_spans_are_told() {
        let factor = Factor::standard("canopy").unwrap();
        let told =
            |spans: &[Holds]| uncovered(&spans.iter().collect::<Vec<_>>(), &factor, Some((0.0, 100.0)));
        assert_eq!(
            told(&[canopy(40.0, f64::INFINITY), canopy(0.0, 40.0)]),
            Vec::<String>::new()
        );
        assert_eq!(
            told(&[canopy(0.0, 30.0), canopy(40.0, 100.0)]),
            ["30..40", "100 and above"]
        );
        assert_eq!(told(&[canopy(10.0, 101.0)]), ["0..10"]);
    }

    #[test]
    fn spans_that_only_touch_do_not_overlap() {
        let on = |holds| Condition {
            factor: "canopy".to_owned(),
            holds,
        };
        assert!(!conditions_overlap(
            &on(canopy(0.0, 40.0)),
            &on(canopy(40.0, 70.0))
        ));
        assert!(conditions_overlap(
            &on(canopy(0.0, 41.0)),
            &on(canopy(40.0, 70.0))
        ));
    }
}
