//! From the rated rows of a strip to its regions: votes, and puts what vector factors say
//! on top. Strips come in order from north to south.

use std::collections::VecDeque;
use std::ops::Range;

use rayon::prelude::*;

use super::rated_tile::RatedTile;
use crate::error::Error;
use crate::rating::{CellRater, RatedRow};
use crate::zones::{CellLayout, RegionsBuilder, VoteRow, Voter, tell_runs};

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

    /// Takes the next rows out of the tiles beside one another that hold them.
    ///
    /// # Errors
    /// More regions than can be numbered.
    pub fn push(&mut self, tiles: &mut [RatedTile], rows: Range<usize>) -> Result<(), Error> {
        let taken = rows.map(|row| -> (Vec<RatedRow>, VoteRow) {
            let parts = tiles.iter_mut().map(|tile| tile.take_row(row));
            (parts.collect(), self.voter.room_for_row())
        });
        let taken: Vec<(Vec<RatedRow>, VoteRow)> = taken.collect();
        let rater = self.rater;
        let (rated, voting): (Vec<RatedRow>, Vec<VoteRow>) = taken
            .into_par_iter()
            .map(|(parts, mut voting)| {
                let rated = RatedRow::joined(rater.words(), parts.iter());
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

    /// What makes regions of all rows, once these have come. Borders take much room, and find
    /// that of the strips free.
    ///
    /// # Errors
    /// More regions than can be numbered.
    pub fn finish(self) -> Result<RegionsBuilder, Error> {
        let Strips {
            mut voter,
            mut waiting,
            mut builder,
            ..
        } = self;
        take(&mut builder, &mut waiting, voter.finish())?;
        Ok(builder)
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
