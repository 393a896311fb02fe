//! Single values of a project file: what a number must be, what a date looks
//! like, and what a user wrote, in words.

use std::ops::RangeInclusive;

use toml_edit::{Item, Value};

use crate::nearest::quoted;

/// What a number must be, in words and as a test.
#[derive(Clone, Copy)]
pub(super) struct Need {
    pub words: &'static str,
    pub holds: fn(f64) -> bool,
}

pub(super) const ABOVE_ZERO: Need = Need {
    words: "a number above 0",
    holds: |number| number > 0.0 && number.is_finite(),
};
pub(super) const ZERO_OR_MORE: Need = Need {
    words: "a number, 0 or more",
    holds: |number| number >= 0.0 && number.is_finite(),
};
pub(super) const SHARE: Need = Need {
    words: "a number from 0 to 1",
    holds: |number| (0.0..=1.0).contains(&number),
};
pub(super) const FINITE: Need = Need {
    words: "a finite number",
    holds: f64::is_finite,
};
/// Nodata may be anything, `nan` too.
pub(super) const ANY: Need = Need {
    words: "a number",
    holds: |_| true,
};

#[expect(
    clippy::cast_precision_loss,
    reason = "whole numbers in a project file are small; a huge one is out of range either way"
)]
pub(super) fn as_number(item: &Item) -> Option<f64> {
    item.as_float()
        .or_else(|| item.as_integer().map(|whole| whole as f64))
}

pub(super) fn looks_like_date(text: &str) -> bool {
    let day = text.split(['T', ' ']).next().unwrap_or_default();
    let mut parts = day.split('-');
    let mut part = |digits: usize, range: RangeInclusive<u32>| match parts.next() {
        None => true,
        Some(part) => part.len() == digits && part.parse().is_ok_and(|number| range.contains(&number)),
    };
    part(4, 1000..=9999) && part(2, 1..=12) && part(2, 1..=31) && parts.next().is_none()
}

/// What a user wrote, in words: "the number 3".
pub(super) fn describe(item: &Item) -> String {
    match item {
        Item::Value(value) => describe_value(value),
        Item::Table(_) => "a table".to_owned(),
        Item::ArrayOfTables(_) => "a list of tables".to_owned(),
        Item::None => "nothing".to_owned(),
    }
}

pub(super) fn describe_value(value: &Value) -> String {
    match value {
        Value::String(text) => format!("the text {}", quoted(text.value())),
        Value::Integer(number) => format!("the number {}", number.value()),
        Value::Float(number) => format!("the number {}", number.value()),
        Value::Boolean(flag) => flag.value().to_string(),
        Value::Datetime(date) => format!("the date {}", date.value()),
        Value::Array(_) => "a list".to_owned(),
        Value::InlineTable(_) => "a table".to_owned(),
    }
}
