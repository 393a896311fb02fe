//! The exact 32-bit numbers at which the level of a response's score changes, found by
//! bisection with the response itself, so that no rounding parts the tables from the
//! plain meaning.

use crate::factor::first_at_or_above;
use crate::species::Response;

/// The numbers at which a response's score comes to or leaves `least`, rising.
pub fn cuts_at(response: &Response, least: f64) -> Vec<f32> {
    let mut cuts = Vec::new();
    cut_response(response, &|score| u32::from(score >= least), &mut cuts);
    cuts.sort_by(f32::total_cmp);
    cuts.dedup();
    cuts
}

/// Adds the numbers at which the level of a response's score changes. Between two
/// knots the score only rises or only falls, so equal levels at both ends mean
/// that nothing changes between.
pub fn cut_response(response: &Response, level: &dyn Fn(f64) -> u32, cuts: &mut Vec<f32>) {
    let at = |value: f32| Leveled {
        value,
        level: response.score(value).map(|score| level(score.get())),
    };
    let knots = response.knots();
    let mut before = at(f32::MIN);
    for knot in &knots {
        let knot = first_at_or_above(*knot);
        let (below, on, above) = (at(knot.next_down()), at(knot), at(knot.next_up()));
        split(before, below, &at, cuts);
        for (from, to) in [(below, on), (on, above)] {
            if from.level != to.level {
                cuts.push(to.value);
            }
        }
        before = above;
    }
    if !knots.is_empty() {
        split(before, at(f32::INFINITY), &at, cuts);
    }
}

/// A value with the level of its score, which takes long to find out.
#[derive(Clone, Copy)]
struct Leveled {
    value: f32,
    level: Option<u32>,
}

fn split(from: Leveled, to: Leveled, at: &dyn Fn(f32) -> Leveled, cuts: &mut Vec<f32>) {
    if from.value >= to.value || from.level == to.level {
        return;
    }
    if from.value.next_up() >= to.value {
        cuts.push(to.value);
        return;
    }
    let middle = at(between(from.value, to.value));
    split(from, middle, at, cuts);
    split(middle, to, at, cuts);
}

/// The number halfway between two in the order of all 32-bit numbers.
fn between(from: f32, to: f32) -> f32 {
    let order = |value: f32| {
        let bits = i64::from(value.to_bits().cast_signed());
        if bits < 0 {
            i64::from(i32::MIN) - bits
        } else {
            bits
        }
    };
    let middle = order(from).midpoint(order(to));
    let bits = if middle < 0 {
        i64::from(i32::MIN) - middle
    } else {
        middle
    };
    #[expect(
        clippy::cast_possible_truncation,
        reason = "halfway between two 32-bit numbers"
    )]
    f32::from_bits((bits as i32).cast_unsigned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halfway_stays_between() {
        for (from, to) in [(-1.0f32, 1.0), (0.0, f32::INFINITY), (f32::MIN, -0.0), (3.0, 3.5)] {
            let middle = between(from, to);
            assert!(from <= middle && middle <= to, "{from} {middle} {to}");
        }
    }

    #[test]
    fn a_cut_is_the_exact_number_where_the_level_changes() {
        let response = Response::range(Some(10.0), Some(80.0), None, None).unwrap();
        let mut cuts = Vec::new();
        cut_response(&response, &|score| u32::from(score >= 0.6), &mut cuts);
        assert_eq!(cuts.len(), 1);
        let reaches = |value: f32| response.score(value).unwrap().get() >= 0.6;
        assert!(reaches(cuts[0]) && !reaches(cuts[0].next_down()));
    }
}
