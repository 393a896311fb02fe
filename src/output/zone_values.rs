//! The flat columns of a zone, shared by GeoJSON and `GeoPackage`: one value for
//! each, in one order.

use std::borrow::Cow;
use std::collections::BTreeSet;

use super::number::rounded;
use super::words::{ACRE_M2, factor_words, share_words, species_words};
use super::{SiteResult, cautions};
use crate::factor::{Factor, Kind, Units};
use crate::gis::{Column, ColumnKind, Value};
use crate::species::Form;
use crate::zones::{GroundValue, Zone};

/// How many species of one form `recommended` names at most.
const RECOMMENDED_OF_A_FORM: usize = 5;

/// The columns, without the id.
pub(super) fn zone_columns(factors: &[Factor]) -> Vec<Column> {
    use ColumnKind::{Integer, Real, Text};
    let mut columns = vec![
        Column::new("zone", Integer),
        Column::new("area_ha", Real),
        Column::new("area_ac", Real),
        Column::new("best_class", Text),
        Column::new("best_class_words", Text),
        Column::new("listed", Integer),
        Column::new("recommended", Text),
        Column::new("limited_by", Text),
    ];
    let kinds = factors.iter().map(|factor| match factor.kind {
        Kind::Measured(_) => Real,
        Kind::Classes { .. } => Text,
    });
    columns.extend(
        ground_columns(factors)
            .iter()
            .zip(kinds)
            .map(|(name, kind)| Column::new(name, kind)),
    );
    columns.extend([
        Column::new("ground", Text),
        Column::new("not_rated_share", Real),
        Column::new("below_support_of", Text),
        Column::new("cautions", Text),
    ]);
    columns
}

/// One name for each factor, `ground_ph`, unlike each other also where letter case
/// does not count.
fn ground_columns(factors: &[Factor]) -> Vec<String> {
    let mut taken = BTreeSet::new();
    factors
        .iter()
        .map(|factor| {
            let name = format!("ground_{}", factor.id);
            let mut free = name.clone();
            let mut number = 2;
            while !taken.insert(free.to_lowercase()) {
                free = format!("{name}_{number}");
                number += 1;
            }
            free
        })
        .collect()
}

/// The values of one zone, in the order of the columns.
pub(super) fn zone_values<'a>(site: &SiteResult<'a>, zone: &'a Zone) -> Vec<Value<'a>> {
    let listed = zone
        .species
        .iter()
        .filter(|entry| entry.listing.is_listed())
        .count();
    let mut values = vec![
        Value::Integer(i64::from(zone.number)),
        Value::Real(rounded(zone.area_m2 / 10_000.0, 8)),
        Value::Real(rounded(zone.area_m2 / ACRE_M2, 8)),
        zone.best_class
            .map_or(Value::Missing, |class| text(class.to_string())),
        zone.best_class
            .map_or(Value::Missing, |class| borrowed(class.words())),
        Value::Integer(i64::try_from(listed).unwrap_or(i64::MAX)),
        text(recommended(site, zone)),
        text(factor_list(site.factors, &zone.limited_by)),
    ];
    values.extend(
        zone.ground
            .iter()
            .zip(site.factors)
            .map(|(value, factor)| ground_value(value, factor)),
    );
    values.extend([
        text(ground_words(&zone.ground, site.factors, site.units)),
        Value::Real(rounded(zone.unknown_share, 4)),
        zone.below_support_of
            .map_or(Value::Missing, |factor| borrowed(&site.factors[factor].id)),
        text(cautions::of_zone(zone, site.factors, site.species).join(" ")),
    ]);
    values
}

/// The factors by id, as one text.
pub(super) fn factor_list(factors: &[Factor], indices: &[usize]) -> String {
    let ids: Vec<&str> = indices.iter().map(|&index| factors[index].id.as_str()).collect();
    ids.join(", ")
}

/// The listed species in the order of the list, at most five of a form.
fn recommended(site: &SiteResult, zone: &Zone) -> String {
    let mut of_form = [0; Form::Fern as usize + 1];
    let names: Vec<String> = zone
        .species
        .iter()
        .filter(|entry| entry.listing.is_listed())
        .map(|entry| &site.species[entry.index()])
        .filter(|species| {
            let count = &mut of_form[species.form as usize];
            *count += 1;
            *count <= RECOMMENDED_OF_A_FORM
        })
        .map(species_words)
        .collect();
    names.join("; ")
}

/// # Missing
/// Nothing also where the mean is beyond reach: no number stands for it. The text
/// in `ground` tells the two apart.
fn ground_value<'a>(value: &GroundValue, factor: &'a Factor) -> Value<'a> {
    match (value, &factor.kind) {
        (GroundValue::Measured { mean, .. }, Kind::Measured(_)) if mean.is_finite() => {
            Value::Real(rounded(*mean, 4))
        }
        (GroundValue::Class { class, .. }, Kind::Classes { .. }) => text(factor.show_class(*class)),
        _ => Value::Missing,
    }
}

/// The ground as one text: `pH 6.1 (pH 5.8 to pH 6.4); drainage well drained (80 %)`.
fn ground_words(ground: &[GroundValue], factors: &[Factor], units: Units) -> String {
    let parts: Vec<String> = ground
        .iter()
        .zip(factors)
        .map(|(value, factor)| one_ground(value, factor, units))
        .collect();
    parts.join("; ")
}

#[expect(clippy::cast_possible_truncation, reason = "shown with one or two decimals")]
fn one_ground(value: &GroundValue, factor: &Factor, units: Units) -> String {
    let words = factor_words(&factor.id);
    match value {
        GroundValue::Missing => format!("{words} not known"),
        GroundValue::Class { class, share } => {
            format!("{words} {} ({})", factor.show_class(*class), share_words(*share))
        }
        GroundValue::Measured {
            mean,
            least,
            greatest,
        } => {
            let mean = factor.show(*mean as f32, units);
            let range = format!(
                "{} to {}",
                factor.show(*least, units),
                factor.show(*greatest, units)
            );
            // "pH pH 6.1" says it twice.
            if mean.starts_with(&words) {
                format!("{mean} ({range})")
            } else {
                format!("{words} {mean} ({range})")
            }
        }
    }
}

fn text<'a>(text: String) -> Value<'a> {
    Value::Text(Cow::Owned(text))
}

fn borrowed(text: &str) -> Value<'_> {
    Value::Text(Cow::Borrowed(text))
}
