//! From the values of a strip of rows to its regions: rates rows, marks what is not to
//! be rated, votes, and puts what vector factors say on top. Strips come in order from
//! north to south.

use std::collections::VecDeque;
use std::ops::Range;
use std::sync::Arc;

use rayon::prelude::*;

use crate::error::Error;
use crate::rating::{CellRater, GroundRow, RatedRow, combine};
use crate::site::{OUTSIDE, TO_RATE, TileValues};
use crate::zones::{CellLayout, Regions, RegionsBuilder, VoteRow, Voter};

/// Takes strips of rows and finds their regions.
pub struct Strips<'r> {
    rater: &'r CellRater<'r>,
    layout: CellLayout,
    cols: usize,
    voter: Voter,
    /// What vector factors say of rows that still wait for their vote.
    waiting: VecDeque<GroundRow>,
    builder: RegionsBuilder,
}

impl<'r> Strips<'r> {
    /// For a grid, or a part of one, of so many rows and columns.
    ///
    /// # Errors
    /// More cells than can be counted exactly.
    pub fn new(
        rater: &'r CellRater<'r>,
        layout: CellLayout,
        (rows, cols): (usize, usize),
        vote: usize,
    ) -> Result<Strips<'r>, Error> {
        Ok(Strips {
            rater,
            layout,
            cols,
            voter: Voter::new(layout, cols, vote),
            waiting: VecDeque::new(),
            builder: RegionsBuilder::new(layout, rows, cols)?,
        })
    }

    /// Takes the next rows, given as rows of the tiles beside one another that hold them.
    ///
    /// # Errors
    /// More regions than can be numbered.
    pub fn push(&mut self, tiles: &[TileValues], rows: Range<usize>) -> Result<(), Error> {
        let rated: Vec<RatedRow> = rows
            .into_par_iter()
            .map(|row| {
                let mut rated = self.rater.blank_row(self.cols);
                let mut from = 0;
                for tile in tiles {
                    let cells = from..from + tile.window.cols;
                    self.rater.rate_cells(&tile.row(row), &mut rated, cells.clone());
                    mark_not_rated(tile.status.row(row), self.cols, &mut rated, from);
                    from = cells.end;
                }
                rated
            })
            .collect();
        let mut voting = Vec::with_capacity(rated.len());
        for row in rated {
            self.waiting.push_back(row.ground);
            voting.push(VoteRow {
                suits: row.suits,
                fails: row.fails,
                keys: row.keys.map(Arc::from),
            });
        }
        let voted = self.voter.push_rows(voting);
        take(
            &mut self.builder,
            &mut self.waiting,
            self.layout,
            self.cols,
            voted,
        )
    }

    /// The regions, once all rows have come.
    ///
    /// # Errors
    /// More regions than can be numbered, or rows that lack.
    pub fn finish(mut self) -> Result<Regions, Error> {
        let voted = self.voter.finish();
        take(
            &mut self.builder,
            &mut self.waiting,
            self.layout,
            self.cols,
            voted,
        )?;
        Ok(self.builder.finish()?)
    }
}

fn take(
    builder: &mut RegionsBuilder,
    waiting: &mut VecDeque<GroundRow>,
    layout: CellLayout,
    cols: usize,
    voted: Vec<VoteRow>,
) -> Result<(), Error> {
    let ground: Vec<GroundRow> = waiting.drain(..voted.len()).collect();
    let length = cols * layout.cell_words();
    let mut cells = vec![0; voted.len() * length];
    cells
        .par_chunks_mut(length.max(1))
        .zip(voted.into_par_iter().zip(ground))
        .for_each(|(cells, (row, ground))| {
            combine(layout.words(), &row.suits, &row.fails, &ground, cells);
        });
    Ok(builder.push_rows(&cells)?)
}

/// Cells outside take no part in anything; excluded ones still take part in the vote
/// on what raster factors say, and are taken out with the vector factors.
fn mark_not_rated(statuses: &[u8], cols: usize, row: &mut RatedRow, from: usize) {
    for (col, &status) in statuses
        .iter()
        .enumerate()
        .filter(|(_, status)| **status != TO_RATE)
    {
        for at in (from + col..row.suits.len()).step_by(cols) {
            row.ground.below[at] = u64::MAX;
            row.ground.unknown[at] = u64::MAX;
            if status == OUTSIDE {
                row.suits[at] = 0;
                row.fails[at] = 0;
            }
        }
    }
}
