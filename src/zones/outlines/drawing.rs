//! Zone labels drawn as text, for tests.

use super::{Arcs, OutlineBuilder};
use crate::grid::{Crs, Extent, Grid};

/// Labels of a grid, row after row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Labels {
    pub(super) rows: u32,
    pub(super) cols: u32,
    pub(super) values: Vec<u32>,
}

impl Labels {
    /// A drawing with one digit a cell; a dot is 0.
    pub(super) fn drawn(text: &str) -> Labels {
        let lines: Vec<&str> = text.split_whitespace().collect();
        let digit = |letter: char| {
            if letter == '.' {
                0
            } else {
                letter.to_digit(36).unwrap()
            }
        };
        Labels {
            rows: u32::try_from(lines.len()).unwrap(),
            cols: u32::try_from(lines[0].len()).unwrap(),
            values: lines.iter().flat_map(|line| line.chars().map(digit)).collect(),
        }
    }

    /// The label of a cell; 0 outside.
    pub(super) fn at(&self, row: i64, col: i64) -> u32 {
        let within = (0..i64::from(self.rows)).contains(&row) && (0..i64::from(self.cols)).contains(&col);
        if within {
            self.values[usize::try_from(row * i64::from(self.cols) + col).unwrap()]
        } else {
            0
        }
    }

    /// Labels from 1 up for the 4-connected pieces of equal values; 0 stays.
    pub(super) fn flooded(&self) -> Labels {
        let mut out = Labels {
            values: vec![0; self.values.len()],
            ..*self
        };
        let mut next = 0;
        let cols = self.cols as usize;
        for start in 0..self.values.len() {
            if self.values[start] == 0 || out.values[start] != 0 {
                continue;
            }
            next += 1;
            let mut open = vec![start];
            out.values[start] = next;
            while let Some(cell) = open.pop() {
                let (row, col) = (cell / cols, cell % cols);
                let mut reach = |within: bool, other: usize| {
                    if within && out.values[other] == 0 && self.values[other] == self.values[start] {
                        out.values[other] = next;
                        open.push(other);
                    }
                };
                reach(row > 0, cell.wrapping_sub(cols));
                reach(row + 1 < self.rows as usize, cell + cols);
                reach(col > 0, cell.wrapping_sub(1));
                reach(col + 1 < cols, cell + 1);
            }
        }
        out
    }

    /// The runs of each row; every cell its own run when `split`.
    pub(super) fn runs(&self, split: bool) -> Vec<Vec<(u32, u32)>> {
        let row_runs = |row: &[u32]| {
            let mut runs: Vec<(u32, u32)> = Vec::new();
            for (end, &label) in (1u32..).zip(row) {
                match runs.last_mut() {
                    Some(run) if run.1 == label && !split => run.0 = end,
                    _ => runs.push((end, label)),
                }
            }
            runs
        };
        self.values.chunks(self.cols as usize).map(row_runs).collect()
    }

    /// The number of cells of each label, that of label 1 first.
    pub(super) fn counts(&self) -> Vec<u64> {
        let mut counts = vec![0; self.values.iter().max().map_or(0, |&label| label as usize)];
        for &label in &self.values {
            if label > 0 {
                counts[label as usize - 1] += 1;
            }
        }
        counts
    }

    /// The arcs of its borders.
    pub(super) fn arcs(&self) -> Arcs {
        let mut builder = OutlineBuilder::new(self.rows, self.cols);
        for runs in self.runs(false) {
            builder.push_row(&runs).unwrap();
        }
        builder.finish().unwrap()
    }

    /// A grid of these rows and columns, its south-west corner at (x, y).
    pub(super) fn grid(&self, x: f64, y: f64, cell_m: f64) -> Grid {
        let extent = Extent {
            west: x,
            south: y,
            east: x + f64::from(self.cols) * cell_m,
            north: y + f64::from(self.rows) * cell_m,
        };
        let crs = Crs {
            wkt: String::new(),
            name: "plane".to_owned(),
            code: None,
        };
        Grid::covering(&extent, cell_m, crs).unwrap()
    }
}
