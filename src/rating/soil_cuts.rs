//! Values at which a factor of the place changes what it does to the soils of its map
//! unit: the wetness of terrain to moisture, salty water to salinity.

use super::axis::Axis;
use super::question::Questions;
use crate::factor::first_at_or_above;
use crate::soil::{LeachingWater, SaltOfSoils, steps};

/// The cuts of a factor's axis by what it does to soils, where `level` of the score of
/// any species may change.
pub fn soil_cuts(questions: &Questions, factor: usize, level: &dyn Fn(f64) -> u32) -> Vec<f32> {
    let Some(by_soil) = questions.by_soil() else {
        return Vec::new();
    };
    let mut cuts = Vec::new();
    if let Some(found) = by_soil.mixes.nudge.filter(|found| found.wetness_index == factor) {
        let limits = [found.nudge.drier_below, found.nudge.wetter_from];
        cuts.extend(limits.map(first_at_or_above));
    }
    if let Some(salt) = by_soil.mixes.salt.filter(|salt| salt.is_behind(factor)) {
        match salt.amount {
            LeachingWater::Everywhere(mm) => cuts.extend(water_cuts(questions, &salt, mm, level)),
            // Two numbers make the salinity: each step of each may change it.
            LeachingWater::Factor(_) => cuts.extend(steps()),
        }
    }
    cuts
}

/// The steps of salty water at which a soil of any drainage class comes into another bin
/// of salinity.
fn water_cuts(questions: &Questions, salt: &SaltOfSoils, mm: f64, level: &dyn Fn(f64) -> u32) -> Vec<f32> {
    let salinity = Axis::new(questions, salt.salinity, level);
    let classes = (0u8..).map(f32::from).take(salt.zone.leaching.len());
    let classes: Vec<f32> = classes.collect();
    let bins = |ds_m: f32| -> Vec<u32> {
        let bins = classes.iter();
        bins.map(|&class| salinity.bin(salt.in_water(ds_m, mm, class)))
            .collect()
    };
    let mut below = bins(0.0);
    let mut unlike = |ds_m: &f32| {
        let here = bins(*ds_m);
        let unlike = here != below;
        below = here;
        unlike
    };
    // From nothing to something a soil of unknown drainage becomes unknown.
    steps()
        .enumerate()
        .filter(|(at, step)| unlike(step) || *at == 0)
        .map(|(_, step)| step)
        .collect()
}
