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

/// Appends what [`decimal`] gives, and tells whether there is something.
///
/// # Method
/// Most numbers of a file were cut or rounded to four decimals. The number nearest to so
/// many ten-thousandths shows just these in up to eight decimals, as long as it is below a
/// million.
pub(super) fn push_decimal(text: &mut Vec<u8>, value: f64, decimals: usize) -> bool {
    const PARTS: f64 = 1e4;
    let parts = (value * PARTS).round();
    let is_short = parts.abs() < 1e10 && (parts / PARTS).to_bits() == value.to_bits();
    if !(is_short && (4..=8).contains(&decimals)) {
        let found = decimal(value, decimals);
        text.extend(found.iter().flat_map(String::as_bytes));
        return found.is_some();
    }
    #[expect(clippy::cast_possible_truncation, reason = "below 10^10")]
    push_parts(text, parts as i64, 4);
    true
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

/// Appends a whole number of parts, of which ten to a power are one, zeros at the end left
/// out.
fn push_parts(text: &mut Vec<u8>, parts: i64, decimals: usize) {
    let mut digits = [b'0'; 32];
    let mut size = parts.unsigned_abs();
    let point = digits.len() - decimals - 1;
    let mut start = digits.len();
    while size > 0 || start >= point {
        start -= 1;
        if start == point {
            digits[start] = b'.';
        } else {
            digits[start] = b'0' + u8::try_from(size % 10).unwrap_or(0);
            size /= 10;
        }
    }
    let zeros = digits[point + 1..]
        .iter()
        .rev()
        .take_while(|&&digit| digit == b'0');
    let mut end = digits.len() - zeros.count();
    if end == point + 1 {
        end = point;
    }
    if parts < 0 {
        text.push(b'-');
    }
    text.extend_from_slice(&digits[start..end]);
}

/// Appends whole 1e-7 degrees as degrees, zeros at the end left out.
pub(super) fn push_degrees(text: &mut Vec<u8>, value: i32) {
    push_parts(text, value.into(), 7);
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
    fn zero_has_no_sign() {
        for value in [0.0, -0.0, -1e-9] {
            let mut text = Vec::new();
            assert!(push_decimal(&mut text, value, 8) && text == b"0", "{value}");
        }
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
        fn appended_numbers_are_those_of_the_plain_text(
            value in prop_oneof![
                any::<f64>(),
                -2.0..2.0,
                (-100_000_i32..100_000).prop_map(|parts| f64::from(parts) / 1e4),
                any::<i32>().prop_map(|parts| f64::from(parts) / 1e3),
                any::<u32>().prop_map(|parts| f64::from(parts) * 100.0 / 1e4),
            ],
            decimals in 0_usize..10,
        ) {
            let mut text = b"x".to_vec();
            let is_there = push_decimal(&mut text, value, decimals);
            let plain = decimal(value, decimals);
            prop_assert_eq!(is_there, plain.is_some());
            prop_assert_eq!(String::from_utf8(text).unwrap(), format!("x{}", plain.unwrap_or_default()));
        }

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
