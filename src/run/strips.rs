//! From the values of a strip of rows to its regions: rates rows, marks what is not to
//! be rated, votes, and puts what vector factors say on top. Strips come in order from
//! north to south.

use std::collections::VecDeque;
use std::ops::Range;

use rayon::prelude::*;

use crate::error::Error;
use crate::rating::{CellRater, RatedRow, SaidApart};
use crate::site::{OUTSIDE, TO_RATE, TileValues};
use crate::zones::{CellLayout, Regions, RegionsBuilder, VoteRow, Voter, tell_runs};

/// Takes strips of rows and finds their regions.
pub struct Strips<'r> {
    rater: &'r CellRater<'r>,
    voter: Voter,
    /// Rows that still wait for their vote.
    waiting: VecDeque<RatedRow>,
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
        let rooms: Vec<VoteRow> = rows.clone().map(|_| self.voter.room_for_row()).collect();
        let rater = self.rater;
        let (rated, voting): (Vec<RatedRow>, Vec<VoteRow>) = rows
            .into_par_iter()
            .zip(rooms)
            .map(|(row, mut voting)| {
                let rated = rate(rater, tiles, row);
                voting.fill(&rated, rater.has_keys());
                (rated, voting)
            })
            .unzip();
        self.waiting.extend(rated);
        let voted = self.voter.push_rows(voting);
        for row in take(&mut self.builder, &mut self.waiting, voted)? {
            self.voter.give_back(row);
        }
        Ok(())
    }

    /// The regions, once all rows have come.
    ///
    /// # Errors
    /// More regions than can be numbered, or rows that lack.
    pub fn finish(mut self) -> Result<Regions, Error> {
        take(&mut self.builder, &mut self.waiting, self.voter.finish())?;
        Ok(self.builder.finish()?)
    }
}

/// Takes voted rows into the regions, and gives them back.
fn take(
    builder: &mut RegionsBuilder,
    waiting: &mut VecDeque<RatedRow>,
    voted: Vec<VoteRow>,
) -> Result<Vec<VoteRow>, Error> {
    let rated = waiting.drain(..voted.len());
    let rows: Vec<(VoteRow, RatedRow)> = voted.into_iter().zip(rated).collect();
    builder.push_rows(&rows, |(voted, rated), runs| tell_runs(voted, rated, runs))?;
    Ok(rows.into_iter().map(|(voted, _)| voted).collect())
}

/// Rates a row of tiles beside one another.
fn rate(rater: &CellRater, tiles: &[TileValues], row: usize) -> RatedRow {
    let mut rated = RatedRow::new(rater.words());
    for tile in tiles {
        let (values, statuses) = (tile.row(row), tile.status.row(row));
        if statuses.iter().all(|&status| status == TO_RATE) {
            rater.rate_cells(&values, statuses.len(), &mut rated);
            continue;
        }
        let mut part = RatedRow::new(rater.words());
        rater.rate_cells(&values, statuses.len(), &mut part);
        for stretch in part.stretches() {
            for like in statuses[stretch.cols].chunk_by(|one, next| one == next) {
                let said = stretch.said.iter().map(|&said| marked(said, like[0]));
                rated.push(like.len(), said, stretch.key);
            }
        }
    }
    rated
}

/// Cells outside take no part in anything; excluded ones still take part in the vote
/// on what raster factors say, and are taken out with the vector factors.
fn marked(said: SaidApart, status: u8) -> SaidApart {
    let not_rated = SaidApart {
        below: u64::MAX,
        unknown: u64::MAX,
        ..said
    };
    match status {
        TO_RATE => said,
        OUTSIDE => SaidApart {
            suits: 0,
            fails: 0,
            ..not_rated
        },
        _ => not_rated,
    }
}
