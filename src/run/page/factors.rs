//! Factors and their spread, for the page.

use super::{PageParts, shortened};
use crate::factor::{Factor, Kind, Unit, Units};
use crate::output::words::factor_words;
use crate::report::{FactorData, SpreadData};
use crate::run::spread::Spread;

/// The factors of a project, in its order.
pub fn factors(parts: &PageParts) -> Vec<FactorData> {
    let units = parts.prepared.project.units;
    let factors = parts.prepared.site.factors().iter();
    let spreads = parts.for_page.spreads.iter();
    factors
        .zip(spreads)
        .map(|(factor, spread)| factor_data(factor, spread, units))
        .collect()
}

fn factor_data(factor: &Factor, spread: &Spread, units: Units) -> FactorData {
    let unit = match factor.kind {
        Kind::Measured(unit) => Some(unit),
        Kind::Classes { .. } => None,
    };
    FactorData {
        id: factor.id.clone(),
        words: factor_words(&factor.id),
        unit: unit.map(|unit| match unit {
            Unit::Index => "",
            unit => unit.for_people(0.0, units).1,
        }),
        unit_leads: unit == Some(Unit::Ph),
        decimals: unit.map_or(0, Unit::decimals),
        beyond: unit.map_or_else(String::new, |_| factor.show(f32::INFINITY, units)),
        classes: factor.kind.classes().unwrap_or_default().to_vec(),
        remediable: factor.remediable,
        spread: spread_data(spread, unit, units),
    }
}

fn spread_data(spread: &Spread, unit: Option<Unit>, units: Units) -> SpreadData {
    let limits = match (spread.ends, unit) {
        (Some((least, greatest)), Some(unit)) => {
            let ends = [least, greatest].map(|value| unit.for_people(f64::from(value), units).0);
            limits(ends, spread.areas_m2.len())
        }
        _ => Vec::new(),
    };
    SpreadData {
        limits,
        areas_m2: spread.areas_m2.iter().map(|area| shortened(*area, 0)).collect(),
        missing_m2: shortened(spread.missing_m2, 0),
        beyond_m2: shortened(spread.beyond_m2, 0),
        by_means: spread.by_means,
    }
}

/// Limits of equal steps.
#[expect(clippy::cast_precision_loss, reason = "a few steps")]
fn limits([least, greatest]: [f64; 2], steps: usize) -> Vec<f64> {
    let limit = |step: usize| least + (greatest - least) * step as f64 / steps as f64;
    (0..=steps).map(|step| shortened(limit(step), 4)).collect()
}
