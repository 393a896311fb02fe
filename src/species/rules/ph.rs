//! Rule 6: pH from the limits at which the plant is recorded, which are where it
//! is known and not where it dies.

use super::evidence::Evidence;
use super::opinion as told_opinion;
use crate::project::RuleSettings;
use crate::species::{Opinion, Response};

/// Scores at the limits, outside and inside them, as the settings say.
fn response(lowest: f64, highest: f64, rule: &RuleSettings) -> Option<Response> {
    let inside = (highest - lowest) * rule.ph_inside;
    let tidy = |value: f64| (value * 1e4).round() / 1e4;
    let mut points = vec![
        (tidy(lowest - rule.ph_beyond), 0.0),
        (lowest, rule.ph_at_limit),
        (tidy(lowest + inside), 1.0),
        (tidy(highest - inside), 1.0),
        (highest, rule.ph_at_limit),
        (tidy(highest + rule.ph_beyond), 0.0),
    ];
    points.dedup_by_key(|point| point.0);
    Response::curve(points).ok()
}

pub(super) fn opinion(evidence: &Evidence<'_>) -> Option<Opinion> {
    let (lowest, highest) = evidence.ph_limits()?;
    let response = response(lowest.value, highest.value, evidence.settings)?;
    let note = format!("recorded pH {} to {} by rule 6", lowest.told, highest.told);
    Some(told_opinion("ph", response, lowest.source, &note))
}
