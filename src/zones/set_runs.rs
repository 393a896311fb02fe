//! Rows of cells as runs of one set. Words of neighbouring cells come in, runs with set
//! numbers go out; knows nothing of the rows above and below.

use rayon::prelude::*;

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

/// The runs of one row while they are told, from west to east.
#[derive(Debug)]
pub struct RowOfRuns<'b> {
    book: &'b SetBook,
    runs: Vec<SetRun>,
    /// Words of the new sets, in the order of the runs marked so.
    new: Vec<u64>,
    /// The words of the run that has not ended yet.
    current: Vec<u64>,
    /// How far it has come.
    end: u32,
}

/// The runs of each row, the rows in order; `tell` tells the runs of one. Sets that are
/// new get their numbers in row-major order of their first cells, whatever the block or
/// the threads.
pub(super) fn runs_of_rows<R: Sync>(
    book: &mut SetBook,
    rows: &[R],
    tell: impl Fn(&R, &mut RowOfRuns) + Sync,
) -> Vec<Vec<SetRun>> {
    let known: &SetBook = book;
    let told: Vec<(Vec<SetRun>, Vec<u64>)> = rows
        .par_iter()
        .map(|row| {
            let mut runs = RowOfRuns::new(known);
            tell(row, &mut runs);
            runs.finish()
        })
        .collect();
    let length = book.layout().cell_words();
    let mut rows = Vec::with_capacity(told.len());
    for (mut runs, new) in told {
        let mut new = new.chunks_exact(length);
        for run in runs.iter_mut().filter(|run| run.set == NEW) {
            if let Some(words) = new.next() {
                run.set = book.intern(words);
            }
        }
        rows.push(runs);
    }
    rows
}

impl<'b> RowOfRuns<'b> {
    fn new(book: &'b SetBook) -> RowOfRuns<'b> {
        RowOfRuns {
            book,
            runs: Vec::new(),
            new: Vec::new(),
            current: Vec::new(),
            end: 0,
        }
    }

    /// Adds cells up to, but not with, a column; all have these words, which are mended.
    pub fn push(&mut self, end: u32, cell: &mut [u64]) {
        self.book.layout().mend(cell);
        // A few words are compared quickest one by one.
        if self.current.len() != cell.len()
            || self.current.iter().zip(&*cell).any(|(one, other)| one != other)
        {
            self.end_run();
            self.current.clear();
            self.current.extend_from_slice(cell);
        }
        self.end = end;
    }

    fn end_run(&mut self) {
        if self.current.is_empty() {
            return;
        }
        let set = self.book.find(&self.current).unwrap_or_else(|| {
            self.new.extend_from_slice(&self.current);
            NEW
        });
        self.runs.push(SetRun { end: self.end, set });
    }

    fn finish(mut self) -> (Vec<SetRun>, Vec<u64>) {
        self.end_run();
        (self.runs, self.new)
    }
}
