//! Rules 7, 8 and 9: salt in the soil from the recorded class, salt in the air from
//! what is said of spray, and salt where roots lack air.

use super::evidence::Evidence;
use super::{Level, SprayLevel, Status, classes, opinion};
use crate::species::{Condition, Holds, Opinion, Response};

/// Rule 7: the `ECe` in dS/m up to which a level means at most a tenth less growth,
/// as recorded (None 0 to 2, Low 2.1 to 4, Medium 4.1 to 8), and that of the next
/// level. High, above 8, has no upper limit: twice its lower one is taken.
pub(super) const SALINITY: [(Level, f64, f64); 4] = [
    (Level::None, 2.0, 4.0),
    (Level::Low, 4.0, 8.0),
    (Level::Medium, 8.0, 16.0),
    (Level::High, 16.0, 32.0),
];
/// Rule 7: the scores at these two.
pub(super) const AT_LIMIT: f64 = 0.9;
pub(super) const AT_NEXT: f64 = 0.6;

/// Rule 8: scores in no, slight, moderate, heavy and severe spray.
pub(super) const SPRAY: [(SprayLevel, [f64; 5]); 4] = [
    (SprayLevel::VeryHigh, [1.0, 0.95, 0.9, 0.75, 0.5]),
    (SprayLevel::High, [1.0, 0.95, 0.85, 0.65, 0.4]),
    (SprayLevel::Moderate, [1.0, 0.9, 0.7, 0.45, 0.25]),
    (SprayLevel::Low, [1.0, 0.8, 0.5, 0.3, 0.1]),
];

/// Rule 9: the last drainage class that counts as drained: moderately well.
const LAST_DRAINED: u16 = 3;
const DRAINAGE_CLASSES: u16 = 7;

pub(super) fn opinions(evidence: &Evidence<'_>) -> Vec<Opinion> {
    let mut opinions = soil(evidence);
    opinions.extend(spray(evidence));
    opinions
}

fn soil(evidence: &Evidence<'_>) -> Vec<Opinion> {
    let Some(level) = evidence.salinity() else {
        return Vec::new();
    };
    let Some(response) = threshold(level.value) else {
        return Vec::new();
    };
    let note = format!("salinity tolerance {} by rule 7", level.told);
    let everywhere = opinion("soil_salinity", response, level.source, &note);
    let lacks_air = evidence
        .anaerobic()
        .filter(|air| air.value <= Level::Low && level.value >= Level::Medium);
    let lives_wet = evidence
        .status()
        .is_some_and(|(status, _)| status.value >= Status::Fac);
    let (Some(air), true, Some(wet)) = (lacks_air, lives_wet, threshold(Level::None)) else {
        return vec![everywhere];
    };
    let drainage = |classes: std::ops::Range<u16>| {
        Some(Condition {
            factor: "drainage".to_owned(),
            holds: Holds::Classes(classes.collect()),
        })
    };
    let note = format!(
        "{note}; anaerobic tolerance {} by rule 9: salt is stood where the ground drains",
        air.told
    );
    let drained = Opinion {
        given: drainage(0..LAST_DRAINED + 1),
        ..opinion("soil_salinity", everywhere.response, level.source, &note)
    };
    let undrained = Opinion {
        given: drainage(LAST_DRAINED + 1..DRAINAGE_CLASSES),
        ..opinion("soil_salinity", wet, level.source, &note)
    };
    vec![drained, undrained]
}

/// Rule 7: the threshold and slope of the straight line through the two limits.
fn threshold(level: Level) -> Option<Response> {
    let (_, limit, next) = SALINITY.iter().find(|(of, ..)| *of == level)?;
    let slope_pct = (AT_LIMIT - AT_NEXT) / (next - limit) * 100.0;
    let threshold = limit - (1.0 - AT_LIMIT) * 100.0 / slope_pct;
    // A thousandth up, so that the limits themselves keep their scores.
    let tidy = |value: f64, up: f64| (value * 1e3).mul_add(1.0, up).floor() / 1e3;
    Response::threshold(tidy(threshold, 1.0), tidy(slope_pct, 0.5)).ok()
}

fn spray(evidence: &Evidence<'_>) -> Option<Opinion> {
    let level = evidence.spray()?;
    let (_, scores) = SPRAY.iter().find(|(of, _)| *of == level.value)?;
    let note = format!("spray tolerance {} by rule 8", level.told);
    Some(opinion("spray_salt", classes(scores), level.source, &note))
}
