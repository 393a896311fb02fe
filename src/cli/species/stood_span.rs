//! The values that one response stands and another does not, as spans between their
//! bends and the places where they cross the limit.

use super::curve_plot::score_at;
use super::stands::STANDS_FROM;
use crate::factor::Factor;
use crate::species::Response;

/// A span of values; an end that is nothing is open.
pub(super) type OpenSpan = (Option<f64>, Option<f64>);

/// The spans on which `one` scores at least the limit and `other` does not.
pub(super) fn stood_by_one(one: &Response, other: &Response, factor: &Factor) -> Vec<OpenSpan> {
    let mut bounds: Vec<f64> = [one, other].into_iter().flat_map(breaks).collect();
    bounds.sort_by(f64::total_cmp);
    bounds.dedup();
    let can_be = |value: f64| {
        factor
            .plausible()
            .is_none_or(|(lowest, highest)| (lowest..=highest).contains(&value))
    };
    let stands =
        |value| can_be(value) && score_at(one, value) >= STANDS_FROM && score_at(other, value) < STANDS_FROM;
    let mut spans: Vec<OpenSpan> = Vec::new();
    for place in 0..=bounds.len() {
        let from = place.checked_sub(1).map(|before| bounds[before]);
        let to = bounds.get(place).copied();
        let middle = match (from, to) {
            (Some(from), Some(to)) => f64::midpoint(from, to),
            (None, Some(to)) => to - 1.0,
            (Some(from), None) => from + 1.0,
            (None, None) => return spans,
        };
        if !stands(middle) {
            continue;
        }
        match spans.last_mut() {
            Some(last) if last.1.is_some() && last.1 == from => last.1 = to,
            _ => spans.push((from, to)),
        }
    }
    spans
}

/// Bends of a response and the values at which it crosses the limit.
fn breaks(response: &Response) -> Vec<f64> {
    let knots = response.knots();
    let mut breaks = knots.clone();
    for pair in knots.windows(2) {
        let (low, high) = (score_at(response, pair[0]), score_at(response, pair[1]));
        if (low < STANDS_FROM) != (high < STANDS_FROM) {
            breaks.push(pair[0] + (STANDS_FROM - low) / (high - low) * (pair[1] - pair[0]));
        }
    }
    breaks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_end_where_a_response_crosses_the_limit() {
        let canopy = Factor::standard("canopy").unwrap();
        let sunny = Response::curve(vec![(0.0, 1.0), (50.0, 0.0)]).unwrap();
        let shady = Response::curve(vec![(0.0, 0.5), (10.0, 1.0), (60.0, 1.0), (100.0, 0.2)]).unwrap();
        let spans = stood_by_one(&shady, &sunny, &canopy);
        assert_eq!(spans.len(), 1);
        assert!((spans[0].0.unwrap() - 20.0).abs() < 1e-4, "{spans:?}");
        assert!((spans[0].1.unwrap() - 80.0).abs() < 1e-4, "{spans:?}");
        let spans = stood_by_one(&sunny, &shady, &canopy);
        assert!((spans[0].1.unwrap() - 2.0).abs() < 1e-4, "{spans:?}");
        assert_eq!(stood_by_one(&shady, &shady, &canopy), []);
    }

    #[test]
    fn ends_stay_open_where_the_factor_has_no_end() {
        let distance = Factor::standard("distance").unwrap();
        let near = Response::range(None, None, Some(10.0), Some(20.0)).unwrap();
        let any = Response::range(Some(-2.0), Some(-1.0), None, None).unwrap();
        let spans = stood_by_one(&any, &near, &distance);
        assert_eq!((spans.len(), spans[0].1), (1, None));
        assert!((spans[0].0.unwrap() - 14.0).abs() < 1e-4, "{spans:?}");
    }
}
