//! Sums of the 64 species of one word over runs of cells: on how many each is known, on
//! how many it suits, and the rating bytes of the latter. Knows neither the zone nor the
//! tile.

use pulp::NullaryFnOnce;

use crate::rating::{AsRated, WORD};

/// Sums of the species of one word in one zone.
#[derive(Debug, Clone, Copy)]
pub(super) struct SpeciesSums {
    known: [u32; WORD],
    suits: [u32; WORD],
    rating_bytes: [u32; WORD],
    /// What is known in the last cells, and how many of them are not in `known` yet.
    last_known: (u64, u32),
    few: FewCells,
}

/// Counts and sums over at most 255 cells, in as little room as these take, so that the
/// processor adds up many species at once.
#[derive(Debug, Clone, Copy)]
struct FewCells {
    suits: [u8; WORD],
    rating_bytes: [u16; WORD],
    /// Cells that may still come.
    room: u8,
}

/// Adds a run of cells of one row to the sums of each word of species.
pub(super) struct AddRun<'a> {
    pub cells: &'a AsRated,
    /// The stretches of the run, by place, and how many cells of each lie in it.
    pub stretches: &'a [(usize, u32)],
    pub sums: &'a mut [SpeciesSums],
}

impl NullaryFnOnce for AddRun<'_> {
    type Output = ();

    #[inline(always)]
    fn call(self) {
        let all = self.cells.ends().len();
        for (word, sums) in self.sums.iter_mut().enumerate() {
            for &(place, count) in self.stretches {
                let at = word * all + place;
                sums.add_known(self.cells.known[at], count);
                sums.add_suiting(self.cells.suits[at], &self.cells.bytes[at], count);
            }
        }
    }
}

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
    pub const NONE: SpeciesSums = SpeciesSums {
        known: [0; WORD],
        suits: [0; WORD],
        rating_bytes: [0; WORD],
        last_known: (0, 0),
        few: FewCells::NONE,
    };

    /// Known cells, suiting cells and sums of rating bytes of each species.
    pub fn finish(&mut self) -> [&[u32; WORD]; 3] {
        self.take_last_known();
        self.take_few();
        [&self.known, &self.suits, &self.rating_bytes]
    }

    #[inline(always)]
    fn add_known(&mut self, set: u64, cells: u32) {
        if set != self.last_known.0 {
            self.take_last_known();
            self.last_known.0 = set;
        }
        self.last_known.1 += cells;
    }

    #[inline(always)]
    fn take_last_known(&mut self) {
        let (set, cells) = self.last_known;
        for (known, mask) in self.known.iter_mut().zip(masks_of(set)) {
            *known += u32::from(mask & 1) * cells;
        }
        self.last_known.1 = 0;
    }

    #[inline(always)]
    fn add_suiting(&mut self, set: u64, bytes: &[u8; WORD], mut cells: u32) {
        while cells > 0 {
            let now = u8::try_from(cells).unwrap_or(u8::MAX).min(self.few.room);
            self.few.add(set, bytes, now);
            cells -= u32::from(now);
            if self.few.room == 0 {
                self.take_few();
            }
        }
    }

    #[inline(always)]
    fn take_few(&mut self) {
        for species in 0..WORD {
            self.suits[species] += u32::from(self.few.suits[species]);
            self.rating_bytes[species] += u32::from(self.few.rating_bytes[species]);
        }
        self.few = FewCells::NONE;
    }
}

impl FewCells {
    const NONE: FewCells = FewCells {
        suits: [0; WORD],
        rating_bytes: [0; WORD],
        room: u8::MAX,
    };

    /// Adds so many cells, of which there is room for all.
    #[inline(always)]
    fn add(&mut self, set: u64, bytes: &[u8; WORD], cells: u8) {
        self.room -= cells;
        let masks = masks_of(set);
        for species in 0..WORD {
            self.suits[species] += masks[species] & cells;
            self.rating_bytes[species] += u16::from(bytes[species] & masks[species]) * u16::from(cells);
        }
    }
}

/// A byte of all ones for each species of a set.
#[inline(always)]
fn masks_of(set: u64) -> [u8; WORD] {
    let mut masks = [0; WORD];
    for (masks, set) in masks.as_chunks_mut::<8>().0.iter_mut().zip(set.to_le_bytes()) {
        *masks = MASKS[usize::from(set)];
    }
    masks
}
