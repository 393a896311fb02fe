//! The sweep over rows of zone labels: finds the corners of the grid at which a
//! border turns or at which three or four borders meet, and links each to the
//! next along the borders. Two rows are in memory; straight stretches leave only
//! their ends.

use super::arcs::Arcs;
use super::error::OutlineError;
use super::runs::{Run, join_runs};
use super::vertex::{DIRECTIONS, DOWN, LEFT, NONE, RIGHT, UP};
use super::vertices::Vertices;

/// Takes in the rows of zone labels, from north to south, and gives the arcs.
#[derive(Debug)]
pub struct OutlineBuilder {
    rows: u32,
    cols: u32,
    rows_seen: u32,
    above: Vec<Run>,
    below: Vec<Run>,
    vertices: Vertices,
    /// For each line between columns, the last vertex from which a border runs down.
    open_above: Vec<u32>,
}

impl OutlineBuilder {
    /// A builder for a grid of `rows` x `cols` cells.
    #[must_use]
    pub fn new(rows: u32, cols: u32) -> OutlineBuilder {
        OutlineBuilder {
            rows,
            cols,
            rows_seen: 0,
            above: vec![(cols, 0)],
            below: Vec::new(),
            vertices: Vertices::default(),
            open_above: vec![NONE; cols as usize + 1],
        }
    }

    /// Takes the next row: runs as (column past the last cell, label), which
    /// cover the row from west to east. Neighbouring runs may share a label.
    ///
    /// # Missing
    /// Label 0 stands for cells that are not rated; what lies outside the grid
    /// counts as 0 too.
    ///
    /// # Errors
    /// Runs that do not cover the row in order; more rows than the grid has; more
    /// corners than can be counted.
    pub fn push_row(&mut self, runs: &[(u32, u32)]) -> Result<(), OutlineError> {
        if self.rows_seen == self.rows {
            return Err(OutlineError::RowCount {
                found: self.rows + 1,
                needed: self.rows,
            });
        }
        let mut below = std::mem::take(&mut self.below);
        let joined = join_runs(self.rows_seen, self.cols, runs, &mut below);
        self.below = below;
        joined?;
        self.corners_between_rows()?;
        self.rows_seen += 1;
        std::mem::swap(&mut self.above, &mut self.below);
        Ok(())
    }

    /// The arcs of all borders and the rings they form.
    ///
    /// # Errors
    /// Fewer rows than the grid has; labels that are not one 4-connected set of
    /// cells, or that no cell bears although a greater one is borne.
    pub fn finish(mut self) -> Result<Arcs, OutlineError> {
        if self.rows_seen != self.rows {
            return Err(OutlineError::RowCount {
                found: self.rows_seen,
                needed: self.rows,
            });
        }
        self.below = vec![(self.cols, 0)];
        self.corners_between_rows()?;
        self.open_above = Vec::new();
        Arcs::from_vertices(self.vertices)
    }

    /// Finds the vertices on the line between the two rows in memory.
    fn corners_between_rows(&mut self) -> Result<(), OutlineError> {
        self.vertices.begin_row();
        let (mut upper, mut lower) = (0, 0);
        let (mut north_west, mut south_west) = (0, 0);
        let mut col = 0;
        loop {
            // Past the last run lies the outside.
            let (upper_end, north_east) = self.above.get(upper).copied().unwrap_or((self.cols, 0));
            let (lower_end, south_east) = self.below.get(lower).copied().unwrap_or((self.cols, 0));
            let labels = [north_east, south_east, south_west, north_west];
            self.corner(col, labels)?;
            if col == self.cols {
                return Ok(());
            }
            (north_west, south_west) = (north_east, south_east);
            col = upper_end.min(lower_end);
            upper += usize::from(upper_end == col);
            lower += usize::from(lower_end == col);
        }
    }

    /// Keeps a corner when a border turns there or borders meet.
    fn corner(&mut self, col: u32, labels: [u32; DIRECTIONS]) -> Result<(), OutlineError> {
        let border: [bool; DIRECTIONS] =
            std::array::from_fn(|direction| labels[direction] != labels[(direction + 1) % DIRECTIONS]);
        if border[RIGHT] == border[LEFT] && border[UP] == border[DOWN] && border[LEFT] != border[UP] {
            return Ok(()); // a straight stretch passes
        }
        if border == [false; DIRECTIONS] {
            return Ok(());
        }
        let row = self.rows_seen;
        let id = match u32::try_from(self.vertices.len()) {
            Ok(id) if id < NONE / 4 => id,
            _ => return Err(OutlineError::TooManyCorners { row, limit: NONE / 4 }),
        };
        let above = if border[UP] {
            self.open_above[col as usize]
        } else {
            NONE
        };
        if border[DOWN] {
            self.open_above[col as usize] = id;
        }
        self.vertices.push(col, border, above, labels);
        Ok(())
    }
}
