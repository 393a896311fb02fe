//! Values of traits as what can be compared: spans on the scale of a trait. The kinds
//! of values come in with the catalogue's words; spans go out, or nothing where the
//! words are none of that kind.

use crate::factor::Unit;
use crate::species::{MONTHS, Values, month_spans, number_span};

/// A stretch of a scale, both ends with it.
pub(super) type Span = (f64, f64);

/// How a trait's values compare.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Scale {
    /// Numbers in a unit; an empty one for bare numbers.
    Numbers(&'static str),
    /// Words in their order.
    Ladder(&'static [&'static str]),
    /// Months of the year.
    Months,
    /// Hardiness zones with halves.
    Zones,
    /// Coefficients of conservatism, or `introduced`.
    Conservatism,
    /// Texts, perhaps several parted by semicolons.
    Texts,
}

impl Scale {
    pub(super) fn of(values: Values) -> Scale {
        match values {
            Values::Number { unit, .. } => Scale::Numbers(unit),
            Values::Ladder(words) => Scale::Ladder(words),
            Values::Months => Scale::Months,
            Values::HardinessZone => Scale::Zones,
            Values::Conservatism => Scale::Conservatism,
            Values::Words(_) | Values::List | Values::Text => Scale::Texts,
        }
    }

    /// The spans that a value of the catalogue covers; nothing where it cannot be
    /// read so.
    pub(super) fn spans(self, value: &str) -> Option<Vec<Span>> {
        match self {
            Scale::Months => return months(value),
            Scale::Numbers(_) => {
                return number_span(value)
                    .filter(|(from, to)| from <= to)
                    .map(|span| vec![span]);
            }
            _ => {}
        }
        let (from, to) = value.split_once(" to ").unwrap_or((value, value));
        let (from, to) = (self.step(from)?, self.step(to)?);
        (from.0 <= to.1).then(|| vec![(from.0, to.1)])
    }

    /// The span of a single word or number of the catalogue.
    fn step(self, text: &str) -> Option<Span> {
        let text = text.trim();
        match self {
            Scale::Numbers(_) | Scale::Conservatism => number(text).map(|number| (number, number)),
            Scale::Ladder(words) => place_of(words, text),
            Scale::Months => place_of(&MONTHS, text),
            Scale::Zones => zone(text),
            Scale::Texts => None,
        }
    }

    /// The span of what a person asked for, who may give another unit; or what is
    /// needed instead.
    pub(super) fn asked(self, text: &str) -> Result<Span, String> {
        if let Scale::Numbers(unit) = self {
            return converted(text, unit).map(|number| (number, number));
        }
        if let Scale::Months = self
            && let Some(month) = month(text)
        {
            return Ok((month, month));
        }
        self.step(text).ok_or_else(|| self.needed())
    }

    /// What can be asked for, in words.
    pub(super) fn needed(self) -> String {
        match self {
            Scale::Numbers("") => "a number".to_owned(),
            Scale::Numbers(unit) => format!("a number in {unit}"),
            Scale::Ladder(words) => format!("one of {}", words.join(", ")),
            Scale::Months => format!("a month: {}", MONTHS.join(", ")),
            Scale::Zones => "a hardiness zone such as 4 or 4b".to_owned(),
            Scale::Conservatism => "a number from 0 to 10, or introduced".to_owned(),
            Scale::Texts => "words".to_owned(),
        }
    }
}

fn number(text: &str) -> Option<f64> {
    text.parse().ok().filter(|number: &f64| number.is_finite())
}

#[expect(clippy::cast_precision_loss, reason = "lists of a few words")]
fn place_of(words: &[&str], text: &str) -> Option<Span> {
    let place = words.iter().position(|word| word.eq_ignore_ascii_case(text))? as f64;
    Some((place, place))
}

/// A month by its name or the first three letters of it.
fn month(text: &str) -> Option<f64> {
    let text = text.trim();
    let named = MONTHS
        .iter()
        .find(|month| month[..3].eq_ignore_ascii_case(text))?;
    place_of(&MONTHS, named).map(|span| span.0)
}

