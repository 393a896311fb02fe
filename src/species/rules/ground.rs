//! Rules 11 to 14: texture, carbonates, hardiness, level ground.

use super::evidence::Evidence;
use super::{Level, classes, opinion};
use crate::species::{Opinion, Response};

/// Rule 11: the group of each of the twelve texture classes, in the order of the
/// factor: 0 coarse, 1 medium, 2 fine (groups as the plant database has them, from
/// memory, unverified).
pub(super) const TEXTURE_GROUP: [usize; 12] = [0, 0, 1, 1, 1, 1, 1, 1, 1, 2, 2, 2];
/// Rule 11: the score of a group to which the plant is not recorded as adapted.
pub(super) const NOT_ADAPTED: f64 = 0.5;

/// Rule 12: score at calcium carbonate in %.
pub(super) const CARBONATES: [(Level, &[(f64, f64)]); 4] = [
    (Level::None, &[(0.0, 1.0), (1.0, 0.85), (3.0, 0.5), (10.0, 0.1)]),
    (Level::Low, &[(0.0, 1.0), (3.0, 0.85), (10.0, 0.5), (25.0, 0.2)]),
    (
        Level::Medium,
        &[(0.0, 1.0), (10.0, 0.85), (25.0, 0.6), (50.0, 0.3)],
    ),
    (Level::High, &[(0.0, 1.0), (25.0, 1.0), (50.0, 0.8)]),
];

/// Rule 13: the degrees C below the zone's lowest mean minimum at which the score
/// is 0: half a zone.
pub(super) const BEYOND_ZONE_C: f64 = 2.8;

/// Rule 14: score at slope in % of a plant of level ground.
pub(super) const LEVEL_GROUND: [(f64, f64); 4] = [(0.0, 1.0), (3.0, 1.0), (10.0, 0.5), (20.0, 0.2)];

pub(super) fn opinions(evidence: &Evidence<'_>) -> Vec<Opinion> {
    let rules = [
        texture(evidence),
        carbonates(evidence),
        hardiness(evidence),
        level_ground(evidence),
    ];
    rules.into_iter().flatten().collect()
}

fn texture(evidence: &Evidence<'_>) -> Option<Opinion> {
    let adapted = evidence.textures()?;
    let scores = TEXTURE_GROUP.map(|group| if adapted.value[group] { 1.0 } else { NOT_ADAPTED });
    let note = format!(
        "adapted to {} textured soils by rule 11",
        adapted.told.replace("; ", ", ")
    );
    Some(opinion("texture", classes(&scores), adapted.source, &note))
}

fn carbonates(evidence: &Evidence<'_>) -> Option<Opinion> {
    let level = evidence.carbonates()?;
    let (_, points) = CARBONATES.iter().find(|(of, _)| *of == level.value)?;
    let note = format!("carbonate tolerance {} by rule 12", level.told);
    let response = Response::curve(points.to_vec()).ok()?;
    Some(opinion("carbonates", response, level.source, &note))
}

fn hardiness(evidence: &Evidence<'_>) -> Option<Opinion> {
    let zone = evidence.hardiness()?;
    let best_from = (zone.value * 10.0).round() / 10.0;
    let response = Response::range(Some(best_from - BEYOND_ZONE_C), Some(best_from), None, None).ok()?;
    let note = format!("hardiness zone {} by rule 13", zone.told);
    Some(opinion("hardiness", response, zone.source, &note))
}

fn level_ground(evidence: &Evidence<'_>) -> Option<Opinion> {
    let level = evidence.level_ground()?;
    let response = Response::curve(LEVEL_GROUND.to_vec()).ok()?;
    Some(opinion(
        "slope",
        response,
        level.source,
        "a plant of level ground by rule 14",
    ))
}
