//! The corners at which the courses of borders are settled, in little room: row by row,
//! from west to east. Knows which borders leave a corner and where they lead.

use super::vertex::{Corner, DIRECTIONS, DOWN, LEFT, NONE, RIGHT, UP};
use crate::zones::runs::narrow;

/// Corners at which a border turns or at which three or four borders meet.
///
/// # Method
/// A border that leaves to the right leads to the next corner of the row, one that leaves
/// to the left to the one before, so only links up and down are held. Labels are held of
/// corners at which borders meet, and of those at which a border can begin that meets no
/// other: where it runs to the right and down.
#[derive(Debug, Default)]
pub(super) struct Vertices {
    cols: Vec<u32>,
    /// For each corner the borders that leave it, a bit a direction; four bits further up,
    /// which of them have been followed.
    borders: Vec<u8>,
    up: Vec<u32>,
    down: Vec<u32>,
    /// The first corner of each row.
    row_starts: Vec<u32>,
    /// Corners with labels, in order.
    labelled: Vec<(u32, [u32; DIRECTIONS])>,
}

impl Vertices {
    /// Begins the next row.
    pub(super) fn begin_row(&mut self) {
        self.row_starts.push(narrow(self.cols.len()));
    }

    /// Number of corners.
    pub(super) fn len(&self) -> usize {
        self.cols.len()
    }

    /// Adds a corner to the row that was begun last: with the borders that leave it, the
    /// corner above, and the labels of the four cells around: north-east, south-east,
    /// south-west, north-west.
    pub(super) fn push(
        &mut self,
        col: u32,
        borders: [bool; DIRECTIONS],
        above: u32,
        labels: [u32; DIRECTIONS],
    ) {
        let id = narrow(self.len());
        let bits = (0..DIRECTIONS).map(|direction| u8::from(borders[direction]) << direction);
        let bits: u8 = bits.sum();
        if borders[UP] {
            self.down[above as usize] = id;
        }
        self.cols.push(col);
        self.borders.push(bits);
        self.up.push(above);
        self.down.push(NONE);
        if meets(bits) || bits == (1 << RIGHT) | (1 << DOWN) {
            self.labelled.push((id, labels));
        }
    }

    /// Corners at which three or four borders meet, with the labels around them.
    pub(super) fn nodes(&self) -> impl Iterator<Item = &(u32, [u32; DIRECTIONS])> {
        self.labelled.iter().filter(|(id, _)| self.is_node(*id))
    }

    /// Whether three or four borders meet here.
    pub(super) fn is_node(&self, id: u32) -> bool {
        meets(self.borders[id as usize])
    }

    /// The labels around a corner that has some: who leaves in direction `d` has
    /// `labels[d]` on the left and the next one on the right.
    pub(super) fn labels(&self, id: u32) -> [u32; DIRECTIONS] {
        let place = self.labelled.binary_search_by_key(&id, |&(id, _)| id);
        place.map_or([0; DIRECTIONS], |place| self.labelled[place].1)
    }

    /// The corner's place; `near_row` is a row not far from its own.
    pub(super) fn corner(&self, id: u32, near_row: u32) -> Corner {
        let mut row = near_row as usize;
        while self.row_starts[row] > id {
            row -= 1;
        }
        while self.row_starts.get(row + 1).is_some_and(|&start| start <= id) {
            row += 1;
        }
        Corner {
            row: narrow(row),
            col: self.cols[id as usize],
        }
    }

    /// The next corner along the border that leaves in a direction.
    pub(super) fn next(&self, id: u32, direction: usize) -> u32 {
        match direction {
            RIGHT => id + 1,
            DOWN => self.down[id as usize],
            LEFT => id - 1,
            _ => self.up[id as usize],
        }
    }

    /// The direction in which a border goes on that arrived at a corner where no other
    /// meets it; `back` is where it came from.
    pub(super) fn onward(&self, id: u32, back: usize) -> usize {
        let others = self.borders[id as usize] & 0xf & !(1 << back);
        (others.trailing_zeros() as usize).min(DIRECTIONS - 1)
    }

    /// Whether a border leaves in a direction that has not been followed.
    pub(super) fn is_open(&self, id: u32, direction: usize) -> bool {
        self.borders[id as usize] >> direction & 0x11 == 1
    }

    /// Whether no border of the corner has been followed.
    pub(super) fn is_untouched(&self, id: u32) -> bool {
        self.borders[id as usize] >> DIRECTIONS == 0
    }

    /// Marks a border as followed.
    pub(super) fn mark(&mut self, id: u32, direction: usize) {
        self.borders[id as usize] |= 0x10 << direction;
    }

    /// Number of borders between two corners.
    pub(super) fn links(&self) -> usize {
        let of_corner = |borders: &u8| (borders & 0xf).count_ones() as usize;
        self.borders.iter().map(of_corner).sum::<usize>() / 2
    }
}

fn meets(borders: u8) -> bool {
    (borders & 0xf).count_ones() > 2
}
