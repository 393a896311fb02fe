//! Numbers as text: always a point, never an exponent, the same on every machine.

/// A number with at most `decimals` decimals, zeros at the end left out.
///
/// # Missing
/// Nothing for a number that is not finite.
pub(super) fn decimal(value: f64, decimals: usize) -> Option<String> {
    if !value.is_finite() {
        return None;
    }
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    Some(if text == "-0" { "0".to_owned() } else { text })
}

/// A number cut, not rounded, to four decimals: rounding must not lift a rating or
/// a share over a limit.
pub(super) fn cut(value: f64) -> f64 {
    // The small addend keeps 0.57 from becoming 0.5699.
    (value * 1e4 + 1e-7).floor() / 1e4
}

/// A number rounded to a number of decimals.
pub(super) fn rounded(value: f64, decimals: i32) -> f64 {
    let factor = 10f64.powi(decimals);
    (value * factor).round() / factor
}

/// Appends whole 1e-7 degrees as degrees, zeros at the end left out.
pub(super) fn push_degrees(text: &mut Vec<u8>, value: i32) {
    const DECIMALS: usize = 7;
    let mut digits = [b'0'; 12];
    let size = value.unsigned_abs();
    let (mut whole, mut part) = (size / 10_000_000, size % 10_000_000);
    let point = digits.len() - DECIMALS - 1;
    digits[point] = b'.';
    for digit in digits[point + 1..].iter_mut().rev() {
        *digit = digit_of(part % 10);
        part /= 10;
    }
    let mut start = point;
    loop {
        start -= 1;
        digits[start] = digit_of(whole % 10);
        whole /= 10;
        if whole == 0 {
            break;
        }
    }
    let mut end = digits.len();
    while digits[end - 1] == b'0' && end > point + 1 {
        end -= 1;
    }
    if end == point + 1 {
        end = point;
    }
    if value < 0 {
        text.push(b'-');
    }
    text.extend_from_slice(&digits[start..end]);
}

fn digit_of(value: u32) -> u8 {
    b'0' + u8::try_from(value).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn degrees(value: i32) -> String {
        let mut text = Vec::new();
        push_degrees(&mut text, value);
        String::from_utf8(text).unwrap()
    }

    #[test]
    fn degrees_are_exact_and_short() {
        assert_eq!(degrees(-931_234_567), "-93.1234567");
        assert_eq!(degrees(-1), "-0.0000001");
        assert_eq!(degrees(440_000_000), "44");
        assert_eq!(degrees(440_050_000), "44.005");
        assert_eq!(degrees(0), "0");
        assert_eq!(degrees(i32::MIN), "-214.7483648");
        assert_eq!(degrees(1_000_000_000), "100");
        assert_eq!(degrees(-1_800_000_000), "-180");
    }

    proptest! {
        #[test]
        fn degrees_come_back_as_they_went(value in -1_800_000_000_i32..=1_800_000_000) {
            let back: f64 = degrees(value).parse().unwrap();
            #[expect(clippy::cast_possible_truncation, reason = "within 180 degrees")]
            let back = (back * 1e7).round() as i32;
            prop_assert_eq!(back, value);
        }
    }

    #[test]
    fn decimals_are_trimmed_and_never_infinite() {
        assert_eq!(decimal(1.250_000, 4).unwrap(), "1.25");
        assert_eq!(decimal(100.0, 4).unwrap(), "100");
        assert_eq!(decimal(-0.000_01, 2).unwrap(), "0");
        assert_eq!(decimal(f64::INFINITY, 2), None);
        assert_eq!(decimal(f64::NAN, 2), None);
    }

    #[test]
    fn cutting_never_lifts() {
        assert_eq!(cut(0.599_99), 0.5999);
        assert_eq!(cut(0.57), 0.57);
        assert_eq!(cut(1.0), 1.0);
    }
}
