//! Votes single noisy cells down: a 3 x 3 majority for each species, on all
//! species of a word at once. Rows of cell words come in by blocks, the same rows
//! go out voted; knows neither regions nor what a species is.
//!
//! Only cells known for a species change, only known cells count, the cell itself
//! included; a strict majority decides, a tie keeps what was. What is unknown
//! stays unknown, and nothing outside the grid counts.

use std::sync::Arc;

use rayon::prelude::*;

use super::cell_sets::CellLayout;

/// Takes rows of cells in order and hands them out voted, in order: a row once as
/// many more rows have come as there are passes, the rest at the end. The same
/// bytes come for any division into blocks.
///
/// # Examples
/// ```
/// use groundfit::zones::{CellLayout, Voter};
/// let layout = CellLayout::new(1);
/// let unknown = !1;
/// // One species, a row of three cells: the middle one alone does not suit.
/// let row = [1, unknown, 0, unknown, 1, unknown];
/// let mut voter = Voter::new(layout, 3, 1);
/// assert!(voter.push_rows(&row, None).is_empty());
/// assert_eq!(voter.finish(), [1, unknown, 1, unknown, 1, unknown]);
/// ```
#[derive(Debug)]
pub struct Voter {
    layout: CellLayout,
    cols: usize,
    passes: Vec<Pass>,
}

impl Voter {
    /// A voter for rows of `cols` cells that makes so many passes.
    #[must_use]
    pub fn new(layout: CellLayout, cols: usize, passes: usize) -> Voter {
        Voter {
            layout,
            cols,
            passes: (0..passes).map(|_| Pass::default()).collect(),
        }
    }

    /// Takes the next rows and hands out those that are finished, in order; both
    /// as whole rows of cell words.
    ///
    /// `ground` holds a key for each cell, where what vector layers say cannot be
    /// put on after the vote: cells of another key do not count. Give it for all
    /// rows or for none.
    ///
    /// # Panics
    /// When the blocks are not whole rows of the same number.
    #[must_use]
    pub fn push_rows(&mut self, rows: &[u64], ground: Option<&[u32]>) -> Vec<u64> {
        if self.passes.is_empty() {
            return rows.to_vec();
        }
        let length = self.cols * self.layout.cell_words();
        if length == 0 {
            return Vec::new();
        }
        assert_eq!(rows.len() % length, 0, "a block of cells is made of whole rows");
        let count = rows.len() / length;
        assert!(
            ground.is_none_or(|keys| keys.len() == count * self.cols),
            "there is a ground key for each cell"
        );
        let planar = (0..count).into_par_iter().map(|row| {
            let keys = ground.map(|keys| Arc::from(&keys[row * self.cols..(row + 1) * self.cols]));
            PlanarRow::from_cells(self.layout, &rows[row * length..(row + 1) * length], keys)
        });
        let rows = planar.collect();
        self.run(rows, false)
    }

    /// Hands out the rows that are left.
    #[must_use]
    pub fn finish(mut self) -> Vec<u64> {
        self.run(Vec::new(), true)
    }

    fn run(&mut self, mut rows: Vec<PlanarRow>, at_end: bool) -> Vec<u64> {
        let words = self.layout.words();
        for pass in &mut self.passes {
            rows = pass.feed(words, rows, at_end);
        }
        let length = self.cols * self.layout.cell_words();
        let mut cells = vec![0; rows.len() * length];
        if length > 0 {
            cells
                .par_chunks_mut(length)
                .zip(&rows)
                .for_each(|(cells, row)| row.write(words, cells));
        }
        cells
    }
}

/// One pass: the rows it still needs, oldest first.
#[derive(Debug, Default)]
struct Pass {
    rows: Vec<PlanarRow>,
    /// Whether the first of `rows` has been voted and is kept as a neighbour only.
    first_is_done: bool,
}

impl Pass {
    fn feed(&mut self, words: usize, rows: Vec<PlanarRow>, at_end: bool) -> Vec<PlanarRow> {
        self.rows.extend(rows);
        let from = usize::from(self.first_is_done);
        let to = if at_end {
            self.rows.len()
        } else {
            self.rows.len().saturating_sub(1)
        };
        if from >= to {
            return Vec::new();
        }
        let rows = &self.rows;
        let voted = (from..to).into_par_iter().map(|row| {
            let above = row.checked_sub(1).map(|above| &rows[above]);
            rows[row].voted(above, rows.get(row + 1), words)
        });
        let voted = voted.collect();
        self.rows.drain(..to - 1);
        self.first_is_done = true;
        voted
    }
}

/// A row with the words of each state apart, one unused cell before and after, so
/// that neighbours lie a fixed step away for any number of words.
#[derive(Debug)]
struct PlanarRow {
    suits: Vec<u64>,
    fails: Vec<u64>,
    ground: Option<Arc<[u32]>>,
}

impl PlanarRow {
    fn from_cells(layout: CellLayout, cells: &[u64], ground: Option<Arc<[u32]>>) -> PlanarRow {
        let words = layout.words();
        let length = cells.len() / 2 + 2 * words;
        let mut row = PlanarRow {
            suits: vec![0; length],
            fails: vec![0; length],
            ground,
        };
        let planes = row
            .suits
            .chunks_exact_mut(words)
            .zip(row.fails.chunks_exact_mut(words))
            .skip(1);
        for ((suits, fails), cell) in planes.zip(cells.chunks_exact(2 * words)) {
            for word in 0..words {
                let known = !cell[words + word];
                suits[word] = cell[word] & known;
                fails[word] = !cell[word] & known;
            }
            fails[words - 1] &= !layout.beyond();
            suits[words - 1] &= !layout.beyond();
        }
        row
    }

