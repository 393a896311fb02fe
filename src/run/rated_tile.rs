//! A tile of the first pass: read, rated and marked where it is not to be rated, so that
//! its values can go at once. What is left of it are stretches.

use super::prepared::Prepared;
use crate::error::Error;
use crate::grid::Window;
use crate::rating::{CellRater, RatedRow, SaidApart};
use crate::site::{OUTSIDE, TO_RATE, TileValues};

/// The rows of a tile, before the vote.
pub struct RatedTile {
    rows: Vec<RatedRow>,
}

impl RatedTile {
    /// Reads and rates a tile.
    ///
    /// # Errors
    /// When a layer cannot be read.
    pub fn read(prepared: &Prepared, rater: &CellRater, window: Window) -> Result<RatedTile, Error> {
        Ok(RatedTile::of(rater, &prepared.site.read_tile(window)?))
    }

    /// Rates a tile that has been read.
    pub fn of(rater: &CellRater, tile: &TileValues) -> RatedTile {
        let rows = (0..tile.window.rows).map(|row| rated_row(rater, tile, row));
        RatedTile { rows: rows.collect() }
    }

    /// Room it takes.
    pub fn bytes(&self) -> usize {
        self.rows.iter().map(RatedRow::bytes).sum()
    }

    /// One of its rows, which nobody needs again.
    pub fn take_row(&mut self, row: usize) -> RatedRow {
        self.rows[row].take()
    }
}

fn rated_row(rater: &CellRater, tile: &TileValues, row: usize) -> RatedRow {
    let (values, statuses) = (tile.row(row), tile.status.row(row));
    let mut rated = RatedRow::new(rater.words());
    rater.rate_cells(&values, statuses.len(), &mut rated);
    if statuses.iter().all(|&status| status == TO_RATE) {
        rated
    } else {
        with_marks(rater, &rated, statuses)
    }
}

fn with_marks(rater: &CellRater, rated: &RatedRow, statuses: &[u8]) -> RatedRow {
    let mut with_marks = RatedRow::new(rater.words());
    let changes = statuses.windows(2).filter(|two| two[0] != two[1]).count();
    with_marks.make_room(rated.stretches().count() + changes);
    for stretch in rated.stretches() {
        for like in statuses[stretch.cols].chunk_by(|one, next| one == next) {
            let said = stretch.said.iter().map(|&said| marked(said, like[0]));
            with_marks.push(like.len(), said, stretch.key);
        }
    }
    with_marks
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
