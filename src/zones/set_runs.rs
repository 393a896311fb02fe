//! Splits rows of cell words into runs of one set. Words come in, runs with set
//! numbers go out; knows nothing of the rows above and below.

use rayon::prelude::*;

use super::cell_sets::CellLayout;
use super::runs::narrow;
use super::set_book::{SetBook, SetId};

/// Neighbouring cells of a row that have the same set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct SetRun {
    /// One past its last column.
    pub end: u32,
    /// Its set.
    pub set: SetId,
}

/// Stands for a set that the book did not have when the row was split.
const NEW: SetId = SetId::MAX;

struct SplitRow {
    runs: Vec<SetRun>,
    /// Words of the new sets, in the order of the runs marked so.
    new: Vec<u64>,
}

/// The runs of each row, the rows in order. Sets that are new get their numbers
/// in row-major order of their first cells, whatever the block or the threads.
pub(super) fn split_rows(book: &mut SetBook, cells: &[u64], row_length: usize) -> Vec<Vec<SetRun>> {
    if row_length == 0 {
        return Vec::new();
    }
    let known: &SetBook = book;
    let split: Vec<SplitRow> = cells
        .par_chunks_exact(row_length)
        .map(|row| match known.layout().words() {
            1 => split_row::<2>(known, row),
            2 => split_row::<4>(known, row),
            3 => split_row::<6>(known, row),
            4 => split_row::<8>(known, row),
            _ => split_row_of_any_width(known, row),
        })
        .collect();
    let length = book.layout().cell_words();
    let mut rows = Vec::with_capacity(split.len());
    for mut row in split {
        let mut new = row.new.chunks_exact(length);
        for run in row.runs.iter_mut().filter(|run| run.set == NEW) {
            if let Some(words) = new.next() {
                run.set = book.intern(words);
            }
        }
        rows.push(row.runs);
    }
    rows
}

fn split_row<const N: usize>(book: &SetBook, row: &[u64]) -> SplitRow {
    let layout = book.layout();
    let (cells, _) = row.as_chunks::<N>();
    let mut split = SplitRow {
        runs: Vec::new(),
        new: Vec::new(),
    };
    let Some(first) = cells.first() else { return split };
    let mut current = mended(layout, first);
    for (col, cell) in cells.iter().enumerate().skip(1) {
        let cell = mended(layout, cell);
        if cell != current {
            split.end_run(book, narrow(col), &current);
            current = cell;
        }
    }
    split.end_run(book, narrow(cells.len()), &current);
    split
}

fn mended<const N: usize>(layout: CellLayout, cell: &[u64; N]) -> [u64; N] {
    let mut cell = *cell;
    cell[N - 1] |= layout.beyond();
    for word in 0..N / 2 {
        cell[word] &= !cell[N / 2 + word];
    }
    cell
}

fn split_row_of_any_width(book: &SetBook, row: &[u64]) -> SplitRow {
    let layout = book.layout();
    let mut row = row.to_vec();
    row.chunks_exact_mut(layout.cell_words())
        .for_each(|cell| layout.mend(cell));
    let mut split = SplitRow {
        runs: Vec::new(),
        new: Vec::new(),
    };
    let mut cells = row.chunks_exact(layout.cell_words()).enumerate().peekable();
    while let Some((col, cell)) = cells.next() {
        if cells.peek().is_none_or(|(_, next)| *next != cell) {
            split.end_run(book, narrow(col + 1), cell);
        }
    }
    split
}

impl SplitRow {
    fn end_run(&mut self, book: &SetBook, end: u32, words: &[u64]) {
        let set = book.find(words).unwrap_or_else(|| {
            self.new.extend_from_slice(words);
            NEW
        });
        self.runs.push(SetRun { end, set });
    }
}
