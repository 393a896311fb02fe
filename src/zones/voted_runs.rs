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

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::cell_sets::CellLayout;
    use super::super::regions::RegionsBuilder;
    use super::super::vote::Voter;
    use super::*;
    use crate::rating::SaidApart;

    fn said() -> impl Strategy<Value = SaidApart> {
        (any::<u64>(), any::<u64>(), any::<u64>(), any::<u64>()).prop_map(|(known, suits, below, unknown)| {
            SaidApart {
                suits: known & suits,
                fails: known & !suits,
                below,
                unknown,
            }
        })
    }

    proptest! {
        /// Without a vote the set of each cell is that of its stretch put together.
        #[test]
        fn runs_have_the_sets_of_their_stretches(
            species in prop::sample::select(vec![1, 64, 65, 130]),
            kinds in prop::collection::vec(prop::collection::vec(said(), 3), 1..4),
            stretches in prop::collection::vec((1usize..5, 0usize..3), 1..8),
        ) {
            let layout = CellLayout::new(species);
            let mut rated = RatedRow::new(layout.words());
            for (cells, kind) in stretches {
                let said = &kinds[kind % kinds.len()];
                rated.push(cells, said[..layout.words()].iter().copied(), 0);
            }
            let mut voter = Voter::new(layout, rated.cols(), 0);
            let mut row = voter.room_for_row();
            row.fill(&rated, false);
            let voted = voter.push_rows(vec![row]);
            let mut builder = RegionsBuilder::new(layout, 1, rated.cols()).unwrap();
            builder.push_rows(&voted, |voted, runs| tell_runs(voted, &rated, runs)).unwrap();
            let regions = builder.finish().unwrap();
            for stretch in rated.stretches() {
                let sets = stretch.said.iter().map(|said| said.together(said.suits, said.fails));
                let (suits, unknown): (Vec<u64>, Vec<u64>) = sets.unzip();
                let mut cell = [suits, unknown].concat();
                layout.mend(&mut cell);
                for col in stretch.cols {
                    let label = regions.rows.label(0, narrow(col));
                    let set = if label == 0 { 0 } else { regions.region(label).set };
                    prop_assert_eq!(regions.book.words(set), &*cell);
                }
            }
        }
    }
}
