//! Votes single noisy cells down: a 3 x 3 majority for each species, on all
//! species of a word at once. Rows of sets come in by blocks, the same rows go out
//! voted; knows neither regions nor what a species is.
//!
//! Only cells known for a species change, only known cells count, the cell itself
//! included; a strict majority decides, a tie keeps what was. What is unknown
//! stays unknown, and nothing outside the grid counts.

use std::ops::Range;
use std::sync::Arc;

use pulp::{Arch, NullaryFnOnce};
use rayon::prelude::*;

use super::cell_sets::CellLayout;
use crate::rating::RatedRow;

/// A row of cells that votes. Each set holds the first word of species of all cells,
/// then the second, and so on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VoteRow {
    /// Species that suit.
    pub suits: Vec<u64>,
    /// Species that do not; those in neither set are unknown.
    pub fails: Vec<u64>,
    /// A key for each cell, where what vector layers say cannot be put on after the
    /// vote: cells of another key do not count. All rows have them or none.
    pub keys: Option<Arc<[u32]>>,
}

/// Takes rows of cells in order and hands them out voted, in order: a row once as
/// many more rows have come as there are passes, the rest at the end. The same
/// bytes come for any division into blocks.
///
/// # Examples
/// ```
/// use groundfit::zones::{CellLayout, VoteRow, Voter};
/// // One species, a row of three cells: the middle one alone does not suit.
/// let row = VoteRow { suits: vec![1, 0, 1], fails: vec![0, 1, 0], keys: None };
/// let mut voter = Voter::new(CellLayout::new(1), 3, 1);
/// assert!(voter.push_rows(vec![row]).is_empty());
/// assert_eq!(voter.finish()[0].suits, [1, 1, 1]);
/// ```
#[derive(Debug)]
pub struct Voter {
    shape: Shape,
    passes: Vec<Pass>,
    /// Rows whose sets nobody needs any more, for the room they have.
    spare: Vec<VoteRow>,
}

#[derive(Debug, Clone, Copy)]
struct Shape {
    words: usize,
    cols: usize,
}

impl Voter {
    /// A voter for rows of `cols` cells that makes so many passes.
    #[must_use]
    pub fn new(layout: CellLayout, cols: usize, passes: usize) -> Voter {
        Voter {
            shape: Shape {
                words: layout.words(),
                cols,
            },
            passes: (0..passes).map(|_| Pass::default()).collect(),
            spare: Vec::new(),
        }
    }

    /// A row to be filled and pushed, whatever it holds now.
    pub fn room_for_row(&mut self) -> VoteRow {
        self.spare.pop().unwrap_or_else(|| self.shape.row())
    }

    /// Takes back a row that was handed out, for its room.
    pub fn give_back(&mut self, row: VoteRow) {
        self.spare.push(row);
    }

    /// Takes the next rows and hands out those that are finished, in order.
    ///
    /// # Panics
    /// When a row has another number of cells.
    #[must_use]
    pub fn push_rows(&mut self, rows: Vec<VoteRow>) -> Vec<VoteRow> {
        let Shape { words, cols } = self.shape;
        for row in &rows {
            let lengths = (row.suits.len(), row.fails.len());
            assert_eq!(
                lengths,
                (words * cols, words * cols),
                "a row is a set for each cell"
            );
            let fits = row.keys.as_ref().is_none_or(|keys| keys.len() == cols);
            assert!(fits, "there is a ground key for each cell");
        }
        self.run(rows, false)
    }

    /// Hands out the rows that are left; no more may come.
    #[must_use]
    pub fn finish(&mut self) -> Vec<VoteRow> {
        self.run(Vec::new(), true)
    }

    fn run(&mut self, mut rows: Vec<VoteRow>, at_end: bool) -> Vec<VoteRow> {
        for pass in &mut self.passes {
            rows = pass.feed(self.shape, rows, at_end, &mut self.spare);
        }
        rows
    }
}

