//! One value of a trait against what the program knows of that trait: a name and a
//! text come in, what is wrong with them goes out. Knows no file and no other value.

use crate::species::problem::hint;
use crate::species::{KNOWN_TRAITS, KnownTrait, Part, Values};

/// The months by name, January first.
pub const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// Ends of names that say a unit, those of this program first.
const UNITS: [&str; 24] = [
    "m", "cm", "mm", "c", "kg", "ha", "days", "ft", "feet", "in", "inches", "yd", "f", "lb", "lbs", "oz",
    "g", "acre", "ac", "km", "pound", "gram", "hectare", "metres",
];

/// What is wrong with a value of a trait; nothing where it can be used or the
/// program does not know the trait.
pub fn fault(name: &str, value: &str) -> Option<String> {
    // A hazard in other words is still a hazard, and is told as it stands.
    let known = KnownTrait::of(name).filter(|known| known.part != Part::Hazards)?;
    match known.values {
        Values::Number {
            unit,
            lowest,
            highest,
        } => number_fault(known, value, unit, lowest, highest),
        Values::Months => months_fault(value),
        Values::Ladder(steps) => ladder_fault(steps, value),
        Values::Words(words) => parts(value).find_map(|part| word_fault(words, part)),
        Values::Conservatism => conservatism_fault(value),
        Values::HardinessZone => zone_fault(value),
        Values::List if value.split(';').any(|part| part.trim().is_empty()) => {
            Some(format!("`{value}` has an empty part between semicolons"))
        }
        Values::List | Values::Text => None,
    }
}

/// What to say of a value that can be read and of which the rules make nothing:
/// they need one step or number, and this is a span.
pub fn unused_span(name: &str, value: &str) -> Option<String> {
    let feeds_a_rule =
        name.starts_with("recorded_") && !name.ends_with("_season") || name.starts_with("wetland_");
    let spans = matches!(
        KnownTrait::of(name)?.values,
        Values::Number { .. } | Values::Ladder(_)
    ) && value.contains(" to ");
    ((feeds_a_rule || name == "spray_tolerance") && spans).then(|| {
        format!("`{value}` is a span, of which the rules make no response: give one value, the stricter of the two")
    })
}

/// What to say of a trait's name in a unit that is not the one this program reads.
pub fn foreign_unit(name: &str) -> Option<String> {
    if KnownTrait::of(name).is_some() {
        return None;
    }
    let (stem, end) = name.rsplit_once('_')?;
    if !UNITS.contains(&end) {
        return None;
    }
    let known = KNOWN_TRAITS.iter().find(|known| {
        known
            .name
            .rsplit_once('_')
            .is_some_and(|(own, unit)| own == stem && UNITS.contains(&unit))
    })?;
    Some(format!(
        "`{name}` is a text to this program; it reads `{}`: turn the values into that unit",
        known.name
    ))
}

fn parts(value: &str) -> impl Iterator<Item = &str> {
    value.split(';').map(str::trim)
}

/// The least and the most of a number, or of two with ` to ` or a dash between; the
/// same twice for one number.
#[must_use]
pub fn number_span(value: &str) -> Option<(f64, f64)> {
    let read = |text: &str| text.trim().parse().ok().filter(|number: &f64| number.is_finite());
    // A minus sign before the first number is none of those.
    let dash = value
        .get(1..)
        .and_then(|rest| rest.find(['-', '–']))
        .map(|at| at + 1);
    let dashed = dash.map(|at| (&value[..at], value[at..].trim_start_matches(['-', '–'])));
    let whole = read(value).map(|number| (number, number));
    let ends = value.split_once(" to ").or(dashed);
    whole.or_else(|| ends.and_then(|(from, to)| Some((read(from)?, read(to)?))))
}

fn number_fault(known: &KnownTrait, value: &str, unit: &str, lowest: f64, highest: f64) -> Option<String> {
    let in_unit = if unit.is_empty() {
        String::new()
    } else {
        format!(" in {unit}")
    };
    let Some((from, to)) = number_span(value) else {
        return Some(format!(
            "`{value}` is no number, needed `{}`{in_unit}: one number, or two with ` to ` between",
            known.name
        ));
    };
    if from > to {
        return Some(format!(
            "`{value}` runs the wrong way round, needed the smaller number first"
        ));
    }
    let outside = [from, to]
        .into_iter()
        .find(|number| !(lowest..=highest).contains(number))?;
    Some(format!(
        "{outside} is out of range, needed `{}`{in_unit} from {lowest} to {highest}",
        known.name
    ))
}

/// The place of a step on a ladder, letter case aside.
fn step(steps: &[&str], word: &str) -> Option<usize> {
    steps
        .iter()
        .position(|step| step.eq_ignore_ascii_case(word.trim()))
}

fn word_fault(words: &[&str], word: &str) -> Option<String> {
    if step(words, word).is_some() {
        return None;
    }
    let near = hint(&word.to_lowercase(), words.iter().copied());
    Some(format!("`{word}` is none of {}{near}", words.join(", ")))
}

