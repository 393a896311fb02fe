//! A voted row and what vector factors say of it put together, as runs of one set.
//! Knows nothing of the rows above and below.

use super::runs::narrow;
use super::set_runs::RowOfRuns;
use super::vote::VoteRow;
use crate::rating::RatedRow;

/// Tells the runs of a row that was rated and then voted.
pub fn tell_runs(voted: &VoteRow, rated: &RatedRow, runs: &mut RowOfRuns) {
    let cols = rated.cols();
    let mut cell = Vec::new();
    for stretch in rated.stretches() {
        let words = stretch.said.len();
        cell.resize(2 * words, 0);
        let mut from = stretch.cols.start;
        while from < stretch.cols.end {
            let mut to = stretch.cols.end;
            for (word, said) in stretch.said.iter().enumerate() {
                let plane = word * cols;
                let (suits, fails) = (&voted.suits[plane..], &voted.fails[plane..]);
                for sets in [suits, fails] {
                    to = from + alike(&sets[from..to]);
                }
                (cell[word], cell[words + word]) = said.together(suits[from], fails[from]);
            }
            runs.push(narrow(to), &mut cell);
            from = to;
        }
    }
}

/// How many of the first are like the very first.
fn alike(sets: &[u64]) -> usize {
    sets.iter().take_while(|set| **set == sets[0]).count()
}