    fn write(&self, words: usize, cells: &mut [u64]) {
        let planes = self
            .suits
            .chunks_exact(words)
            .zip(self.fails.chunks_exact(words))
            .skip(1);
        for ((suits, fails), cell) in planes.zip(cells.chunks_exact_mut(2 * words)) {
            for word in 0..words {
                cell[word] = suits[word];
                cell[words + word] = !(suits[word] | fails[word]);
            }
        }
    }

    fn voted(&self, above: Option<&PlanarRow>, below: Option<&PlanarRow>, words: usize) -> PlanarRow {
        let ground = self.ground.clone();
        let (suits, fails) = match &self.ground {
            None => self.majority(above, below, words),
            Some(keys) => self.majority_on_like_ground(keys, above, below, words),
        };
        PlanarRow { suits, fails, ground }
    }

    fn majority(
        &self,
        above: Option<&PlanarRow>,
        below: Option<&PlanarRow>,
        words: usize,
    ) -> (Vec<u64>, Vec<u64>) {
        let for_suits = column_sums(
            &self.suits,
            above.map(|row| &*row.suits),
            below.map(|row| &*row.suits),
        );
        let for_fails = column_sums(
            &self.fails,
            above.map(|row| &*row.fails),
            below.map(|row| &*row.fails),
        );
        let mut suits = vec![0; self.suits.len()];
        let mut fails = vec![0; self.suits.len()];
        for at in words..self.suits.len() - words {
            let ayes = block_sum(&for_suits, at, words);
            let noes = block_sum(&for_fails, at, words);
            (suits[at], fails[at]) = decide(ayes, noes, self.suits[at], self.fails[at]);
        }
        (suits, fails)
    }

    fn majority_on_like_ground(
        &self,
        keys: &[u32],
        above: Option<&PlanarRow>,
        below: Option<&PlanarRow>,
        words: usize,
    ) -> (Vec<u64>, Vec<u64>) {
        let mut suits = vec![0; self.suits.len()];
        let mut fails = vec![0; self.suits.len()];
        let rows: Vec<&PlanarRow> = [above, Some(self), below].into_iter().flatten().collect();
        for (col, key) in keys.iter().enumerate() {
            let mut like = Vec::with_capacity(9);
            for row in &rows {
                let Some(keys) = &row.ground else { continue };
                for near in col.saturating_sub(1)..(col + 2).min(keys.len()) {
                    if keys[near] == *key {
                        like.push((*row, (near + 1) * words));
                    }
                }
            }
            for word in 0..words {
                let (mut ayes, mut noes) = ([0; 4], [0; 4]);
                for (row, at) in &like {
                    count_in(&mut ayes, row.suits[at + word]);
                    count_in(&mut noes, row.fails[at + word]);
                }
                let at = (col + 1) * words + word;
                (suits[at], fails[at]) = decide(ayes, noes, self.suits[at], self.fails[at]);
            }
        }
        (suits, fails)
    }
}

/// Adds up three rows bit by bit: the ones and the twos of a count of 0 to 3.
fn column_sums(middle: &[u64], above: Option<&[u64]>, below: Option<&[u64]>) -> Vec<[u64; 2]> {
    match (above, below) {
        (Some(above), Some(below)) => middle
            .iter()
            .zip(above)
            .zip(below)
            .map(|((&a, &b), &c)| full_add(a, b, c))
            .collect(),
        (Some(other), None) | (None, Some(other)) => {
            middle.iter().zip(other).map(|(&a, &b)| [a ^ b, a & b]).collect()
        }
        (None, None) => middle.iter().map(|&a| [a, 0]).collect(),
    }
}

/// Adds up three columns of [`column_sums`]: the four digits of a count of 0 to 9.
fn block_sum(columns: &[[u64; 2]], at: usize, words: usize) -> [u64; 4] {
    let [left, middle, right] = [columns[at - words], columns[at], columns[at + words]];
    let [ones, carry] = full_add(left[0], middle[0], right[0]);
    let [twos, fours] = full_add(left[1], middle[1], right[1]);
    let carry_2 = twos & carry;
    [ones, twos ^ carry, fours ^ carry_2, fours & carry_2]
}

fn full_add(a: u64, b: u64, c: u64) -> [u64; 2] {
    let half = a ^ b;
    [half ^ c, (a & b) | (half & c)]
}

/// Adds one bit to counts of 0 to 15.
fn count_in(digits: &mut [u64; 4], mut carry: u64) {
    for digit in digits {
        let next = *digit & carry;
        *digit ^= carry;
        carry = next;
    }
}

/// The new words of a cell: the side with more votes, the old one at a tie, and
/// neither where the species is unknown.
fn decide(ayes: [u64; 4], noes: [u64; 4], suits: u64, fails: u64) -> (u64, u64) {
    let (mut more, mut tied) = (0, !0);
    for digit in (0..4).rev() {
        more |= tied & ayes[digit] & !noes[digit];
        tied &= !(ayes[digit] ^ noes[digit]);
    }
    let known = suits | fails;
    let now = known & (more | (tied & suits));
    (now, known & !now)
}

#[cfg(test)]
#[path = "vote_tests.rs"]
mod tests;
