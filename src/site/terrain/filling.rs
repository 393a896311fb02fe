//! Depressions filled, so that water finds a way out from everywhere. In come heights; out
//! go heights that nowhere rise on the way to the edge of what is known. Knows no layer.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Heights in rows, with what is filled.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// Rows.
    pub rows: usize,
    /// Columns.
    pub cols: usize,
    /// Heights, not a number where unknown; from each cell a way that never rises leads to the
    /// edge.
    pub heights: Vec<f32>,
    /// Whether a cell lies at the edge of what is known, where water may come in from outside.
    pub edge: Vec<bool>,
}

/// A height as a number that sorts like it.
fn sortable(height: f32) -> i32 {
    let bits = height.to_bits().cast_signed();
    // The bits of numbers below 0 count downward.
    bits ^ ((bits >> 31).cast_unsigned() >> 1).cast_signed()
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

impl Filled {
    /// The cells around a cell whose heights are known.
    pub(super) fn around(&self, cell: usize) -> impl Iterator<Item = usize> + use<'_> {
        let inside = NEIGHBOURS
            .into_iter()
            .filter_map(move |at| neighbour(cell, at, self.rows, self.cols));
        inside.filter(|&other| !self.heights[other].is_nan())
    }
}

/// Fills depressions up to where they overflow, to level ground.
///
/// # Units
/// Heights in any unit of length.
///
/// # Missing
/// Not a number; water leaves there as at the edge.
///
/// # Method
/// Priority-flood with a plain queue for what is flooded: Barnes, Lehman and Mulla 2014,
/// Priority-flood: an optimal depression-filling and watershed-labeling algorithm for digital
/// elevation models, Computers and Geosciences 62:117-127.
///
/// # Panics
/// With more than 4,294,967,295 cells.
#[must_use]
pub fn fill(mut heights: Vec<f32>, rows: usize, cols: usize) -> Filled {
    for height in &mut heights {
        // Minus zero would sort below zero, and is as high.
        *height += 0.0;
    }
    let mut filled = Filled {
        rows,
        cols,
        edge: vec![false; heights.len()],
        heights,
    };
    let mut done = vec![false; filled.heights.len()];
    let mut open = BinaryHeap::new();
    for (cell, done) in done.iter_mut().enumerate() {
        if filled.heights[cell].is_nan() {
            *done = true;
        } else if filled.around(cell).count() < NEIGHBOURS.len() {
            filled.edge[cell] = true;
            *done = true;
            open.push(Reverse((sortable(filled.heights[cell]), short(cell))));
        }
    }
    let mut flooded = Vec::new();
    while let Some(cell) = flooded
        .pop()
        .or_else(|| open.pop().map(|Reverse((_, cell))| cell))
    {
        let level = filled.heights[cell as usize];
        for at in NEIGHBOURS {
            let Some(other) = neighbour(cell as usize, at, rows, cols).filter(|&other| !done[other]) else {
                continue;
            };
            done[other] = true;
            if filled.heights[other] <= level {
                filled.heights[other] = level;
                flooded.push(short(other));
            } else {
                open.push(Reverse((sortable(filled.heights[other]), short(other))));
            }
        }
    }
    filled
}

/// A cell's index in half the room.
pub(super) fn short(cell: usize) -> u32 {
    u32::try_from(cell).unwrap_or_else(|_| unreachable!("cells are counted before they are read"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heights_sort_as_numbers() {
        let heights = [-1e9, -2.5, -0.0, 0.0, 1e-30, 2.0, 1e9];
        let keys: Vec<i32> = heights.iter().map(|&height| sortable(height)).collect();
        assert!(keys.is_sorted());
        assert!(sortable(-2.5) < sortable(-2.0) && sortable(-2.5) < sortable(2.0));
    }

    #[test]
    fn a_pit_fills_to_where_it_overflows() {
        // A rim of 9 with a notch of 5 in the east, around a pit.
        let rim = vec![
            9.0, 9.0, 9.0, 9.0, 9.0, 9.0, 1.0, 2.0, 3.0, 5.0, 9.0, 9.0, 9.0, 9.0, 9.0,
        ];
        let filled = fill(rim.clone(), 3, 5);
        let wanted: Vec<f32> = rim.iter().map(|&height: &f32| height.max(5.0)).collect();
        assert_eq!(filled.heights, wanted);
        assert!(filled.edge[0] && !filled.edge[7]);
    }

    #[test]
    fn water_leaves_where_heights_are_unknown() {
        let mut heights = vec![5.0_f32; 49];
        heights[24] = f32::NAN;
        heights[16] = 1.0;
        let filled = fill(heights, 7, 7);
        assert!(filled.heights[24].is_nan() && filled.edge[16]);
        assert!((filled.heights[16] - 1.0).abs() < 1e-12);
    }
}