/// One pass: the rows it still needs, oldest first.
#[derive(Debug, Default)]
struct Pass {
    rows: Vec<VoteRow>,
    /// Whether the first of `rows` has been voted and is kept as a neighbour only.
    first_is_done: bool,
}

impl Pass {
    fn feed(
        &mut self,
        shape: Shape,
        rows: Vec<VoteRow>,
        at_end: bool,
        spare: &mut Vec<VoteRow>,
    ) -> Vec<VoteRow> {
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
        let room = |_| spare.pop().unwrap_or_else(|| shape.row());
        let mut voted: Vec<VoteRow> = (from..to).map(room).collect();
        voted.par_iter_mut().zip(from..to).for_each_init(
            || Between::new(shape.cols),
            |between, (voted, row)| {
                let above = row.checked_sub(1).map(|above| &rows[above]);
                rows[row].vote(above, rows.get(row + 1), shape, between, voted);
            },
        );
        spare.extend(self.rows.drain(..to - 1));
        self.first_is_done = true;
        voted
    }
}

impl Shape {
    /// A row in which nobody votes.
    fn row(self) -> VoteRow {
        let nobody = || vec![0; self.words * self.cols];
        VoteRow {
            suits: nobody(),
            fails: nobody(),
            keys: None,
        }
    }
}

impl VoteRow {
    /// Fills the row with what raster factors say of a rated one of as many cells, and
    /// with its keys where these count.
    pub fn fill(&mut self, rated: &RatedRow, with_keys: bool) {
        let cols = rated.cols();
        for stretch in rated.stretches() {
            for (word, said) in stretch.said.iter().enumerate() {
                let cells = word * cols + stretch.cols.start..word * cols + stretch.cols.end;
                self.suits[cells.clone()].fill(said.suits);
                self.fails[cells].fill(said.fails);
            }
        }
        self.keys = with_keys.then(|| {
            let keys = rated.stretches();
            keys.flat_map(|stretch| std::iter::repeat_n(stretch.key, stretch.cols.len()))
                .collect()
        });
    }

    fn sets(&self, cells: Range<usize>) -> (&[u64], &[u64]) {
        (&self.suits[cells.clone()], &self.fails[cells])
    }

    /// Puts the row, voted, into `voted`, whatever that held.
    fn vote(
        &self,
        above: Option<&VoteRow>,
        below: Option<&VoteRow>,
        shape: Shape,
        between: &mut Between,
        voted: &mut VoteRow,
    ) {
        voted.keys.clone_from(&self.keys);
        match &self.keys {
            None => self.majority(above, below, shape, between, voted),
            Some(keys) => self.majority_on_like_ground(keys, above, below, shape, voted),
        }
    }

    fn majority(
        &self,
        above: Option<&VoteRow>,
        below: Option<&VoteRow>,
        shape: Shape,
        between: &mut Between,
        voted: &mut VoteRow,
    ) {
        let Shape { words, cols } = shape;
        for word in 0..words {
            let plane = word * cols..(word + 1) * cols;
            let rows = [above, Some(self), below];
            let outside: &[u64] = &between.outside;
            let rows = rows.map(|row| row.map_or((outside, outside), |row| row.sets(plane.clone())));
            Arch::new().dispatch(Majority {
                suits: rows.map(|(suits, _)| suits),
                fails: rows.map(|(_, fails)| fails),
                ayes: &mut between.ayes,
                noes: &mut between.noes,
                now_suits: &mut voted.suits[plane.clone()],
                now_fails: &mut voted.fails[plane.clone()],
            });
        }
    }

