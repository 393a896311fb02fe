//! Rules 4 and 5: canopy and hours of sun from shade tolerance, and the sunny end
//! from a second source.

use super::evidence::Evidence;
use super::{DISPUTED, Light, Shade, opinion};
use crate::species::{Form, Opinion, Response, SetAside};

/// Rule 4, the shady end: score at canopy cover in %.
pub(super) const CANOPY: [(Shade, &[(f64, f64)]); 3] = [
    (
        Shade::Intolerant,
        &[(20.0, 1.0), (40.0, 0.8), (60.0, 0.55), (80.0, 0.2), (100.0, 0.0)],
    ),
    (
        Shade::Intermediate,
        &[(20.0, 1.0), (50.0, 1.0), (70.0, 0.8), (90.0, 0.5), (100.0, 0.35)],
    ),
    (Shade::Tolerant, &[(40.0, 1.0), (85.0, 1.0), (100.0, 0.8)]),
];

/// Rule 4, the shady end: score at hours of direct sun a day. By common practice
/// full sun is six hours or more and shade under four, others say three.
pub(super) const SUN: [(Shade, &[(f64, f64)]); 3] = [
    (
        Shade::Intolerant,
        &[(0.0, 0.0), (2.0, 0.2), (4.0, 0.6), (5.0, 0.8), (6.0, 1.0)],
    ),
    (
        Shade::Intermediate,
        &[(0.0, 0.35), (2.0, 0.6), (3.0, 0.85), (4.0, 1.0), (5.0, 1.0)],
    ),
    (Shade::Tolerant, &[(0.0, 0.8), (1.0, 1.0), (4.0, 1.0)]),
];

/// Rule 5: the hours of sun a day from which the score of the sunny end holds.
pub(super) const OPEN_GROUND_HOURS: f64 = 8.0;

/// Rule 5: the score in the open by the sunniest light in which common practice
/// plants it.
pub(super) const OPEN: [(Light, f64); 4] = [
    (Light::FullSun, 1.0),
    (Light::PartSun, 0.75),
    (Light::PartShade, 0.45),
    (Light::Shade, 0.3),
];

/// Rule 5: the score in the open where no second source tells.
pub(super) const OPEN_UNTOLD_TREE: f64 = 0.9;
pub(super) const OPEN_UNTOLD_SHRUB: f64 = 0.65;
pub(super) const OPEN_UNTOLD_HERB: f64 = 0.45;

pub(super) fn opinions(evidence: &Evidence<'_>) -> Vec<Opinion> {
    let Some(end) = shady_end(evidence) else {
        return Vec::new();
    };
    let range = evidence.light_range();
    let open = open_score(evidence, end.shade, range.map(|range| range.value.0));
    let mut steps = end.steps;
    match (end.shade, range) {
        (Shade::Intolerant, _) | (Shade::Intermediate, None) => {}
        (_, Some(range)) => steps.push(format!("the sunny end from planting in {} by rule 5", range.told)),
        (Shade::Tolerant, None) => steps.push("no second source for the sunny end, by rule 5".to_owned()),
    }
    if end.set_aside.is_some() {
        steps.push(DISPUTED.to_owned());
    }
    let note = steps.join("; ");
    [
        ("canopy", canopy(end.shade, open)),
        ("sun_hours", sun(end.shade, open)),
    ]
    .into_iter()
    .filter_map(|(factor, points)| {
        let response = Response::curve(points).ok()?;
        Some(Opinion {
            set_aside: end.set_aside.iter().cloned().collect(),
            ..opinion(factor, response, end.source, &note)
        })
    })
    .collect()
}

/// The shade tolerance that is used, and why.
struct ShadyEnd<'a> {
    shade: Shade,
    source: &'a str,
    steps: Vec<String>,
    set_aside: Option<SetAside>,
}

/// Rule 4: the recorded shade tolerance, or the light it is planted in where that is
/// the stricter or the only one.
fn shady_end<'a>(evidence: &Evidence<'a>) -> Option<ShadyEnd<'a>> {
    let aside = |value: String, source: &str| SetAside {
        value,
        source: source.to_owned(),
        note: "the stricter is used at the shady end".to_owned(),
    };
    let (shade, range) = match (evidence.shade(), evidence.light_range()) {
        (None, None) => return None,
        (None, Some(range)) => {
            return Some(ShadyEnd {
                shade: shade_of(range.value.1),
                source: range.source,
                steps: vec![format!(
                    "planting in {}, no shade tolerance being recorded, by rule 4",
                    range.told
                )],
                set_aside: None,
            });
        }
        (Some(shade), range) => (shade, range),
    };
    let recorded = format!("shade tolerance {}", shade.told);
    let mut end = ShadyEnd {
        shade: shade.value,
        source: shade.source,
        steps: vec![format!("{recorded} by rule 4")],
        set_aside: None,
    };
    let Some(range) = range else {
        return Some(end);
    };
    let planted = shade_of(range.value.1);
    if planted < shade.value {
        end.shade = planted;
        end.steps.push(format!(
            "planted in {}, the stricter, and used as {}",
            range.told,
            planted.word()
        ));
        end.set_aside = Some(aside(recorded, shade.source));
    } else if shade.value == Shade::Intolerant && planted == Shade::Tolerant {
        end.set_aside = Some(aside(format!("planted in {}", range.told), range.source));
    }
    Some(end)
}

/// The least shade tolerance that goes with planting in this light.
fn shade_of(light: Light) -> Shade {
    match light {
        Light::FullSun => Shade::Intolerant,
        Light::PartSun => Shade::Intermediate,
        Light::PartShade | Light::Shade => Shade::Tolerant,
    }
}

/// Rule 5: the score of open ground.
fn open_score(evidence: &Evidence<'_>, shade: Shade, sunniest: Option<Light>) -> f64 {
    let planted = sunniest.and_then(|light| OPEN.iter().find(|(of, _)| *of == light));
    match (shade, planted, evidence.species.form) {
        (Shade::Intolerant, ..) => 1.0,
        (_, Some((_, score)), _) => *score,
        (Shade::Intermediate, None, _) | (_, None, Form::Tree) => OPEN_UNTOLD_TREE,
        (Shade::Tolerant, None, Form::Shrub) => OPEN_UNTOLD_SHRUB,
        (Shade::Tolerant, None, _) => OPEN_UNTOLD_HERB,
    }
}

fn canopy(shade: Shade, open: f64) -> Vec<(f64, f64)> {
    let mut points = vec![(0.0, open)];
    points.extend(end_of(&CANOPY, shade));
    points
}

fn sun(shade: Shade, open: f64) -> Vec<(f64, f64)> {
    let mut points = end_of(&SUN, shade);
    points.push((OPEN_GROUND_HOURS, open));
    points
}

fn end_of(table: &[(Shade, &[(f64, f64)])], shade: Shade) -> Vec<(f64, f64)> {
    let end = table.iter().find(|(of, _)| *of == shade);
    end.map_or_else(Vec::new, |(_, points)| points.to_vec())
}