fn ladder_fault(steps: &[&str], value: &str) -> Option<String> {
    let (from, to) = value.split_once(" to ").unwrap_or((value, value));
    let unread = [from, to].into_iter().find_map(|word| word_fault(steps, word));
    if unread.is_some() {
        return unread;
    }
    (step(steps, from) > step(steps, to)).then(|| {
        format!(
            "`{value}` runs the wrong way round, needed the order {}",
            steps.join(", ")
        )
    })
}

/// The months of `about May to June; September` as spans of numbers from 0; a span
/// may run over the turn of the year.
///
/// # Errors
/// A word that is no month.
pub fn month_spans(value: &str) -> Result<Vec<(usize, usize)>, String> {
    let month = |text: &str| {
        step(&MONTHS, text).ok_or_else(|| {
            let near = hint(text.trim(), MONTHS);
            format!(
                "`{}` is no month, needed names as `May to June`{near}",
                text.trim()
            )
        })
    };
    parts(value)
        .map(|part| {
            let part = part.strip_prefix("about ").unwrap_or(part);
            let (from, to) = part.split_once(" to ").unwrap_or((part, part));
            Ok((month(from)?, month(to)?))
        })
        .collect()
}

fn months_fault(value: &str) -> Option<String> {
    let spans = match month_spans(value) {
        Ok(spans) => spans,
        Err(fault) => return Some(fault),
    };
    // Witch hazel and its like flower over the turn of the year; nothing does from July to June.
    let wrong = spans
        .iter()
        .any(|(from, to)| from > to && (to + 12 - from) % 12 > 5);
    wrong.then(|| format!("`{value}` runs the wrong way round, needed the first month first"))
}

fn conservatism_fault(value: &str) -> Option<String> {
    let number = value.parse::<u8>().is_ok_and(|number| number <= 10);
    (!number && !value.eq_ignore_ascii_case("introduced")).then(|| {
        format!(
            "`{value}` is no coefficient of conservatism, needed a whole number from 0 to 10 or `introduced`"
        )
    })
}

fn zone_fault(value: &str) -> Option<String> {
    let number = value.strip_suffix(['a', 'b']).unwrap_or(value);
    let sound = number
        .parse::<u8>()
        .is_ok_and(|number| (1..=13).contains(&number));
    (!sound).then(|| format!("`{value}` is no hardiness zone, needed 1 to 13, perhaps with a or b: `4b`"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_can_be_used_is_no_fault() {
        for (name, value) in [
            ("height_m", "0.5 to 1.2"),
            ("height_m", "2-4"),
            ("bloom_months", "about May to June; September"),
            ("bloom_months", "October to January"),
            ("moisture_range", "dry to wet-mesic"),
            ("stock", "bare root; Seed"),
            ("c_michigan", "introduced"),
            ("hardiness_zone", "4b"),
            ("anything_else", "12 quux"),
        ] {
            assert_eq!(fault(name, value), None, "{name} {value}");
        }
    }

    #[test]
    fn each_fault_tells_what_was_found_and_what_is_needed() {
        for (name, value, told) in [
            ("height_m", "tall", "`tall` is no number, needed `height_m` in m"),
            (
                "height_m",
                "98",
                "98 is out of range, needed `height_m` in m from 0.02 to 60",
            ),
            ("height_m", "2 to 1", "wrong way round"),
            ("bloom_months", "Mai to June", "`Mai` is no month"),
            ("bloom_months", "Juli", "did you mean `July`?"),
            ("bloom_months", "June to April", "wrong way round"),
            ("moisture_range", "wet to dry", "wrong way round"),
            ("recorded_shade_tolerance", "tolerent", "did you mean `tolerant`?"),
            ("stock", "bare root; pots", "`pots` is none of"),
            ("c_ohio", "11", "0 to 10 or `introduced`"),
            ("hardiness_zone", "14", "needed 1 to 13"),
            ("feeds", "bees;; birds", "empty part"),
        ] {
            let fault = fault(name, value).unwrap_or_default();
            assert!(fault.contains(told), "{name} {value}: {fault}");
        }
    }

    #[test]
    fn a_foreign_unit_is_told_with_the_one_that_is_read() {
        let told = foreign_unit("height_ft").unwrap();
        assert!(told.contains("it reads `height_m`"), "{told}");
        assert!(foreign_unit("seeds_per_lb").unwrap().contains("`seeds_per_kg`"));
        assert_eq!(foreign_unit("height_m"), None);
        assert_eq!(foreign_unit("own_ft"), None);
    }

    #[test]
    fn a_span_of_a_level_feeds_no_rule() {
        assert!(unused_span("recorded_drought_tolerance", "low to medium").is_some());
        assert_eq!(unused_span("moisture_range", "dry to mesic"), None);
        assert_eq!(unused_span("recorded_seed_season", "summer to fall"), None);
    }
}
