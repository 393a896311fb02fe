//! A response to a measured factor as a small plot of signs: the score over the
//! factor's axis, filled up to the class limits that it reaches.

use crate::factor::{Factor, Kind, Unit, Units};
use crate::project::Rule;
use crate::score::Score;
use crate::species::{Response, short_number};

/// Columns of the plot.
const WIDTH: usize = 61;
/// Columns between two numbers of the axis, at least.
const TICK: usize = 8;
/// Width of what stands before the plot.
const MARGIN: usize = 8;

/// The lines of the plot; none for classes. The axis is in the units people read.
#[expect(clippy::cast_precision_loss, reason = "columns of a page")]
pub(super) fn plot(response: &Response, factor: &Factor, units: Units) -> Vec<String> {
    let Kind::Measured(unit) = factor.kind else {
        return Vec::new();
    };
    let Some((from, to)) = span_of(&response.knots(), factor) else {
        return Vec::new();
    };
    let at = |column: usize| from + (to - from) * column as f64 / (WIDTH - 1) as f64;
    let scores: Vec<f64> = (0..WIDTH).map(|column| score_at(response, at(column))).collect();
    let mut lines: Vec<String> = rows()
        .map(|(head, least)| {
            let filled = scores.iter().map(|score| if *score >= least { '#' } else { ' ' });
            let line: String = filled.collect();
            format!("{head:>MARGIN$}|{}", line.trim_end())
        })
        .collect();
    lines.extend(axis(unit, units, from, to));
    lines
}

/// The score of a value; 0 where there is none.
#[expect(clippy::cast_possible_truncation, reason = "rasters hold single precision")]
pub(super) fn score_at(response: &Response, value: f64) -> f64 {
    response.score(value as f32).map_or(0.0, Score::get)
}

/// What stands before each row, and the score from which it is filled.
fn rows() -> impl Iterator<Item = (String, f64)> {
    let [s1, s2, s3] = Rule::Limiting.usual_limits();
    let rows = [("", 1.0), ("S1", s1), ("S2", s2), ("S3", s3), ("", s3 / 2.0)];
    rows.into_iter()
        .map(|(class, least)| (format!("{class} {least:.2} "), least))
}

/// The stretch of the axis that shows a response: its bends and a little more, within
/// what the factor can have, from 0 where that is near.
pub(super) fn span_of(knots: &[f64], factor: &Factor) -> Option<(f64, f64)> {
    let (first, last) = (*knots.first()?, *knots.last()?);
    let long = if last > first {
        last - first
    } else {
        first.abs().max(1.0)
    };
    let mut from = first - 0.15 * long;
    let mut to = last + 0.15 * long;
    if first >= 0.0 && first <= 0.3 * long {
        from = 0.0;
    }
    if let Some((lowest, highest)) = factor.plausible() {
        from = from.max(lowest);
        to = to.min(highest);
    }
    Some((from, to.max(from + f64::EPSILON)))
}

/// Round numbers along a span, at most as many as fit.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "a few numbers on a page"
)]
pub(super) fn ticks(from: f64, to: f64, most: usize) -> Vec<f64> {
    let rough = (to - from) / most.max(1) as f64;
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * power)
        .find(|step| *step >= rough)
        .unwrap_or(10.0 * power);
    let (first, last) = (
        (from / step - 1e-9).ceil() as i64,
        (to / step + 1e-9).floor() as i64,
    );
    (first..=last).map(|place| place as f64 * step).collect()
}

/// A line with marks and a line with their numbers.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "columns of a page"
)]
fn axis(unit: Unit, units: Units, from: f64, to: f64) -> [String; 2] {
    let read = |value| unit.for_people(value, units).0;
    let (low, high) = (read(from), read(to));
    let mut line: Vec<char> = vec!['-'; WIDTH];
    let mut numbers: Vec<char> = vec![' '; MARGIN + WIDTH + TICK];
    for tick in ticks(low, high, WIDTH / TICK) {
        let column = ((tick - low) / (high - low) * (WIDTH - 1) as f64).round() as usize;
        line[column.min(WIDTH - 1)] = '+';
        let text = short_number(tick);
        // The first sign of the plot stands one column after the margin.
        let start = (MARGIN + 1 + column).saturating_sub(text.len() / 2);
        for (place, sign) in text.chars().enumerate() {
            if let Some(held) = numbers.get_mut(start + place) {
                *held = sign;
            }
        }
    }
    let line: String = line.into_iter().collect();
    let numbers: String = numbers.into_iter().collect();
    let symbol = unit.for_people(0.0, units).1;
    let symbol = if unit == Unit::Index { "" } else { symbol };
    [
        format!("{:MARGIN$}|{line}", ""),
        format!("{}  {symbol}", numbers.trim_end()).trim_end().to_owned(),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plotted(response: &Response, id: &str, units: Units) -> Vec<String> {
        plot(response, &Factor::standard(id).unwrap(), units)
    }

    #[test]
    fn a_curve_is_drawn_over_its_axis() {
        let curve = Response::curve(vec![(0.0, 1.0), (40.0, 0.85), (70.0, 0.5), (100.0, 0.0)]).unwrap();
        let lines = plotted(&curve, "canopy", Units::Metric);
        // A column is 100 / 60 %: 0.85 up to 40 %, 0.6 up to 61.4, 0.4 up to 76, 0.2 up to 88.
        let filled: Vec<usize> = lines[..5].iter().map(|line| line.matches('#').count()).collect();
        assert_eq!(filled, [1, 25, 37, 46, 53]);
        assert!(lines[1].starts_with("S1 0.85 |#"), "{lines:?}");
        assert_eq!(
            lines[5],
            "        |+-----------+-----------+-----------+-----------+-----------+"
        );
        assert_eq!(
            lines[6],
            "         0          20          40          60          80          100  %"
        );
    }

    #[test]
    fn the_axis_is_in_the_units_people_read() {
        let range = Response::range(Some(-40.0), Some(-34.0), None, None).unwrap();
        let lines = plotted(&range, "hardiness", Units::Us);
        assert!(
            lines[6].trim_start().starts_with("-40 ") && lines[6].ends_with("-30  degF"),
            "{lines:?}"
        );
        // The number stands under its mark, from which on the score rises.
        let mark = lines[5].find('+').unwrap();
        assert_eq!(lines[6].find("-40").unwrap() + 1, mark);
        assert!(lines[4].find('#').unwrap() > mark);
    }

    #[test]
    fn a_step_has_an_axis_too() {
        let step = Response::range(None, None, Some(30.0), Some(30.0)).unwrap();
        let lines = plot(&step, &Factor::standard("distance").unwrap(), Units::Metric);
        assert_eq!(lines.len(), 7);
        assert!(
            lines[0].contains('#') && lines[0].len() < lines[5].len(),
            "{lines:?}"
        );
    }

    #[test]
    fn ticks_are_round_and_fit() {
        assert_eq!(ticks(0.0, 100.0, 7), [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]);
        assert_eq!(ticks(3.0, 9.9, 7), [3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0]);
        for (from, to) in [(0.0, 1e-3), (-50.0, 3.0), (5.0, 5.1), (0.0, 7e6)] {
            let found = ticks(from, to, 7);
            assert!((2..=8).contains(&found.len()), "{found:?}");
            assert!(
                found
                    .iter()
                    .all(|tick| *tick >= from - 1e-9 && *tick <= to + 1e-9),
                "{found:?}"
            );
        }
    }
}
