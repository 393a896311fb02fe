//! How the ground that a question asks about is numbered: one number for each
//! combination of bins of its factors' axes. Values of rows of cells come in, numbers go
//! out; knows neither sets nor scores.

use super::axis::Axis;
use super::question::{Question, Questions};

/// The axes of one question and how combinations of their bins are numbered.
#[derive(Debug, Clone)]
pub struct Bins {
    /// Index of the factor, its axis, and the step in number between bins.
    axes: Vec<(usize, Axis, u64)>,
    count: u64,
    factors: usize,
}

/// Bins that lie within others.
#[derive(Debug, Clone)]
pub struct FineBins {
    pub bins: Bins,
    /// For each axis what each bin adds to the number of the coarse bins.
    coarse_steps: Vec<Vec<u64>>,
}

impl FineBins {
    /// Writes the number of each cell among these bins, and among the coarse ones;
    /// `values` gives one slice a factor.
    pub fn number(&self, values: &[&[f32]], numbers: &mut [u64], coarse: &mut [u64]) {
        numbers.fill(0);
        coarse.fill(0);
        for ((factor, axis, step), coarse_steps) in self.bins.axes.iter().zip(&self.coarse_steps) {
            axis.each_part(values[*factor], |part, bin| {
                let more = u64::from(bin) * step;
                let coarse_more = coarse_steps[bin as usize];
                let cells = numbers[part.clone()].iter_mut().zip(&mut coarse[part]);
                for (number, coarse) in cells {
                    *number += more;
                    *coarse += coarse_more;
                }
            });
        }
    }
}

impl Bins {
    /// The bins of a question within which no species' `level` changes, or nothing
    /// when there are too many combinations to number.
    pub fn new(questions: &Questions, question: &Question, level: &dyn Fn(f64) -> u32) -> Option<Bins> {
        let mut count = 1u64;
        let mut axes = Vec::new();
        for factor in questions.factors_of(question) {
            let along = Axis::new(questions, factor, level);
            let bins = along.bins() as u64;
            axes.push((factor, along, count));
            count = count.checked_mul(bins)?;
        }
        let factors = questions.factors().len();
        Some(Bins { axes, count, factors })
    }

    /// These bins cut wherever those of the same question are, too, and for each axis what
    /// a bin adds to the number that those give.
    pub fn within(mut self, coarse: &Bins) -> Option<FineBins> {
        let (mut count, mut coarse_steps) = (1u64, Vec::new());
        for ((_, axis, step), (_, around, coarse_step)) in self.axes.iter_mut().zip(&coarse.axes) {
            axis.cut_as(around);
            *step = count;
            count = count.checked_mul(axis.bins() as u64)?;
            let adds = |bin| u64::from(around.bin(axis.sample(bin))) * coarse_step;
            coarse_steps.push((0..axis.bins()).map(adds).collect());
        }
        self.count = count;
        Some(FineBins {
            bins: self,
            coarse_steps,
        })
    }

    /// Number of combinations.
    pub fn count(&self) -> u64 {
        self.count
    }

    /// Writes the number of each cell; `values` gives one slice a factor.
    pub fn number(&self, values: &[&[f32]], numbers: &mut [u64]) {
        numbers.fill(0);
        for (factor, axis, step) in &self.axes {
            axis.each_part(values[*factor], |part, bin| {
                let more = u64::from(bin) * step;
                numbers[part].iter_mut().for_each(|number| *number += more);
            });
        }
    }

    /// Marks with 1 the cells that lie in another bin of any axis than the cell before.
    pub fn mark_changes(&self, values: &[&[f32]], unlike: &mut [u8]) {
        for (factor, axis, _) in &self.axes {
            let mut before = u32::MAX;
            axis.each_part(values[*factor], |part, bin| {
                unlike[part.start] |= u8::from(bin != before);
                before = bin;
            });
        }
    }

    /// Values of all factors that have this number; those the question does not
    /// ask about are missing.
    pub fn sample(&self, number: u64) -> Vec<f32> {
        let mut values = vec![f32::NAN; self.factors];
        for (factor, axis, step) in &self.axes {
            #[expect(clippy::cast_possible_truncation, reason = "an axis has few bins")]
            let bin = (number / step % axis.bins() as u64) as usize;
            values[*factor] = axis.sample(bin);
        }
        values
    }
}
