//! The vote against a plain loop over cells, species and neighbours.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "the sites of these tests are small"
)]

use proptest::prelude::*;

use super::*;

#[derive(Clone, Copy, PartialEq, Debug)]
enum State {
    Suits,
    Fails,
    Unknown,
}

fn state(layout: CellLayout, cell: &[u64], species: usize) -> State {
    let (word, bit) = (species / 64, species % 64);
    if cell[layout.words() + word] >> bit & 1 == 1 {
        State::Unknown
    } else if cell[word] >> bit & 1 == 1 {
        State::Suits
    } else {
        State::Fails
    }
}

fn plain_pass(layout: CellLayout, cols: usize, cells: &[u64], ground: Option<&[u32]>) -> Vec<u64> {
    let length = layout.cell_words();
    let rows = cells.len() / (cols * length);
    let at = |row: usize, col: usize| &cells[(row * cols + col) * length..(row * cols + col + 1) * length];
    let mut out = cells.to_vec();
    for row in 0..rows {
        for col in 0..cols {
            for species in 0..layout.species() {
                let own = state(layout, at(row, col), species);
                if own == State::Unknown {
                    continue;
                }
                let (mut suits, mut known) = (0, 0);
                for near_row in row.saturating_sub(1)..(row + 2).min(rows) {
                    for near_col in col.saturating_sub(1)..(col + 2).min(cols) {
                        let differs =
                            |keys: &[u32]| keys[near_row * cols + near_col] != keys[row * cols + col];
                        if ground.is_some_and(differs) {
                            continue;
                        }
                        let near = state(layout, at(near_row, near_col), species);
                        suits += usize::from(near == State::Suits);
                        known += usize::from(near != State::Unknown);
                    }
                }
                let cell = &mut out[(row * cols + col) * length + species / 64];
                if 2 * suits > known {
                    *cell |= 1 << (species % 64);
                } else if 2 * suits < known {
                    *cell &= !(1 << (species % 64));
                }
            }
        }
    }
    out
}

fn rows_of(layout: CellLayout, cols: usize, cells: &[u64], keys: Option<&[u32]>) -> Vec<VoteRow> {
    let (words, length) = (layout.words(), layout.cell_words());
    let row = |(at, cells): (usize, &[u64])| {
        let plane = |suiting: bool| {
            (0..words).flat_map(move |word| {
                cells.chunks_exact(length).map(move |cell| {
                    let known = !cell[words + word];
                    known & if suiting { cell[word] } else { !cell[word] }
                })
            })
        };
        VoteRow {
            suits: plane(true).collect(),
            fails: plane(false).collect(),
            keys: keys.map(|keys| Arc::from(&keys[at * cols..(at + 1) * cols])),
        }
    };
    cells.chunks(cols * length).enumerate().map(row).collect()
}

fn site() -> impl Strategy<Value = (CellLayout, usize, Vec<u64>, Vec<u32>)> {
    (
        prop::sample::select(vec![0, 1, 60, 64, 65, 130, 300]),
        1_usize..7,
        1_usize..8,
    )
        .prop_flat_map(|(species, cols, rows)| {
            let layout = CellLayout::new(species);
            let words = prop::collection::vec(any::<u64>(), rows * cols * layout.cell_words());
            let keys = prop::collection::vec(0_u32..2, rows * cols);
            (words, keys).prop_map(move |(mut cells, keys)| {
                cells
                    .chunks_exact_mut(layout.cell_words())
                    .for_each(|cell| layout.mend(cell));
                (layout, cols, cells, keys)
            })
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]
    #[test]
    fn the_vote_is_that_of_a_plain_loop_for_any_block(
        (layout, cols, cells, keys) in site(),
        passes in 0_usize..4,
        block in 1_usize..4,
        on_ground: bool,
    ) {
        let ground = on_ground.then_some(&*keys);
        let mut expected = cells.clone();
        for _ in 0..passes {
            expected = plain_pass(layout, cols, &expected, ground);
        }
        let mut voter = Voter::new(layout, cols, passes);
        let rows = rows_of(layout, cols, &cells, ground);
        let mut voted = Vec::new();
        for (at, rows) in rows.chunks(block).enumerate() {
            voted.extend(voter.push_rows(rows.to_vec()));
            let pushed = at * block + rows.len();
            prop_assert_eq!(voted.len(), pushed.saturating_sub(passes));
        }
        voted.extend(voter.finish());
        prop_assert_eq!(voted, rows_of(layout, cols, &expected, ground));
    }
}

fn one_species(drawn: &str) -> Vec<VoteRow> {
    let row = |text: &str| VoteRow {
        suits: text
            .chars()
            .map(|character| u64::from(character == '#'))
            .collect(),
        fails: text
            .chars()
            .map(|character| u64::from(character == '.'))
            .collect(),
        keys: None,
    };
    drawn.lines().map(row).collect()
}

fn drawn(rows: &[VoteRow]) -> String {
    let character = |(suits, fails): (&u64, &u64)| match (suits, fails) {
        (1, _) => '#',
        (_, 1) => '.',
        _ => '?',
    };
    let row = |row: &VoteRow| {
        row.suits
            .iter()
            .zip(&row.fails)
            .map(character)
            .collect::<String>()
    };
    rows.iter().map(row).collect::<Vec<_>>().join("\n")
}

fn voted(text: &str, passes: usize) -> String {
    let rows = one_species(text);
    let mut voter = Voter::new(CellLayout::new(1), rows[0].suits.len(), passes);
    let mut out = voter.push_rows(rows);
    out.extend(voter.finish());
    drawn(&out)
}

#[test]
fn a_single_cell_that_differs_is_voted_down() {
    assert_eq!(voted("###\n#.#\n###", 1), "###\n###\n###");
}

#[test]
fn a_tie_keeps_what_was() {
    assert_eq!(voted("#.", 1), "#.");
    assert_eq!(voted("##\n..", 2), "##\n..");
}

#[test]
fn unknown_cells_neither_count_nor_change() {
    assert_eq!(voted("???\n?#?\n?.?", 3), "???\n?#?\n?.?");
    assert_eq!(voted("???\n#.#\n???", 1), "???\n###\n???");
    assert_eq!(voted("??\n??", 2), "??\n??");
}

#[test]
fn no_cells_are_no_trouble() {
    for (cols, passes) in [(0, 2), (3, 0), (3, 2)] {
        let mut voter = Voter::new(CellLayout::new(1), cols, passes);
        assert!(voter.push_rows(vec![]).is_empty());
        assert!(voter.finish().is_empty());
    }
}
