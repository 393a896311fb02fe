//! The value that each polygon of a layer has for a factor: its attribute brought to
//! the factor's unit, or its word looked up. What cannot be read is told.

use std::collections::BTreeMap;

use super::finding::Findings;
use super::possible::{Impossible, Possible};
use super::vector_layer::{VectorLayer, tell_unknown_words};
use crate::factor::Kind;
use crate::gis::FieldValue;
use crate::plural::{counted, one_or_many};
use crate::project::{FactorSection, Meaning, UnitConversion};

/// For each polygon of a layer the factor's value by its attribute; what cannot be
/// read is told.
#[expect(
    clippy::cast_possible_truncation,
    reason = "values are held in single precision"
)]
pub fn polygon_values(
    section: &FactorSection,
    attribute: &str,
    nodata: Option<f64>,
    unit: Option<&UnitConversion>,
    layer: &VectorLayer,
    findings: &mut Findings,
) -> Vec<f32> {
    let name = format!("factors.{}", section.factor.id);
    let mut unknown: BTreeMap<String, u64> = BTreeMap::new();
    let mut empty = 0u64;
    let mut impossible = Impossible::default();
    let possible = Possible::of(&section.factor, section.cuts.is_some());
    let Some(fields) = layer.field(attribute) else {
        return Vec::new();
    };
    let mut measured = |number: f64| {
        if Some(number) == nodata {
            empty += 1;
            return f32::NAN;
        }
        let value = unit.map_or(number, |unit| unit.apply(number));
        if !possible.holds(value) {
            impossible.count(value);
            return f32::NAN;
        }
        match &section.cuts {
            Some(cuts) => cuts.class_of(value).map_or(f32::NAN, f32::from),
            None => value as f32,
        }
    };
    let is_measured = section.cuts.is_some() || matches!(section.factor.kind, Kind::Measured(_));
    let mut without = 0u64;
    let values = fields
        .map(|field| match field {
            FieldValue::Missing => {
                without += 1;
                f32::NAN
            }
            FieldValue::Number(number) if is_measured => measured(*number),
            FieldValue::Text(text) if is_measured => {
                if let Ok(number) = text.trim().parse::<f64>() {
                    return measured(number);
                }
                *unknown.entry(text.clone()).or_default() += 1;
                f32::NAN
            }
            word => {
                let (text, meaning) = match word {
                    FieldValue::Number(number) if Some(*number) == nodata => {
                        (String::new(), Some(Meaning::Missing))
                    }
                    FieldValue::Number(number) => {
                        (number.to_string(), section.words.meaning_of_number(*number))
                    }
                    FieldValue::Text(text) => (text.clone(), section.words.meaning_of(text)),
                    FieldValue::Missing => (String::new(), Some(Meaning::Missing)),
                };
                match meaning {
                    Some(Meaning::Class(class)) => f32::from(class),
                    Some(Meaning::Missing) => f32::NAN,
                    None => {
                        *unknown.entry(text).or_default() += 1;
                        f32::NAN
                    }
                }
            }
        })
        .collect();
    if is_measured {
        for (word, count) in unknown.iter().take(10) {
            findings.warn(
                &name,
                format!(
                    "`{attribute}` of {} has \"{word}\" ({}) where a number is needed: its ground is missing",
                    layer.file,
                    counted(*count, "time")
                ),
            );
        }
    } else {
        tell_unknown_words(
            &name,
            &layer.file,
            attribute,
            section.factor.kind.classes().unwrap_or_default(),
            &unknown,
            findings,
        );
    }
    if impossible.count > 0 {
        let text = possible.told(&section.factor, &impossible, "polygon");
        findings.warn(&name, format!("`{attribute}` of {}: {text}", layer.file));
    }
    empty += without;
    if empty > 0 {
        findings.warn(
            &name,
            format!(
                "{} of {} {} no `{attribute}`: {} ground is missing",
                counted(empty, "polygon"),
                layer.file,
                one_or_many(empty, "has", "have"),
                one_or_many(empty, "its", "their")
            ),
        );
    }
    values
}
