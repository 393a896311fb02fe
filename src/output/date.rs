//! Dates in files: from `SOURCE_DATE_EPOCH` when it is set, else from the inputs,
//! so that the same inputs give the same bytes.

use std::env;
use std::time::{SystemTime, UNIX_EPOCH};

use super::{InputRecord, OutputError};

/// Seconds since 1970 as UTC: `2026-01-31T12:00:00Z`.
///
/// # Method
/// Days to the Gregorian calendar by 400-year eras of 146,097 days, the year begun
/// in March so that the leap day is its last.
#[must_use]
pub fn utc_text(seconds: i64) -> String {
    let (days, second) = (seconds.div_euclid(86_400), seconds.rem_euclid(86_400));
    let from_march_of_year_0 = days + 719_468;
    let (era, day) = (
        from_march_of_year_0.div_euclid(146_097),
        from_march_of_year_0.rem_euclid(146_097),
    );
    let year_of_era = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let day_of_year = day - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * day_of_year + 2) / 153;
    let day_of_month = day_of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = (month_from_march + 2) % 12 + 1;
    let year = era * 400 + year_of_era + i64::from(month <= 2);
    let (hour, minute) = (second / 3_600, second / 60 % 60);
    format!(
        "{year:04}-{month:02}-{day_of_month:02}T{hour:02}:{minute:02}:{:02}Z",
        second % 60
    )
}

/// The date that `SOURCE_DATE_EPOCH` sets, in seconds since 1970, or nothing.
///
/// # Errors
/// It is set to what is no number.
pub fn source_date_epoch() -> Result<Option<i64>, OutputError> {
    match env::var_os("SOURCE_DATE_EPOCH") {
        Some(value) => parse(&value.to_string_lossy()).map(Some),
        None => Ok(None),
    }
}

fn parse(value: &str) -> Result<i64, OutputError> {
    match value.trim().parse() {
        // Four digits of the year are all that files can hold.
        Ok(seconds) if (0..253_402_300_800).contains(&seconds) => Ok(seconds),
        _ => Err(OutputError::SourceDate {
            found: value.to_owned(),
        }),
    }
}

/// The date of the files of a run, in seconds since 1970: the one that is set, else
/// that of the newest input, else 1970.
#[must_use]
pub fn file_date(set: Option<i64>, inputs: &[InputRecord]) -> i64 {
    let newest = || {
        inputs
            .iter()
            .flat_map(|input| &input.files)
            .filter_map(|file| file.modified_s)
            .max()
    };
    set.or_else(newest).unwrap_or(0)
}

/// The time now, as UTC.
#[must_use]
pub fn now_text() -> String {
    utc_text(seconds_since_1970(SystemTime::now()))
}

/// Seconds since 1970, at least 0.
pub(super) fn seconds_since_1970(time: SystemTime) -> i64 {
    time.duration_since(UNIX_EPOCH)
        .ok()
        .and_then(|since| i64::try_from(since.as_secs()).ok())
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_days_come_out() {
        assert_eq!(utc_text(0), "1970-01-01T00:00:00Z");
        assert_eq!(utc_text(951_782_399), "2000-02-28T23:59:59Z");
        assert_eq!(utc_text(951_782_400), "2000-02-29T00:00:00Z");
        assert_eq!(utc_text(1_000_000_000), "2001-09-09T01:46:40Z");
        assert_eq!(utc_text(4_107_542_400), "2100-03-01T00:00:00Z");
    }

    #[test]
    fn a_date_that_is_none_is_refused() {
        assert_eq!(parse(" 12 ").unwrap(), 12);
        for value in ["", "yesterday", "-1", "253402300800"] {
            assert!(
                matches!(parse(value), Err(OutputError::SourceDate { .. })),
                "{value}"
            );
        }
    }
}
