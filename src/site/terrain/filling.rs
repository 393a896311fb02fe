//! Depressions filled, so that water finds a way out from everywhere. In come heights; out
//! go heights that fall to the edge of what is known. Knows no layer.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Heights in rows, with what is filled.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// Rows.
    pub rows: usize,
    /// Columns.
    pub cols: usize,
    /// Heights, not a number where unknown; each cell has a lower neighbour or lies at the
    /// edge.
    pub heights: Vec<f64>,
    /// Whether a cell lies at the edge of what is known, where water may come in from outside.
    pub edge: Vec<bool>,
}

/// A height as a number that sorts like it.
fn sortable(height: f64) -> i64 {
    let bits = height.to_bits().cast_signed();
    // The bits of numbers below 0 count downward.
    bits ^ ((bits >> 63).cast_unsigned() >> 1).cast_signed()
}

/// Neighbours of a cell from the east, against the clock.
pub(super) const NEIGHBOURS: [(isize, isize); 8] = [
    (0, 1),
    (-1, 1),
    (-1, 0),
    (-1, -1),
    (0, -1),
    (1, -1),
    (1, 0),
    (1, 1),
];

/// The neighbour's index, or nothing outside.
pub(super) fn neighbour(
    cell: usize,
    (down, right): (isize, isize),
    rows: usize,
    cols: usize,
) -> Option<usize> {
    let row = (cell / cols).checked_add_signed(down).filter(|&row| row < rows)?;
    let col = (cell % cols)
        .checked_add_signed(right)
        .filter(|&col| col < cols)?;
    Some(row * cols + col)
}

/// Fills depressions up to where they overflow; level ground is given the least fall there is
/// toward its outlet.
///
/// # Units
/// Heights in any unit of length.
///
/// # Missing
/// Not a number; water leaves there as at the edge.
///
/// # Method
/// Priority-flood with the least increments: Barnes, Lehman and Mulla 2014, Priority-flood:
/// an optimal depression-filling and watershed-labeling algorithm for digital elevation
/// models, Computers and Geosciences 62:117-127. Ties go to the first cell in rows.
#[must_use]
pub fn fill(heights: &[f32], rows: usize, cols: usize) -> Filled {
    let mut filled: Vec<f64> = heights.iter().map(|&height| f64::from(height)).collect();
    let mut edge = vec![false; filled.len()];
    let mut done = vec![false; filled.len()];
    let mut open = BinaryHeap::new();
    for cell in 0..filled.len() {
        if filled[cell].is_nan() {
            done[cell] = true;
            continue;
        }
        let known = |at| neighbour(cell, at, rows, cols).is_some_and(|other| !filled[other].is_nan());
        if !NEIGHBOURS.into_iter().all(known) {
            edge[cell] = true;
            done[cell] = true;
            open.push(Reverse((sortable(filled[cell]), cell)));
        }
    }
    while let Some(Reverse((_, cell))) = open.pop() {
        for at in NEIGHBOURS {
            let Some(other) = neighbour(cell, at, rows, cols).filter(|&other| !done[other]) else {
                continue;
            };
            done[other] = true;
            filled[other] = filled[other].max(filled[cell].next_up());
            open.push(Reverse((sortable(filled[other]), other)));
        }
    }
    Filled {
        rows,
        cols,
        heights: filled,
        edge,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heights_sort_as_numbers() {
        let heights = [-1e9, -2.5, -0.0, 0.0, 1e-300, 2.0, 1e9];
        let keys: Vec<i64> = heights.iter().map(|&height| sortable(height)).collect();
        assert!(keys.is_sorted());
        assert!(sortable(-2.5) < sortable(-2.0) && sortable(-2.5) < sortable(2.0));
    }

    #[test]
    fn a_pit_fills_to_where_it_overflows() {
        // A rim of 9 with a notch of 5 in the east, around a pit.
        let rim = [
            9.0, 9.0, 9.0, 9.0, 9.0, 9.0, 1.0, 2.0, 3.0, 5.0, 9.0, 9.0, 9.0, 9.0, 9.0,
        ];
        let filled = fill(&rim, 3, 5);
        for (cell, wanted) in [(6, 5.0), (7, 5.0), (8, 5.0), (9, 5.0), (0, 9.0)] {
            assert!(
                (filled.heights[cell] - wanted).abs() < 1e-9,
                "{cell}: {}",
                filled.heights[cell]
            );
        }
        assert!(filled.heights[6] > filled.heights[7] && filled.heights[7] > filled.heights[8]);
        assert!(filled.edge[0] && !filled.edge[7]);
    }

    #[test]
    fn water_leaves_where_heights_are_unknown() {
        let mut heights = vec![5.0_f32; 49];
        heights[24] = f32::NAN;
        heights[16] = 1.0;
        let filled = fill(&heights, 7, 7);
        assert!(filled.heights[24].is_nan() && filled.edge[16]);
        assert!((filled.heights[16] - 1.0).abs() < 1e-12);
    }
}
