//! Rows of cells rated for the regions: which species suit and which are unknown, on
//! sets of species in machine words: bit `i` of word `i / 64` is species `i` of the
//! catalogue.
//!
//! What raster factors say and what vector factors say is kept apart until
//! [`SaidApart::together`], because only the former is voted on: its single cells may be
//! noise.

use std::ops::Range;

use super::cells::{CellRater, WORD, gather};
use super::rating::Heard;
use super::stretches::Stretches;
use super::table::{Memo, Said, place};
use crate::project::Rule;

/// What is said of one word of species in a cell, raster and vector factors apart.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct SaidApart {
    /// Species that suit by the raster factors.
    pub suits: u64,
    /// Species that do not by the raster factors. Those in neither set are unknown.
    pub fails: u64,
    /// Species below the wanted class by the vector factors.
    pub below: u64,
    /// Species that are unknown by the vector factors. Those also in `below` are not rated.
    pub unknown: u64,
}

/// A row of cells, before the vote, in stretches of which the same is said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RatedRow {
    words: usize,
    /// One past the last column of each stretch.
    ends: Vec<u32>,
    /// For each stretch one entry a word.
    said: Vec<SaidApart>,
    /// For each stretch, see [`Stretch::key`], up to the last that has one but 0.
    keys: Vec<u32>,
}

/// Neighbouring cells of which the same is said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stretch<'r> {
    /// Their columns.
    pub cols: Range<usize>,
    /// What is said, one entry a word of species.
    pub said: &'r [SaidApart],
    /// Under rules other than the limiting one the raster part holds the whole
    /// rating, and only neighbours on ground with the same key take part in the
    /// vote; 0 under the limiting rule.
    pub key: u32,
}

impl SaidApart {
    /// Raster factors (perhaps voted) and vector factors put together: the species that
    /// suit and those unknown. Does the same as rating all factors at once.
    #[inline]
    #[must_use]
    pub fn together(self, suits: u64, fails: u64) -> (u64, u64) {
        let not_rated = self.below & self.unknown;
        let below = (fails | self.below) & !not_rated;
        let unknown = ((!(suits | fails) | self.unknown) & !below) | not_rated;
        (!(below | unknown), unknown)
    }
}

impl RatedRow {
    /// A row without cells yet, for sets of so many words.
    #[must_use]
    pub fn new(words: usize) -> RatedRow {
        RatedRow {
            words,
            ends: Vec::new(),
            said: Vec::new(),
            keys: Vec::new(),
        }
    }

    /// Number of cells.
    #[must_use]
    pub fn cols(&self) -> usize {
        self.ends.last().map_or(0, |&end| end as usize)
    }

    /// Room it takes.
    #[must_use]
    pub fn bytes(&self) -> usize {
        size_of::<RatedRow>() + size_of_val(&*self.ends) + size_of_val(&*self.said) + size_of_val(&*self.keys)
    }

    /// The stretches, west to east.
    pub fn stretches(&self) -> impl Iterator<Item = Stretch<'_>> {
        let ends = self.ends.iter().map(|&end| end as usize);
        let starts = std::iter::once(0).chain(ends.clone());
        let cols = starts.zip(ends).map(|(from, to)| from..to);
        let keys = self.keys.iter().copied().chain(std::iter::repeat(0));
        let said = self.said.chunks_exact(self.words).zip(keys);
        cols.zip(said)
            .map(|(cols, (said, key))| Stretch { cols, said, key })
    }

    /// The cells of some rows, each in the east of the one before.
    #[must_use]
    pub fn joined<'p>(words: usize, parts: impl Iterator<Item = &'p RatedRow> + Clone) -> RatedRow {
        let mut joined = RatedRow::new(words);
        joined.make_room(parts.clone().map(|part| part.ends.len()).sum());
        for part in parts {
            if !part.keys.is_empty() {
                joined.keys.resize(joined.ends.len(), 0);
                joined.keys.extend_from_slice(&part.keys);
            }
            let cols = column(joined.cols());
            joined.ends.extend(part.ends.iter().map(|end| cols + end));
            joined.said.extend_from_slice(&part.said);
        }
        joined
    }

    /// The row, in whose place there is one without cells.
    #[must_use]
    pub fn take(&mut self) -> RatedRow {
        let empty = RatedRow::new(self.words);
        std::mem::replace(self, empty)
    }

    /// Takes room for so many more stretches, and no more than that: many rows are held.
    pub fn make_room(&mut self, stretches: usize) {
        self.ends.reserve_exact(stretches);
        self.said.reserve_exact(stretches * self.words);
    }

    /// Adds so many cells in the east: one entry a word.
    pub fn push(&mut self, cells: usize, said: impl Iterator<Item = SaidApart>, key: u32) {
        if key != 0 {
            self.keys.resize(self.ends.len(), 0);
            self.keys.push(key);
        }
        self.ends.push(column(self.cols() + cells));
        self.said.extend(said);
    }
}

