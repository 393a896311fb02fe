//! Rows of cells rated for the regions: which species suit and which are unknown, on
//! sets of species in machine words: bit `i` of word `i / 64` is species `i` of the
//! catalogue.
//!
//! What raster factors say and what vector factors say is kept apart until
//! [`combine`], because only the former is voted on: its single cells may be noise.

use std::ops::Range;

use super::cells::{CellRater, WORD, gather};
use super::rating::Heard;
use super::stretches::Stretches;
use super::table::{Memo, Said, place};
use crate::project::Rule;

/// The sets of a row of cells, before the vote. Each holds the first word of all cells,
/// then the second, and so on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RatedRow {
    /// Species that suit by the raster factors.
    pub suits: Vec<u64>,
    /// Species that do not by the raster factors. Those in neither set are unknown.
    pub fails: Vec<u64>,
    /// What the vector factors say.
    pub ground: GroundRow,
    /// Under rules other than the limiting one the raster part holds the whole
    /// rating, and only neighbours on ground with the same key take part in the
    /// vote; nothing under the limiting rule.
    pub keys: Option<Vec<u32>>,
}

/// What vector factors say of a row of cells. A species in both sets is not rated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GroundRow {
    /// Species below the wanted class.
    pub below: Vec<u64>,
    /// Species that are unknown.
    pub unknown: Vec<u64>,
}

impl CellRater<'_> {
    /// A row of so many cells, none of them rated yet.
    #[must_use]
    pub fn blank_row(&self, cols: usize) -> RatedRow {
        let nothing = || vec![0; cols * self.words()];
        RatedRow {
            suits: nothing(),
            fails: nothing(),
            ground: GroundRow {
                below: nothing(),
                unknown: nothing(),
            },
            keys: (self.settings.rule != Rule::Limiting).then(|| vec![0; cols]),
        }
    }

    /// Rates some cells of a row that are still blank; `values` gives one slice a factor
    /// with the values of these cells.
    pub fn rate_cells(&self, values: &[&[f32]], row: &mut RatedRow, cells: Range<usize>) {
        if self.settings.rule == Rule::Limiting {
            self.by_factor(values, row, cells);
        } else {
            self.as_a_whole(values, row, cells);
        }
    }

    /// Cells under the limiting rule.
    fn by_factor(&self, values: &[&[f32]], row: &mut RatedRow, part: Range<usize>) {
        let cols = row.suits.len() / self.words();
        let mut stretches = Stretches::default();
        stretches.find(self.tables.iter().map(|table| &table.bins), values, part.len());
        let values = stretches.first_values();
        let mut memo = Memo::default();
        let mut numbers = vec![0; stretches.len()];
        let mut heard = vec![[Said::default(); 2]; stretches.len() * self.words()];
        for table in &self.tables {
            table.bins.number(&values, &mut numbers);
            let (entries, places) = table.sets(self, &numbers, &mut memo);
            for (word, heard) in heard.chunks_exact_mut(stretches.len().max(1)).enumerate() {
                for (heard, &number) in heard.iter_mut().zip(places) {
                    let said = &entries[place(number) * self.words() + word];
                    let heard = &mut heard[usize::from(!table.from_raster)];
                    heard.below |= said.below;
                    heard.unknown |= said.unknown;
                    heard.scored |= said.scored;
                }
            }
        }
        for (word, heard) in heard.chunks_exact(stretches.len().max(1)).enumerate() {
            let mut from = word * cols + part.start;
            for ([raster, ground], end) in heard.iter().zip(stretches.ends()) {
                let cells = from..word * cols + part.start + end;
                from = cells.end;
                // A species with no score at all is unknown.
                let silent = !(raster.scored | ground.scored) | self.padding(word);
                row.suits[cells.clone()].fill(!(raster.below | raster.unknown | silent));
                row.fails[cells.clone()].fill(raster.below);
                row.ground.below[cells.clone()].fill(ground.below);
                row.ground.unknown[cells].fill((ground.unknown | silent) & !ground.below);
            }
        }
    }

    /// Cells under a rule that needs all scores together.
    fn as_a_whole(&self, values: &[&[f32]], row: &mut RatedRow, part: Range<usize>) {
        let cols = row.suits.len() / self.words();
        let mut cell = vec![f32::NAN; values.len()];
        let mut heard = Heard::default();
        for (at, col) in part.enumerate() {
            gather(values, at, &mut cell);
            for species in 0..self.questions.species_count() {
                let (at, bit) = (species / WORD * cols + col, 1u64 << (species % WORD));
                match heard.rating(self.questions, &self.settings, species, &cell) {
                    Some(rating) if rating >= self.settings.wanted() => row.suits[at] |= bit,
                    Some(_) => row.fails[at] |= bit,
                    None => {}
                }
            }
            if let Some(keys) = &mut row.keys {
                keys[col] = self.ground_key(&cell);
            }
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

/// Puts together what raster factors (perhaps voted) and vector factors say of a row of
/// cells: for each cell the words of the species that suit, then of those unknown. Does
/// the same as rating all factors at once.
pub fn combine(words: usize, suits: &[u64], fails: &[u64], ground: &GroundRow, cells: &mut [u64]) {
    let cols = cells.len() / (2 * words);
    for word in 0..words {
        let plane = word * cols..(word + 1) * cols;
        let raster = suits[plane.clone()].iter().zip(&fails[plane.clone()]);
        let ground = ground.below[plane.clone()].iter().zip(&ground.unknown[plane]);
        let cells = cells.chunks_exact_mut(2 * words);
        for ((cell, (suits, fails)), (below, lacking)) in cells.zip(raster).zip(ground) {
            let not_rated = below & lacking;
            let below = (fails | below) & !not_rated;
            let unknown = ((!(suits | fails) | lacking) & !below) | not_rated;
            cell[word] = !(below | unknown);
            cell[words + word] = unknown;
        }
    }
}
