//! A row of cells cut into stretches of neighbours that lie in the same bins, so that what
//! hangs on bins alone is looked up once for each. Rows of values come in; ends of
//! stretches and the values of their first cells go out. Knows not what the bins mean.

use super::bins::Bins;

/// The stretches of a row; kept for the next one, as its room is.
#[derive(Debug, Default)]
pub struct Stretches {
    ends: Vec<usize>,
    /// 1 where a cell lies in other bins than the one before.
    unlike: Vec<u8>,
    /// For each factor the values of the first cells.
    first_values: Vec<Vec<f32>>,
}

impl Stretches {
    /// Cuts a row of so many cells where any of the bins changes; `values` gives one slice
    /// a factor.
    pub fn find<'b>(&mut self, bins: impl Iterator<Item = &'b Bins>, values: &[&[f32]], cols: usize) {
        self.unlike.clear();
        self.unlike.resize(cols, 0);
        for bins in bins {
            bins.mark_changes(values, &mut self.unlike);
        }
        self.ends.clear();
        self.ends.resize(cols, 0);
        let mut stretches = 0;
        // No branch may hang on the marks, which come without a pattern.
        for (col, &unlike) in self.unlike.iter().enumerate().skip(1) {
            self.ends[stretches] = col;
            stretches += usize::from(unlike);
        }
        if cols > 0 {
            self.ends[stretches] = cols;
            self.ends.truncate(stretches + 1);
        }
        self.take_first_values(values);
    }

    #[cfg(test)]
    pub fn of(ends: Vec<usize>) -> Stretches {
        Stretches {
            ends,
            ..Stretches::default()
        }
    }

    /// Makes each of so many cells a stretch of its own.
    pub fn single_cells(&mut self, values: &[&[f32]], cols: usize) {
        self.ends.clear();
        self.ends.extend(1..=cols);
        self.take_first_values(values);
    }

    fn take_first_values(&mut self, values: &[&[f32]]) {
        self.first_values.resize(values.len(), Vec::new());
        for (first, values) in self.first_values.iter_mut().zip(values) {
            first.clear();
            let starts = std::iter::once(&0).chain(&self.ends);
            first.extend(starts.take(self.ends.len()).map(|&start| values[start]));
        }
    }

    /// Number of stretches.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// One past the last column of each stretch.
    pub fn ends(&self) -> &[usize] {
        &self.ends
    }

    /// The values of the first cells of all stretches, one slice a factor.
    pub fn first_values(&self) -> Vec<&[f32]> {
        self.first_values.iter().map(Vec::as_slice).collect()
    }
}
