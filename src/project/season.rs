//! Days of the year, and seasons between two of them. Reads `"05-01"` and whole dates.

use std::fmt;

use super::reader::Found;
use super::table::Table;
use crate::nearest::quoted;

/// One day of the Gregorian calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Day {
    /// Year.
    pub year: i32,
    /// Month, from 1.
    pub month: u32,
    /// Day of the month, from 1.
    pub day: u32,
}

/// The year of days written without one; the sun's course hardly differs between years.
pub const USUAL_YEAR: i32 = 2026;

const MONTHS: [(&str, u32); 12] = [
    ("January", 31),
    ("February", 28),
    ("March", 31),
    ("April", 30),
    ("May", 31),
    ("June", 30),
    ("July", 31),
    ("August", 31),
    ("September", 30),
    ("October", 31),
    ("November", 30),
    ("December", 31),
];

impl Day {
    /// The day, or nothing when the calendar has no such day.
    ///
    /// ```
    /// use groundfit::project::Day;
    /// assert!(Day::new(2024, 2, 29).is_some());
    /// assert!(Day::new(2025, 2, 29).is_none());
    /// ```
    #[must_use]
    pub fn new(year: i32, month: u32, day: u32) -> Option<Day> {
        let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
        let (_, days) = MONTHS.get(usize::try_from(month.checked_sub(1)?).ok()?)?;
        let days = days + u32::from(leap && month == 2);
        let fits = (1..=days).contains(&day) && (1900..=2100).contains(&year);
        fits.then_some(Day { year, month, day })
    }

    /// The Julian day number: that of the noon of the day.
    ///
    /// # Method
    /// Meeus 1991, Astronomical Algorithms, for the Gregorian calendar (from memory, unverified).
    #[must_use]
    pub fn julian_number(self) -> i32 {
        // March begins the year, so that the leap day is its last.
        let month = self.month.cast_signed();
        let (year, month) = if month < 3 {
            (self.year - 1, month + 12)
        } else {
            (self.year, month)
        };
        let century = year / 100;
        let days = 36_525 * (year + 4_716) / 100 + 306_001 * (month + 1) / 10_000;
        days + self.day.cast_signed() + 2 - century + century / 4 - 1_524
    }

    /// `"05-01"`, `"2026-05-01"` or a TOML date.
    fn parse(text: &str) -> Option<Day> {
        let parts: Vec<&str> = text.trim().split('-').collect();
        let (year, month, day) = match parts[..] {
            [month, day] => (USUAL_YEAR, month, day),
            [year, month, day] => (year.parse().ok().filter(|_| year.len() == 4)?, month, day),
            _ => return None,
        };
        let number = |part: &str| part.parse().ok().filter(|_| part.len() == 2);
        Day::new(year, number(month)?, number(day)?)
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let month = usize::try_from(self.month).unwrap_or(0);
        write!(f, "{} {}", self.day, MONTHS[month.clamp(1, 12) - 1].0)
    }
}

/// The days from one to another, both of them included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Season {
    /// First day.
    pub from: Day,
    /// Last day.
    pub to: Day,
}

impl Season {
    /// The season from `season_from` to `season_to`; one that ends before it begins is a
    /// problem.
    pub(super) fn read(table: &Table) -> Option<Season> {
        let from = table.season_date("season_from");
        let to = table.season_date("season_to");
        let (from, to) = match (from, to) {
            (Some(from), Some(to)) => (from, to),
            (Some(_), None) => {
                table.require(&["season_to"]);
                return None;
            }
            (None, Some(_)) => {
                table.require(&["season_from"]);
                return None;
            }
            (None, None) => return None,
        };
        let season = Season {
            from: from.value,
            to: to.value,
        };
        if season.to < season.from {
            to.spot.problem(format!(
                "found a season that ends ({}) before it begins ({}), needed a later end; a season over the new year takes whole dates, such as 2026-11-01 and 2027-03-31",
                season.to, season.from
            ));
            return None;
        }
        if season.days() > 366 {
            to.spot.problem(format!(
                "found a season of {} days, needed at most a year",
                season.days()
            ));
            return None;
        }
        Some(season)
    }

    /// How many days it has.
    #[must_use]
    pub fn days(&self) -> i32 {
        self.to.julian_number() - self.from.julian_number() + 1
    }
}

impl<'t> Table<'t> {
    /// A day, with or without its year.
    fn season_date(&self, key: &'static str) -> Option<Found<'t, Day>> {
        let Found { value, spot } = self.day_text(key)?;
        let Some(day) = Day::parse(&value) else {
            spot.problem(format!(
                "found {}, needed a day of the calendar like \"05-01\" or 2026-05-01",
                quoted(&value)
            ));
            return None;
        };
        Some(Found { value: day, spot })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_counted_through_leap_years_and_new_years() {
        let number = |year, month, day| Day::new(year, month, day).unwrap().julian_number();
        // 1 January 2000 is the Julian day 2451545 at noon.
        assert_eq!(number(2000, 1, 1), 2_451_545);
        // The date of the NREL algorithm's worked example: Julian day 2452930.31 at 19:30.
        assert_eq!(number(2003, 10, 17), 2_452_930);
        assert_eq!(number(2027, 1, 1) - number(2026, 12, 31), 1);
        assert_eq!(number(2024, 3, 1) - number(2024, 2, 28), 2);
        assert_eq!(number(2026, 3, 1) - number(2026, 2, 28), 1);
    }

    #[test]
    fn days_that_no_calendar_has_are_refused() {
        assert_eq!(Day::parse("05-01"), Day::new(USUAL_YEAR, 5, 1));
        assert_eq!(Day::parse("2027-03-31"), Day::new(2027, 3, 31));
        for wrong in [
            "2026", "5-1", "02-30", "13-01", "00-10", "1-2-3-4", "x-y", "26-05-01",
        ] {
            assert_eq!(Day::parse(wrong), None, "{wrong}");
        }
    }
}