/// `July`, `about May to June`, `April; September to October`; `November to January`
/// goes over the turn of the year.
#[expect(clippy::cast_precision_loss, reason = "twelve months")]
fn months(value: &str) -> Option<Vec<Span>> {
    let mut spans = Vec::new();
    for (from, to) in month_spans(value).ok()? {
        let (from, to) = (from as f64, to as f64);
        if from <= to {
            spans.push((from, to));
        } else {
            spans.extend([(from, 11.0), (0.0, to)]);
        }
    }
    Some(spans)
}

/// `4` is both halves, `4a` and `4b` are one each.
fn zone(text: &str) -> Option<Span> {
    let half = text.chars().last().filter(|sign| "abAB".contains(*sign));
    let digits = half.map_or(text, |_| &text[..text.len() - 1]);
    let whole: u8 = digits.parse().ok()?;
    let whole = f64::from(whole);
    Some(match half {
        None => (whole, whole + 0.5),
        Some('a' | 'A') => (whole, whole),
        Some(_) => (whole + 0.5, whole + 0.5),
    })
}

/// A number, perhaps with a unit, in `unit`.
fn converted(text: &str, unit: &'static str) -> Result<f64, String> {
    let needed = || Scale::Numbers(unit).needed();
    let text = text.trim();
    let split = text
        .find(|sign: char| sign.is_alphabetic() && sign != 'e')
        .unwrap_or(text.len());
    let (digits, symbol) = (text[..split].trim(), text[split..].trim());
    let number = number(digits).ok_or_else(needed)?;
    if symbol.is_empty() || symbol == unit {
        return Ok(number);
    }
    let (through, last) = match unit {
        "m" => (Unit::Metre, 1.0),
        "cm" => (Unit::Centimetre, 1.0),
        "mm" => (Unit::Centimetre, 10.0),
        "degC" => (Unit::Celsius, 1.0),
        _ => return Err(needed()),
    };
    let (scale, offset) = through.from_symbol(symbol).ok_or_else(needed)?;
    Ok((number * scale + offset) * last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_are_read_as_catalogues_write_them() {
        let moisture = Scale::Ladder(&["dry", "dry-mesic", "mesic"]);
        assert_eq!(moisture.spans("dry to Mesic"), Some(vec![(0.0, 2.0)]));
        assert_eq!(moisture.spans("mesic to dry"), None);
        assert_eq!(moisture.spans("damp"), None);
        assert_eq!(Scale::Numbers("m").spans("0.5 to 1.2"), Some(vec![(0.5, 1.2)]));
        assert_eq!(Scale::Numbers("m").spans("2-4"), Some(vec![(2.0, 4.0)]));
        assert_eq!(Scale::Zones.spans("4"), Some(vec![(4.0, 4.5)]));
        assert_eq!(Scale::Zones.spans("3b"), Some(vec![(3.5, 3.5)]));
        assert_eq!(Scale::Zones.spans("b"), None);
    }

    #[test]
    fn months_go_over_the_turn_of_the_year() {
        let spans = |text| Scale::Months.spans(text);
        assert_eq!(spans("about May to June"), Some(vec![(4.0, 5.0)]));
        assert_eq!(spans("April; September"), Some(vec![(3.0, 3.0), (8.0, 8.0)]));
        assert_eq!(spans("November to January"), Some(vec![(10.0, 11.0), (0.0, 0.0)]));
        assert_eq!(spans("late spring"), None);
        assert_eq!(Scale::Months.asked("Aug"), Ok((7.0, 7.0)));
    }

    #[test]
    fn other_units_are_converted() {
        let near = |asked: Result<Span, String>, wanted: f64| (asked.unwrap().0 - wanted).abs() < 1e-9;
        assert!(near(Scale::Numbers("m").asked("3 ft"), 0.9144));
        assert!(near(Scale::Numbers("mm").asked("2 in"), 50.8));
        assert!(near(Scale::Numbers("degC").asked("-40 degF"), -40.0));
        assert_eq!(Scale::Numbers("m").asked("3 kg").unwrap_err(), "a number in m");
        assert!(Scale::Numbers("").asked("many").is_err());
    }
}
