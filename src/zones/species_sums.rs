//! Sums of the 64 species of one word over runs of cells: on how many each is known, on
//! how many it suits, and the rating bytes of the latter. Knows neither the zone nor the
//! tile.

use std::ops::Range;

use pulp::NullaryFnOnce;

use crate::rating::{AsRated, WORD};

/// Sums of the species of one word in one zone.
#[derive(Debug, Clone, Copy)]
pub(super) struct SpeciesSums {
    pub known: [u32; WORD],
    pub suits: [u32; WORD],
    pub rating_bytes: [u32; WORD],
}

impl SpeciesSums {
    pub const NONE: SpeciesSums = SpeciesSums {
        known: [0; WORD],
        suits: [0; WORD],
        rating_bytes: [0; WORD],
    };
}

/// Adds known and suiting cells and rating bytes of a run of one row to the sums of each
/// word of species.
pub(super) struct AddRun<'a> {
    pub cells: &'a AsRated,
    pub cols: Range<usize>,
    pub sums: &'a mut [SpeciesSums],
}

impl NullaryFnOnce for AddRun<'_> {
    type Output = ();

    #[inline(always)]
    fn call(self) {
        let AddRun { cells, cols, sums } = self;
        for (word, sums) in sums.iter_mut().enumerate() {
            let cols = word * cells.cols + cols.start..word * cells.cols + cols.end;
            for same in cells.known[cols.clone()].chunk_by(|left, right| left == right) {
                sums.add_known(same[0], same.len());
            }
            let suits = cells.suits[cols.clone()].chunks(MOST_IN_BYTE);
            for (suits, bytes) in suits.zip(cells.bytes[cols].chunks(MOST_IN_BYTE)) {
                sums.add_suiting(suits, bytes);
            }
        }
    }
}

/// Cells that are counted in bytes before the counts go where there is room.
const MOST_IN_BYTE: usize = 255;

/// For each byte of a set a byte of all ones for each species in it.
static MASKS: [[u8; 8]; 256] = masks();

const fn masks() -> [[u8; 8]; 256] {
    let mut masks = [[0; 8]; 256];
    let mut set = 0;
    while set < 256 {
        let mut species = 0;
        while species < 8 {
            if set >> species & 1 == 1 {
                masks[set][species] = u8::MAX;
            }
            species += 1;
        }
        set += 1;
    }
    masks
}

impl SpeciesSums {
    #[inline(always)]
    fn add_known(&mut self, set: u64, cells: usize) {
        let cells = u32::try_from(cells).unwrap_or(u32::MAX);
        for (known, set) in self
            .known
            .as_chunks_mut::<8>()
            .0
            .iter_mut()
            .zip(set.to_le_bytes())
        {
            for (known, mask) in known.iter_mut().zip(MASKS[usize::from(set)]) {
                *known += u32::from(mask & 1) * cells;
            }
        }
    }

    /// Adds at most [`MOST_IN_BYTE`] cells.
    #[inline(always)]
    fn add_suiting(&mut self, sets: &[u64], bytes: &[[u8; WORD]]) {
        let mut counts = [0u8; WORD];
        let mut sums = [0u16; WORD];
        for (set, bytes) in sets.iter().zip(bytes) {
            for (part, set) in set.to_le_bytes().into_iter().enumerate() {
                for (species, mask) in MASKS[usize::from(set)].into_iter().enumerate() {
                    let at = 8 * part + species;
                    counts[at] += mask & 1;
                    sums[at] += u16::from(bytes[at] & mask);
                }
            }
        }
        for species in 0..WORD {
            self.suits[species] += u32::from(counts[species]);
            self.rating_bytes[species] += u32::from(sums[species]);
        }
    }
}
