//! Rows of labels as runs: where each run ends and its label. Memory is in runs,
//! not in cells. Knows not what a label stands for.

/// Labels of a grid, row by row, as runs `(end column, label)`; label 0 is not
/// rated. The runs of a row follow one another from column 0 to its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunRows {
    cols: u32,
    starts: Vec<usize>,
    runs: Vec<(u32, u32)>,
}

impl RunRows {
    /// No rows yet, of `cols` columns each.
    #[must_use]
    pub fn new(cols: u32) -> RunRows {
        RunRows {
            cols,
            starts: vec![0],
            runs: Vec::new(),
        }
    }

    /// Number of rows.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.starts.len() - 1
    }

    /// Number of columns.
    #[must_use]
    pub fn cols(&self) -> u32 {
        self.cols
    }

    /// Number of runs of all rows.
    #[must_use]
    pub fn len(&self) -> usize {
        self.runs.len()
    }

    /// Whether there is no run.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.runs.is_empty()
    }

    /// The runs of a row, west to east.
    #[must_use]
    pub fn row(&self, row: usize) -> &[(u32, u32)] {
        &self.runs[self.starts[row]..self.starts[row + 1]]
    }

    /// The label of a cell.
    #[must_use]
    pub fn label(&self, row: usize, col: u32) -> u32 {
        let runs = self.row(row);
        runs.get(runs.partition_point(|&(end, _)| end <= col))
            .map_or(0, |&(_, label)| label)
    }

    /// Adds a run to the row that is being built, joining it to the run before
    /// when the label is the same.
    pub fn push_run(&mut self, end: u32, label: u32) {
        let started = self.starts[self.starts.len() - 1];
        match self.runs[started..].last_mut() {
            Some(last) if last.1 == label => last.0 = end,
            _ => self.runs.push((end, label)),
        }
    }

    /// Ends the row that is being built.
    pub fn end_row(&mut self) {
        self.starts.push(self.runs.len());
    }

    /// The same rows under other labels: `labels[old]`, runs that meet under one
    /// label joined.
    #[must_use]
    pub fn relabelled(&self, labels: &[u32]) -> RunRows {
        let mut rows = RunRows::new(self.cols);
        rows.starts.reserve(self.rows());
        for row in 0..self.rows() {
            for &(end, label) in self.row(row) {
                rows.push_run(end, labels[label as usize]);
            }
            rows.end_row();
        }
        rows
    }

    /// As [`RunRows::relabelled`], in place.
    #[must_use]
    pub fn into_relabelled(mut self, labels: &[u32]) -> RunRows {
        let (mut from, mut to) = (0, 0);
        for row in 1..self.starts.len() {
            let started = to;
            for at in from..self.starts[row] {
                let (end, label) = self.runs[at];
                let label = labels[label as usize];
                if to > started && self.runs[to - 1].1 == label {
                    self.runs[to - 1].0 = end;
                } else {
                    self.runs[to] = (end, label);
                    to += 1;
                }
            }
            from = self.starts[row];
            self.starts[row] = to;
        }
        self.runs.truncate(to);
        self.runs.shrink_to_fit();
        self
    }

    /// Gives every run another label, in place, without joining.
    pub(super) fn relabel(&mut self, labels: &[u32]) {
        for (_, label) in &mut self.runs {
            *label = labels[*label as usize];
        }
    }

    /// Adds a run without joining it to the one before.
    pub(super) fn raw_push(&mut self, end: u32, label: u32) {
        self.runs.push((end, label));
    }
}

/// A count as u32. Counts that come here are bounded by the number of cells, which
/// is checked before (`ZonesError::TooManyCells`).
pub(super) fn narrow(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_come_back_from_runs() {
        let mut rows = RunRows::new(4);
        rows.push_run(2, 1);
        rows.push_run(3, 1);
        rows.push_run(4, 2);
        rows.end_row();
        rows.push_run(4, 2);
        rows.end_row();
        assert_eq!(rows.row(0), [(3, 1), (4, 2)]);
        let labels: Vec<u32> = (0..4).map(|col| rows.label(0, col)).collect();
        assert_eq!(labels, [1, 1, 1, 2]);
        let one = rows.relabelled(&[0, 7, 7]);
        assert_eq!(one.row(0), [(4, 7)]);
        assert_eq!(one.rows(), 2);
        rows.push_run(4, 1);
        rows.end_row();
        assert_eq!(
            rows.clone().into_relabelled(&[0, 7, 7]),
            rows.relabelled(&[0, 7, 7])
        );
        assert_eq!(
            rows.clone().into_relabelled(&[0, 7, 8]),
            rows.relabelled(&[0, 7, 8])
        );
    }
}
