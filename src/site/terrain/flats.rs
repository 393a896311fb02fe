//! Which way water takes over level ground. In come heights without depressions; out goes a
//! rank of each cell of level ground that falls toward its outlets. Knows no layer.

use std::collections::VecDeque;

use super::filling::{Filled, short};

/// Ranks of cells that lie level: from each that has neither a lower neighbour nor lies at
/// the edge, one of its level neighbours has a lower rank. Cells elsewhere have 0.
///
/// # Method
/// Toward lower ground, and half as much away from higher: Garbrecht and Martz 1997, The
/// assignment of drainage direction over flat surfaces in raster digital elevation models,
/// Journal of Hydrology 193:204-213; in time that grows with the cells alone, as Barnes,
/// Lehman and Mulla 2014, An efficient assignment of drainage direction over flat surfaces in
/// raster digital elevation models, Computers and Geosciences 62:128-135. Twice the steps from
/// the nearest outlet, less the steps from the nearest higher ground; here the latter run
/// over outlets too, so that they differ by one at most between neighbours.
#[must_use]
pub fn level_ranks(filled: &Filled) -> Vec<i32> {
    let heights = &filled.heights;
    // Not at the edge and without a lower neighbour.
    let stuck: Vec<bool> = (0..heights.len())
        .map(|cell| {
            let lies = !heights[cell].is_nan() && !filled.edge[cell];
            lies && !filled.around(cell).any(|other| heights[other] < heights[cell])
        })
        .collect();
    let level = |cell: usize, other: usize| heights[cell].to_bits() == heights[other].to_bits();

    let mut ranks = vec![0_i32; heights.len()];
    let mut next = VecDeque::new();
    for cell in (0..heights.len()).filter(|&cell| !stuck[cell]) {
        if filled
            .around(cell)
            .any(|other| stuck[other] && level(cell, other))
        {
            ranks[cell] = 2;
            next.push_back(short(cell));
        }
    }
    while let Some(cell) = next.pop_front() {
        let cell = cell as usize;
        for other in filled.around(cell) {
            if stuck[other] && ranks[other] == 0 && level(cell, other) {
                ranks[other] = ranks[cell] + 2;
                next.push_back(short(other));
            }
        }
    }

    let mut away = vec![0_i32; heights.len()];
    for cell in (0..heights.len()).filter(|&cell| stuck[cell]) {
        if filled.around(cell).any(|other| heights[other] > heights[cell]) {
            away[cell] = 1;
            next.push_back(short(cell));
        }
    }
    while let Some(cell) = next.pop_front() {
        let cell = cell as usize;
        for other in filled.around(cell) {
            if ranks[other] != 0 && away[other] == 0 && level(cell, other) {
                away[other] = away[cell] + 1;
                next.push_back(short(other));
            }
        }
    }
    for (rank, away) in ranks.iter_mut().zip(away) {
        *rank -= away;
    }
    ranks
}

#[cfg(test)]
mod tests {
    use super::super::filling::fill;
    use super::*;

    /// A basin of level ground between walls, with an outlet in the middle of its east side.
    #[test]
    fn ranks_fall_to_the_outlet_and_away_from_walls() {
        const ROWS: usize = 7;
        const COLS: usize = 9;
        let mut heights = vec![9.0_f32; ROWS * COLS];
        for row in 1..ROWS - 1 {
            for col in 1..COLS - 1 {
                heights[row * COLS + col] = 5.0;
            }
        }
        heights[3 * COLS + COLS - 1] = 4.0;
        let filled = fill(heights, ROWS, COLS);
        let ranks = level_ranks(&filled);
        let drawn: Vec<String> = (1..ROWS - 1)
            .map(|row| {
                let row = &ranks[row * COLS + 1..row * COLS + COLS - 1];
                let words: Vec<String> = row.iter().map(|rank| format!("{rank:3}")).collect();
                words.concat()
            })
            .collect();
        // The three cells beside the notch see lower ground, and are outlets.
        assert_eq!(
            drawn,
            [
                " 13 11  9  7  5  3  3",
                " 13 10  8  6  4  2  0",
                " 13 10  7  5  3  1 -1",
                " 13 10  8  6  4  2  0",
                " 13 11  9  7  5  3  3",
            ]
        );
        for cell in 0..ROWS * COLS {
            let inner = !filled.edge[cell];
            let lower = filled
                .around(cell)
                .any(|other| heights_or_ranks(&filled, &ranks, other, cell));
            assert!(!inner || lower, "cell {cell} keeps its water");
        }
    }

    fn heights_or_ranks(filled: &Filled, ranks: &[i32], other: usize, cell: usize) -> bool {
        let (there, here) = (filled.heights[other], filled.heights[cell]);
        there < here || there <= here && ranks[other] < ranks[cell]
    }
}
