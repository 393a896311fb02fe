//! Rules 1, 2, 3 and 10: moisture and drainage from wetland status, air at the
//! roots, drought, and what common practice says. How much water a plant can draw
//! ("moisture use") is never used.

use super::evidence::{Evidence, Recorded};
use super::{Level, Moisture, Status, classes, opinion};
use crate::species::{Opinion, SetAside};

/// Rule 1: scores from excessively to very poorly drained.
pub(super) const DRAINAGE: [(Status, [f64; 7]); 5] = [
    (Status::Obl, [0.0, 0.1, 0.3, 0.5, 0.8, 1.0, 1.0]),
    (Status::Facw, [0.1, 0.25, 0.65, 0.85, 1.0, 0.95, 0.65]),
    (Status::Fac, [0.3, 0.5, 0.85, 1.0, 1.0, 0.6, 0.3]),
    (Status::Facu, [0.5, 0.8, 1.0, 1.0, 0.6, 0.25, 0.0]),
    (Status::Upl, [0.9, 1.0, 1.0, 0.85, 0.4, 0.1, 0.0]),
];

/// Rule 1: scores from dry to wet.
pub(super) const MOISTURE: [(Status, [f64; 5]); 5] = [
    (Status::Obl, [0.0, 0.1, 0.4, 0.85, 1.0]),
    (Status::Facw, [0.1, 0.35, 0.85, 1.0, 0.85]),
    (Status::Fac, [0.3, 0.6, 1.0, 0.95, 0.5]),
    (Status::Facu, [0.5, 0.85, 1.0, 0.55, 0.15]),
    (Status::Upl, [0.9, 1.0, 0.85, 0.3, 0.05]),
];

/// Rule 2: the most that somewhat poorly, poorly and very poorly drained ground, and
/// wet-mesic and wet ground, score where anaerobic tolerance is None or Low.
pub(super) const AIR: [(Level, [f64; 3], [f64; 2]); 2] = [
    (Level::None, [0.6, 0.3, 0.0], [0.6, 0.15]),
    (Level::Low, [1.0, 0.6, 0.3], [0.95, 0.45]),
];

/// Rule 3: the least (drought tolerance High) that the two driest classes score.
pub(super) const DROUGHT_LEAST: [f64; 2] = [0.85, 0.9];
/// Rule 3: the same for FAC, whose wet end the status knows.
pub(super) const DROUGHT_LEAST_FAC: [f64; 2] = [0.6, 0.8];
/// Rule 3: the most that they score where it is Low or None.
pub(super) const DROUGHT_MOST: [(Level, [f64; 2]); 2] =
    [(Level::Low, [0.4, 0.65]), (Level::None, [0.2, 0.4])];

/// Rule 10: the most that a class scores which lies one step, or more, outside the
/// range in which common practice has it do well, on the side of mesic ground.
pub(super) const TOWARDS_MESIC: [f64; 2] = [0.65, 0.45];
/// Rule 10: the same on the other side, which is harsher than anything it is planted in.
pub(super) const AWAY_FROM_MESIC: [f64; 2] = [0.55, 0.25];

/// The moisture class that a drainage class goes with, for rule 10.
const MOISTURE_OF_DRAINAGE: [Moisture; 7] = [
    Moisture::Dry,
    Moisture::DryMesic,
    Moisture::Mesic,
    Moisture::Mesic,
    Moisture::WetMesic,
    Moisture::Wet,
    Moisture::Wet,
];

/// A class that common practice plants in and the levels score below this, or
/// that the levels score well suited and common practice leaves out by two steps,
/// is a contradiction.
const CONTRADICTED: f64 = 0.4;
const WELL_SUITED: f64 = 0.85;

pub(super) fn opinions(evidence: &Evidence<'_>) -> Vec<Opinion> {
    let Some((status, region)) = evidence.status() else {
        return Vec::new();
    };
    let mut moisture = row(&MOISTURE, status.value);
    let mut drainage = row(&DRAINAGE, status.value);
    let mut steps = vec![format!("wetland status {} ({region}) by rule 1", status.told)];
    let mut aside: Vec<SetAside> = Vec::new();
    aside.extend(air(
        evidence,
        status.value,
        &mut moisture,
        &mut drainage,
        &mut steps,
    ));
    aside.extend(drought(
        evidence,
        status.value,
        &mut moisture,
        &mut drainage,
        &mut steps,
    ));
    if let Some(range) = evidence.moisture_range() {
        aside.extend(second_source(&range, &mut moisture, &mut drainage, &mut steps));
    }
    if !aside.is_empty() {
        steps.push(super::DISPUTED.to_owned());
    }
    let note = steps.join("; ");
    let told = |factor, scores: &[f64]| Opinion {
        set_aside: aside.clone(),
        ..opinion(factor, classes(scores), status.source, &note)
    };
    vec![told("moisture", &moisture), told("drainage", &drainage)]
}