    fn majority_on_like_ground(
        &self,
        keys: &[u32],
        above: Option<&VoteRow>,
        below: Option<&VoteRow>,
        shape: Shape,
        voted: &mut VoteRow,
    ) {
        let Shape { words, cols } = shape;
        let rows: Vec<&VoteRow> = [above, Some(self), below].into_iter().flatten().collect();
        let mut like = Vec::with_capacity(9);
        for (col, key) in keys.iter().enumerate() {
            like.clear();
            for row in &rows {
                let Some(keys) = &row.keys else { continue };
                let near = col.saturating_sub(1)..(col + 2).min(cols);
                like.extend(near.filter(|&near| keys[near] == *key).map(|near| (*row, near)));
            }
            for plane in (0..words).map(|word| word * cols) {
                let (mut ayes, mut noes) = ([0; 4], [0; 4]);
                for (row, near) in &like {
                    count_in(&mut ayes, row.suits[plane + near]);
                    count_in(&mut noes, row.fails[plane + near]);
                }
                let at = plane + col;
                let now = decide(ayes, noes, self.suits[at], self.fails[at]);
                (voted.suits[at], voted.fails[at]) = now;
            }
        }
    }
}

/// For each column the ones and the twos of a count of 0 to 3 for every species, with an
/// empty column before the first and after the last.
#[derive(Debug)]
struct Sums {
    ones: Vec<u64>,
    twos: Vec<u64>,
}

/// What is only needed on the way, kept for the next row.
#[derive(Debug)]
struct Between {
    ayes: Sums,
    noes: Sums,
    /// The row beyond the edge of the grid, in which nobody votes.
    outside: Vec<u64>,
}

impl Between {
    fn new(cols: usize) -> Between {
        Between {
            ayes: Sums::new(cols),
            noes: Sums::new(cols),
            outside: vec![0; cols],
        }
    }
}

/// One word of a row: the sets of the row above, its own, and of the row below.
struct Majority<'r> {
    suits: [&'r [u64]; 3],
    fails: [&'r [u64]; 3],
    ayes: &'r mut Sums,
    noes: &'r mut Sums,
    now_suits: &'r mut [u64],
    now_fails: &'r mut [u64],
}

impl NullaryFnOnce for Majority<'_> {
    type Output = ();

    #[inline(always)]
    fn call(self) {
        let Majority { ayes, noes, .. } = self;
        ayes.add_up(self.suits);
        noes.add_up(self.fails);
        let own = self.suits[1].iter().zip(self.fails[1]);
        let now = self.now_suits.iter_mut().zip(self.now_fails);
        let counts = ayes.blocks().zip(noes.blocks());
        for (((now_suits, now_fails), (ayes, noes)), (&suits, &fails)) in now.zip(counts).zip(own) {
            (*now_suits, *now_fails) = decide(ayes, noes, suits, fails);
        }
    }
}

impl Sums {
    fn new(cols: usize) -> Sums {
        Sums {
            ones: vec![0; cols + 2],
            twos: vec![0; cols + 2],
        }
    }

    /// Adds up three rows bit by bit.
    #[inline(always)]
    fn add_up(&mut self, [above, middle, below]: [&[u64]; 3]) {
        let sums = self.ones[1..].iter_mut().zip(&mut self.twos[1..]);
        for (((ones, twos), above), (middle, below)) in sums.zip(above).zip(middle.iter().zip(below)) {
            [*ones, *twos] = full_add(*above, *middle, *below);
        }
    }

    /// Adds up each column and its two neighbours: the four digits of a count of 0 to 9.
    #[inline(always)]
    fn blocks(&self) -> impl Iterator<Item = [u64; 4]> {
        let ones = self.ones.iter().zip(&self.ones[1..]).zip(&self.ones[2..]);
        let twos = self.twos.iter().zip(&self.twos[1..]).zip(&self.twos[2..]);
        ones.zip(twos)
            .map(|(((&left, &middle), &right), ((&left_2, &middle_2), &right_2))| {
                let [ones, carry] = full_add(left, middle, right);
                let [twos, fours] = full_add(left_2, middle_2, right_2);
                let carry_2 = twos & carry;
                [ones, twos ^ carry, fours ^ carry_2, fours & carry_2]
            })
    }
}

#[inline(always)]
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
#[inline(always)]
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
