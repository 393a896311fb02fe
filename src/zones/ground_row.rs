//! The values of one row made ready, so that the sums of any run of its cells come
//! quickly. Rows of values come in, sums of runs go out; knows neither the zone nor the
//! place.

use std::ops::Range;

use pulp::{Arch, NullaryFnOnce};

use super::ground::{FactorSums, MeasuredSums, NEAR, in_units, lower};

/// One row of all factors; kept for the next one, as its room is.
#[derive(Debug, Default)]
pub(super) struct GroundRow {
    /// For each factor the sums up to each cell, where these can be told so.
    sums_before: Vec<Option<Vec<i64>>>,
}

impl GroundRow {
    /// Makes a row ready; `values` gives one slice a factor.
    pub fn take(&mut self, arch: Arch, measured: &[bool], values: &[&[f32]]) {
        self.sums_before.resize(values.len(), None);
        for ((sums, values), measured) in self.sums_before.iter_mut().zip(values).zip(measured) {
            let mut room = sums.take().unwrap_or_default();
            if *measured
                && arch.dispatch(SumUp {
                    values,
                    sums: &mut room,
                })
            {
                *sums = Some(room);
            }
        }
    }

    /// Adds a run of the row to the sums of each factor.
    pub fn add(&self, arch: Arch, values: &[&[f32]], cols: &Range<usize>, factors: &mut [FactorSums]) {
        arch.dispatch(AddRun {
            row: self,
            values,
            cols,
            factors,
        });
    }
}

/// Sums up a row of one measured factor; tells whether all its values are finite and
/// near enough to 0 to be summed so.
struct SumUp<'a> {
    values: &'a [f32],
    sums: &'a mut Vec<i64>,
}

impl NullaryFnOnce for SumUp<'_> {
    type Output = bool;

    #[inline(always)]
    fn call(self) -> bool {
        let near = |value: f32| value.abs() <= NEAR;
        if !self.values.iter().fold(true, |all, &value| all & near(value)) {
            return false;
        }
        self.sums.clear();
        self.sums.push(0);
        self.sums.extend(self.values.iter().map(|&value| in_units(value)));
        let mut sum = 0;
        for before in self.sums.iter_mut() {
            sum += *before;
            *before = sum;
        }
        true
    }
}

struct AddRun<'a> {
    row: &'a GroundRow,
    values: &'a [&'a [f32]],
    cols: &'a Range<usize>,
    factors: &'a mut [FactorSums],
}

impl NullaryFnOnce for AddRun<'_> {
    type Output = ();

    #[inline(always)]
    fn call(self) {
        let rows = self.row.sums_before.iter().zip(self.values);
        for (factor, (sums_before, values)) in self.factors.iter_mut().zip(rows) {
            let values = &values[self.cols.clone()];
            match (factor, sums_before) {
                (FactorSums::Measured(sums), Some(before)) => {
                    sums.merge(&run_of(values, before[self.cols.end] - before[self.cols.start]));
                }
                (factor, _) => factor.add_values(values),
            }
        }
    }
}

/// The sums of finite values of which the sum is known.
#[inline(always)]
fn run_of(values: &[f32], sum: i64) -> MeasuredSums {
    let (mut least, mut least_negative) = (f32::INFINITY, f32::INFINITY);
    for &value in values {
        least = lower(least, value);
        least_negative = lower(least_negative, -value);
    }
    MeasuredSums {
        known: values.len() as u64,
        beyond: 0,
        sum: sum.into(),
        least,
        greatest: -least_negative,
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::ground::{GroundShape, ZoneGround};
    use super::*;

    fn value() -> impl Strategy<Value = f32> {
        prop_oneof![
            60 => -100.0f32..100.0,
            1 => prop_oneof![Just(f32::NAN), Just(f32::INFINITY), Just(1e30), Just(-NEAR)],
        ]
    }

    proptest! {
        #[test]
        fn a_run_of_a_row_has_the_sums_of_its_values(
            rows in prop::collection::vec(prop::collection::vec((value(), 0u8..3), 1..40), 1..4),
            cut in 0.0..1.0f64,
        ) {
            let shape = GroundShape { measured: vec![true, false], questions: 0, species: 0 };
            let mut row = GroundRow::default();
            let (mut plain, mut quick) = (ZoneGround::empty(&shape), ZoneGround::empty(&shape));
            for cells in rows {
                let measured: Vec<f32> = cells.iter().map(|cell| cell.0).collect();
                let classes: Vec<f32> = cells.iter().map(|cell| f32::from(cell.1)).collect();
                let values = [&*measured, &*classes];
                row.take(Arch::new(), &shape.measured, &values);
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss, reason = "a place")]
                let from = (cut * cells.len() as f64) as usize;
                row.add(Arch::new(), &values, &(from..cells.len()), &mut quick.factors);
                for (sums, values) in plain.factors.iter_mut().zip(values) {
                    sums.add_values(&values[from..]);
                }
            }
            prop_assert_eq!(plain, quick);
        }
    }
}