fn row<const N: usize>(table: &[(Status, [f64; N])], status: Status) -> [f64; N] {
    table
        .iter()
        .find(|(of, _)| *of == status)
        .map_or([0.0; N], |(_, scores)| *scores)
}

/// Rule 2. Wetland plants keep their status, and a contradiction is told.
fn air(
    evidence: &Evidence<'_>,
    status: Status,
    moisture: &mut [f64; 5],
    drainage: &mut [f64; 7],
    steps: &mut Vec<String>,
) -> Option<SetAside> {
    let level = evidence.anaerobic()?;
    let (_, wet_drainage, wet_moisture) = AIR.iter().find(|(of, ..)| *of == level.value)?;
    if status >= Status::Facw {
        let why = "roots without air; the status is used, because it is of the region and rests on where the plant grows";
        return (level.value == Level::None || status == Status::Obl)
            .then(|| aside(&level, "anaerobic tolerance", why));
    }
    at_most(&mut drainage[4..], wet_drainage);
    at_most(&mut moisture[3..], wet_moisture);
    steps.push(format!("anaerobic tolerance {} by rule 2", level.told));
    None
}

/// Rule 3. Drought tolerance is relative to plants of the same habit and region, so
/// it only shifts the status; that of wetland plants stands.
fn drought(
    evidence: &Evidence<'_>,
    status: Status,
    moisture: &mut [f64; 5],
    drainage: &mut [f64; 7],
    steps: &mut Vec<String>,
) -> Option<SetAside> {
    let level = evidence.drought()?;
    if status >= Status::Facw {
        let why = "compared with plants of its own habit; the status is used";
        return (level.value == Level::High).then(|| aside(&level, "drought tolerance", why));
    }
    if level.value == Level::High {
        let least = if status == Status::Fac {
            DROUGHT_LEAST_FAC
        } else {
            DROUGHT_LEAST
        };
        for scores in [&mut moisture[..2], &mut drainage[..2]] {
            scores
                .iter_mut()
                .zip(least)
                .for_each(|(score, least)| *score = score.max(least));
        }
    } else {
        let (_, most) = DROUGHT_MOST.iter().find(|(of, _)| *of == level.value)?;
        at_most(&mut moisture[..2], most);
        at_most(&mut drainage[..2], most);
    }
    steps.push(format!("drought tolerance {} by rule 3", level.told));
    (status == Status::Upl && level.value <= Level::Low).then(|| {
        aside(
            &level,
            "drought tolerance",
            "against an upland status; the stricter is used at the dry end",
        )
    })
}

/// Rule 10: the second source for water, which holds back and never lifts.
fn second_source(
    range: &Recorded<'_, (Moisture, Moisture)>,
    moisture: &mut [f64; 5],
    drainage: &mut [f64; 7],
    steps: &mut Vec<String>,
) -> Option<SetAside> {
    let mut contradicts = false;
    let mut holds_back = false;
    for (score, &class) in moisture.iter_mut().zip(Moisture::ALL) {
        let outside = steps_outside(class, range.value);
        contradicts |= outside == 0 && *score < CONTRADICTED || outside >= 2 && *score >= WELL_SUITED;
        holds_back |= hold_back(score, class, range.value);
    }
    for (score, class) in drainage.iter_mut().zip(MOISTURE_OF_DRAINAGE) {
        holds_back |= hold_back(score, class, range.value);
    }
    if holds_back {
        steps.push(format!("held to where it does well, {}, by rule 10", range.told));
    }
    contradicts.then(|| {
        aside(
            range,
            "moisture range",
            "against the levels; the stricter is used for each class",
        )
    })
}

fn steps_outside(class: Moisture, (from, to): (Moisture, Moisture)) -> usize {
    let below = (from as usize).saturating_sub(class as usize);
    below.max((class as usize).saturating_sub(to as usize))
}

/// Whether a score had to come down.
fn hold_back(score: &mut f64, class: Moisture, range: (Moisture, Moisture)) -> bool {
    let outside = steps_outside(class, range);
    let towards_mesic = if class < range.0 {
        class >= Moisture::Mesic
    } else {
        class <= Moisture::Mesic
    };
    let most = if towards_mesic {
        TOWARDS_MESIC
    } else {
        AWAY_FROM_MESIC
    };
    let most = match outside {
        0 => return false,
        1 => most[0],
        _ => most[1],
    };
    let held = *score > most;
    *score = score.min(most);
    held
}

fn at_most(scores: &mut [f64], most: &[f64]) {
    scores
        .iter_mut()
        .zip(most)
        .for_each(|(score, most)| *score = score.min(*most));
}

/// A recorded value as told beside the one that is used.
fn aside<T>(recorded: &Recorded<'_, T>, what: &str, why: &str) -> SetAside {
    SetAside {
        value: format!("{what} {}", recorded.told),
        source: recorded.source.to_owned(),
        note: why.to_owned(),
    }
}
