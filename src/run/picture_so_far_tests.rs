//! Pictures of random cells against a plain loop, and of a small site from end to end.

use proptest::prelude::*;

use super::*;

/// What a cell can be: outside, rated, or not rated for one of three causes.
const WORDS: [&str; 5] = [
    "outside",
    "rated",
    "excluded: creek",
    "no value of ph",
    "no value of sun",
];

/// The picture of a grid of cells, tile by tile from the last to the first.
fn pictured(cells: &[Vec<usize>], cell: usize, tile: usize) -> NotRatedPicture {
    let (rows, cols) = (cells.len(), cells[0].len());
    let mut picture = PictureSoFar::new(cell, rows, cols);
    let starts = |count: usize| (0..count).step_by(tile).rev();
    for (row, col) in starts(rows).flat_map(|row| starts(cols).map(move |col| (row, col))) {
        let window = Window {
            row,
            col,
            rows: tile.min(rows - row),
            cols: tile.min(cols - col),
        };
        let mut counts = CauseCounts::new(cell, window);
        for line in 0..window.rows {
            let line_cells = &cells[row + line][col..col + window.cols];
            let mut from = 0;
            for run in line_cells.chunk_by(|one, next| one == next) {
                let to = from + run.len();
                match run[0] {
                    0 => counts.outside(line, from, to),
                    1 => {}
                    cause => counts.not_rated(WORDS[cause], line, from, to),
                }
                from = to;
            }
        }
        picture.add(window, &counts.finish());
    }
    picture.finish(WORDS[2..].iter().map(|&name| name.to_owned()).collect())
}

/// The same by counting each coarse cell's cells one by one.
fn plain(cells: &[Vec<usize>], cell: usize) -> Vec<u8> {
    let (rows, cols) = (cells.len(), cells[0].len());
    let mut values = Vec::new();
    for row in (0..rows).step_by(cell) {
        for col in (0..cols).step_by(cell) {
            let mut counts = [0; 5];
            for line in &cells[row..rows.min(row + cell)] {
                for &word in &line[col..cols.min(col + cell)] {
                    counts[word] += 1;
                }
            }
            let most = counts.iter().max().unwrap();
            let cause = (2..5).find(|&word| counts[word] == *most);
            values.push(cause.map_or(0, |word| u8::try_from(word - 1).unwrap()));
        }
    }
    values
}

proptest! {
    #[test]
    fn pictures_are_those_of_a_plain_loop_however_tiles_cut(
        rows in 1_usize..40,
        cols in 1_usize..40,
        seed in prop::collection::vec((0_usize..5, 1_usize..30), 1..200),
    ) {
        let runs = seed.iter().flat_map(|&(word, length)| std::iter::repeat_n(word, length));
        let all: Vec<usize> = runs.cycle().take(rows * cols).collect();
        let cells: Vec<Vec<usize>> = all.chunks(cols).map(<[usize]>::to_vec).collect();
        for cell in [1, 2, 4, 8] {
            let picture = pictured(&cells, cell, 64);
            prop_assert_eq!(&picture.values, &plain(&cells, cell));
            prop_assert_eq!((picture.rows, picture.cols), (rows.div_ceil(cell), cols.div_ceil(cell)));
            for tile in [8, 16] {
                prop_assert_eq!(&pictured(&cells, cell, tile), &picture);
            }
            let text = serde_json::to_string(&picture).unwrap();
            prop_assert_eq!(&serde_json::from_str::<NotRatedPicture>(&text).unwrap(), &picture);
        }
    }
}

#[test]
fn even_counts_go_to_a_cause_and_to_the_first_by_name() {
    let of = |words: [usize; 4]| {
        let cells = [words[..2].to_vec(), words[2..].to_vec()];
        pictured(&cells, 2, 2).values[0]
    };
    assert_eq!(of([1, 1, 4, 4]), 3);
    assert_eq!(of([0, 0, 4, 4]), 3);
    assert_eq!(of([4, 3, 4, 3]), 2);
    assert_eq!(of([2, 4, 3, 1]), 1);
    assert_eq!(of([0, 0, 0, 4]), 0);
    assert_eq!(of([1, 1, 0, 2]), 0);
    // Two causes that together are most win nothing.
    assert_eq!(of([1, 1, 3, 4]), 0);
}

#[test]
fn coarse_cells_are_the_smallest_that_leave_a_thousand_and_no_larger_than_a_tile() {
    for (longer, cell) in [
        (1, 1),
        (1_000, 1),
        (1_001, 2),
        (20_000, 32),
        (512_000, 512),
        (1_000_000, 512),
    ] {
        assert_eq!(coarse_cell(3, longer), cell);
        assert_eq!(coarse_cell(longer, 3), cell);
    }
}

#[test]
fn causes_beyond_a_byte_share_the_last_number() {
    let window = Window {
        row: 0,
        col: 0,
        rows: 1,
        cols: 300,
    };
    let mut picture = PictureSoFar::new(1, 1, 300);
    let mut counts = CauseCounts::new(1, window);
    let names: Vec<String> = (0..300).map(|at| format!("no value of {at:03}")).collect();
    for (at, name) in names.iter().enumerate() {
        counts.not_rated(name, 0, at, at + 1);
    }
    picture.add(window, &counts.finish());
    let picture = picture.finish(names);
    assert_eq!(picture.causes.len(), 255);
    assert_eq!(picture.causes[253..], ["no value of 253", OTHER_CAUSES]);
    assert_eq!((picture.values[0], picture.values[253]), (1, 254));
    assert!(picture.values[254..].iter().all(|&value| value == 255));
}

#[test]
fn spoilt_pictures_are_refused() {
    let sound = r#"{"cell":1,"rows":2,"cols":3,"causes":["a"],"runs":[[0,5],[1,1]]}"#;
    let picture: NotRatedPicture = serde_json::from_str(sound).unwrap();
    assert_eq!(picture.values, [0, 0, 0, 0, 0, 1]);
    for (from, to) in [
        ("[1,1]", "[1,2]"),
        ("[0,5]", "[0,4]"),
        ("[1,1]", "[2,1]"),
        ("[0,5]", "[0,18446744073709551615]"),
        ("\"rows\":2", "\"rows\":18446744073709551615"),
        ("\"cols\":3", "\"cols\":1955"),
    ] {
        let spoilt = sound.replace(from, to);
        assert_ne!(spoilt, sound);
        let error = serde_json::from_str::<NotRatedPicture>(&spoilt).unwrap_err();
        assert!(error.to_string().contains("needed"), "{error}");
    }
}