/// A column of a grid, of which there are fewer.
fn column(col: usize) -> u32 {
    u32::try_from(col).unwrap_or(u32::MAX)
}

impl CellRater<'_> {
    /// Whether rated rows have keys, see [`Stretch::key`].
    #[must_use]
    pub fn has_keys(&self) -> bool {
        self.settings.rule != Rule::Limiting
    }

    /// Rates some cells and adds them to a row; `values` gives one slice a factor.
    pub fn rate_cells(&self, values: &[&[f32]], cells: usize, row: &mut RatedRow) {
        if self.has_keys() {
            self.as_a_whole(values, cells, row);
        } else {
            self.by_factor(values, cells, row);
        }
    }

    /// Cells under the limiting rule.
    fn by_factor(&self, values: &[&[f32]], cells: usize, row: &mut RatedRow) {
        let mut stretches = Stretches::default();
        stretches.find(self.tables.iter().map(|table| &table.bins), values, cells);
        let values = stretches.first_values();
        let mut memo = Memo::default();
        let mut numbers = vec![0; stretches.len()];
        let words = self.words();
        let mut heard = vec![[Said::default(); 2]; stretches.len() * words];
        for table in &self.tables {
            table.bins.number(&values, &mut numbers);
            let (entries, places) = table.sets(self, &numbers, &mut memo);
            for (heard, &number) in heard.chunks_exact_mut(words).zip(places) {
                let said = &entries[place(number) * words..][..words];
                for (heard, said) in heard.iter_mut().zip(said) {
                    let heard = &mut heard[usize::from(!table.from_raster)];
                    heard.below |= said.below;
                    heard.unknown |= said.unknown;
                    heard.scored |= said.scored;
                }
            }
        }
        row.make_room(stretches.len());
        let cols = row.cols();
        row.ends
            .extend(stretches.ends().iter().map(|end| column(cols + end)));
        let padding: Vec<u64> = (0..words).map(|word| self.padding(word)).collect();
        let heard = heard.iter().zip(padding.iter().cycle());
        row.said.extend(heard.map(|([raster, ground], padding)| {
            // A species with no score at all is unknown.
            let silent = !(raster.scored | ground.scored) | padding;
            SaidApart {
                suits: !(raster.below | raster.unknown | silent),
                fails: raster.below,
                below: ground.below,
                unknown: (ground.unknown | silent) & !ground.below,
            }
        }));
    }

    /// Cells under a rule that needs all scores together.
    fn as_a_whole(&self, values: &[&[f32]], cells: usize, row: &mut RatedRow) {
        let mut cell = vec![f32::NAN; values.len()];
        let mut heard = Heard::default();
        let mut said = vec![SaidApart::default(); self.words()];
        row.make_room(cells);
        for at in 0..cells {
            gather(values, at, &mut cell);
            said.fill(SaidApart::default());
            for species in 0..self.questions.species_count() {
                let (said, bit) = (&mut said[species / WORD], 1u64 << (species % WORD));
                match heard.rating(self.questions, &self.settings, species, &cell) {
                    Some(rating) if rating >= self.settings.wanted() => said.suits |= bit,
                    Some(_) => said.fails |= bit,
                    None => {}
                }
            }
            row.push(1, said.iter().copied(), self.ground_key(&cell));
        }
    }

    /// A number that is the same where all vector factors have the same values.
    ///
    /// # Method
    /// Fowler, Noll and Vo's hash (FNV-1a) of the values' bits.
    fn ground_key(&self, values: &[f32]) -> u32 {
        let factors = self.questions.factors().iter().zip(values);
        let vector = factors.filter(|(rated, _)| !rated.from_raster);
        let bytes = vector.flat_map(|(_, value)| value.to_bits().to_le_bytes());
        bytes.fold(0x811c_9dc5_u32, |hash, byte| {
            (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_stay_with_their_stretches_when_rows_are_joined() {
        let said = || std::iter::once(SaidApart::default());
        let row = |stretches: &[(usize, u32)]| {
            let mut row = RatedRow::new(1);
            for &(cells, key) in stretches {
                row.push(cells, said(), key);
            }
            row
        };
        let parts = [
            row(&[(2, 0), (1, 7), (3, 0)]),
            row(&[(4, 0)]),
            row(&[(1, 0), (2, 9)]),
        ];
        let joined = RatedRow::joined(1, parts.iter());
        let told: Vec<_> = joined
            .stretches()
            .map(|stretch| (stretch.cols, stretch.key))
            .collect();
        assert_eq!(
            told,
            [
                (0..2, 0),
                (2..3, 7),
                (3..6, 0),
                (6..10, 0),
                (10..11, 0),
                (11..13, 9)
            ]
        );
    }
}
