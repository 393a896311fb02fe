//! What the cells of one tile say, as rated, by zone. Rows of rated cells come in with
//! the zones they lie in; sums go out that add up over tiles, in any order. Does not
//! know where the tile lies.

use std::collections::HashMap;

use pulp::Arch;

use super::cell_sets::CellLayout;
use super::counts::Counts;
use super::ground::{FactorSums, GroundShape, ZoneGround};
use super::ground_row::GroundRow;
use super::packed_ground::{GroundBook, PackedGround};
use super::species_sums::{AddRun, SpeciesSums};
use super::tally::{PackedTally, Tallies};
use crate::rating::{AsRated, WORD};

/// Most numbers of a question that have a place for each zone of a tile; those of others
/// are looked up.
const MOST_PLACES: usize = 1024;

/// Sums of all zones of a site.
#[derive(Debug)]
pub struct ZoneCounts {
    /// Known and suiting cells of each species.
    pub tallies: Tallies,
    /// Ground and ratings.
    pub ground: GroundBook,
    /// Geodesic area in square millimetres; zone `n` at `n - 1`.
    pub areas_mm2: Vec<u128>,
}

/// Sums of one zone in one tile.
#[derive(Debug)]
pub struct CountedZone {
    zone: u32,
    area_mm2: u128,
    tally: PackedTally,
    ground: PackedGround,
}

/// Sums of the zones in one tile.
#[derive(Debug)]
pub struct TileCounts<'s> {
    shape: &'s GroundShape,
    words: usize,
    /// The zones met, in the order in which they were.
    zones: Vec<u32>,
    places: HashMap<u32, usize>,
    areas_mm2: Vec<u128>,
    /// For each zone and species.
    species: Vec<SpeciesSums>,
    /// For each zone and factor.
    factors: Vec<FactorSums>,
    questions: Vec<NumberCounts>,
    /// Those of the last run, by place, with their cells in it.
    stretches: Vec<(usize, u32)>,
    row: GroundRow,
    arch: Arch,
}

/// A row of a tile that is being counted.
#[derive(Debug)]
pub struct RowCounts<'t, 's> {
    tile: &'t mut TileCounts<'s>,
    cells: &'t AsRated,
    values: &'t [&'t [f32]],
}

/// Cells by zone of the tile and number of a question.
#[derive(Debug)]
enum NumberCounts {
    /// As many places for each zone.
    Placed(usize, Vec<u32>),
    Looked(HashMap<(usize, u64), u32>),
}

impl ZoneCounts {
    /// Sums over no cell.
    #[must_use]
    pub fn new(shape: &GroundShape, zones: usize) -> ZoneCounts {
        ZoneCounts {
            tallies: Tallies::new(CellLayout::new(shape.species), zones),
            ground: GroundBook::new(shape, zones),
            areas_mm2: vec![0; zones],
        }
    }

    /// Adds the sums of a zone in one tile.
    pub fn add(&mut self, part: &CountedZone) {
        self.areas_mm2[part.zone as usize - 1] += part.area_mm2;
        self.tallies.add(part.zone, &part.tally);
        self.ground.add(part.zone, &part.ground);
    }
}

impl<'s> TileCounts<'s> {
    /// Sums over no cell; `numbers` tells how many numbers each question has.
    #[must_use]
    pub fn new(shape: &'s GroundShape, numbers: &[u64]) -> TileCounts<'s> {
        let places = |&count: &u64| match usize::try_from(count) {
            Ok(count @ ..=MOST_PLACES) => NumberCounts::Placed(count, Vec::new()),
            _ => NumberCounts::Looked(HashMap::new()),
        };
        TileCounts {
            shape,
            words: CellLayout::new(shape.species).words(),
            zones: Vec::new(),
            places: HashMap::new(),
            areas_mm2: Vec::new(),
            species: Vec::new(),
            factors: Vec::new(),
            questions: numbers.iter().map(places).collect(),
            stretches: Vec::new(),
            row: GroundRow::default(),
            arch: Arch::new(),
        }
    }

    /// Begins a row of rated cells; `values` gives one slice a factor.
    pub fn row<'t>(&'t mut self, cells: &'t AsRated, values: &'t [&'t [f32]]) -> RowCounts<'t, 's> {
        self.row.take(self.arch, &self.shape.measured, values);
        RowCounts {
            tile: self,
            cells,
            values,
        }
    }

    /// The sums of each zone.
    #[must_use]
    pub fn finish(mut self) -> Vec<CountedZone> {
        let mut factors = std::mem::take(&mut self.factors).into_iter();
        let species = self.species.chunks_exact_mut(self.words);
        let zones = self.zones.iter().enumerate().zip(species);
        let counted = zones.map(|((place, &zone), of_words)| {
            let [known, suits, bytes] = all_words(of_words, self.shape.species);
            let mut ground = ZoneGround::empty(self.shape);
            ground.factors = factors.by_ref().take(self.shape.measured.len()).collect();
            ground.questions = self.questions.iter().map(|numbers| numbers.of(place)).collect();
            ground.rating_bytes = bytes.into_iter().map(u64::from).collect();
            CountedZone {
                zone,
                area_mm2: self.areas_mm2[place],
                tally: PackedTally::pack(&known, &suits),
                ground: PackedGround::pack(&ground),
            }
        });
        counted.collect()
    }

    fn place(&mut self, zone: u32) -> usize {
        let next = self.zones.len();
        let place = *self.places.entry(zone).or_insert(next);
        if place == next {
            self.zones.push(zone);
            self.areas_mm2.push(0);
            self.species.resize((next + 1) * self.words, SpeciesSums::NONE);
            self.factors.extend(ZoneGround::empty(self.shape).factors);
            for question in &mut self.questions {
                if let NumberCounts::Placed(count, cells) = question {
                    cells.resize((next + 1) * *count, 0);
                }
            }
        }
        place
    }
}

impl RowCounts<'_, '_> {
    /// Adds the columns from one to another, all in one zone.
    ///
    /// A tile has at most 2^24 cells, so that no sum of bytes overflows.
    pub fn add_run(&mut self, zone: u32, area_mm2: u64, cols: std::ops::Range<usize>) {
        let RowCounts { tile, cells, values } = self;
        let place = tile.place(zone);
        tile.areas_mm2[place] += u128::from(area_mm2);
        cells.stretches_of(cols.clone(), &mut tile.stretches);
        tile.arch.dispatch(AddRun {
            cells,
            stretches: &tile.stretches,
            sums: &mut tile.species[place * tile.words..][..tile.words],
        });
        let factors = &mut tile.factors[place * values.len()..][..values.len()];
        tile.row.add(tile.arch, values, &cols, factors);
        for (counts, numbers) in tile.questions.iter_mut().zip(&cells.ground) {
            counts.add(place, numbers, &tile.stretches);
        }
    }
}

/// Known cells, suiting cells and sums of rating bytes of all species.
fn all_words(words: &mut [SpeciesSums], species: usize) -> [Vec<u32>; 3] {
    let mut all = [(); 3].map(|()| Vec::with_capacity(words.len() * WORD));
    for sums in words {
        for (all, sums) in all.iter_mut().zip(sums.finish()) {
            all.extend_from_slice(sums);
        }
    }
    for sums in &mut all {
        sums.truncate(species);
    }
    all
}

impl NumberCounts {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "numbers that have a place are few"
    )]
    fn add(&mut self, place: usize, numbers: &[u64], stretches: &[(usize, u32)]) {
        match self {
            NumberCounts::Placed(count, cells) => {
                let cells = &mut cells[place * *count..][..*count];
                for &(at, count) in stretches {
                    cells[numbers[at] as usize] += count;
                }
            }
            NumberCounts::Looked(cells) => {
                for &(at, count) in stretches {
                    *cells.entry((place, numbers[at])).or_default() += count;
                }
            }
        }
    }

    fn of(&self, place: usize) -> Counts {
        match self {
            NumberCounts::Placed(count, cells) => {
                let cells = (0..).zip(&cells[place * count..][..*count]);
                let met = cells.filter(|&(_, &cells)| cells > 0);
                met.map(|(number, &cells)| (number, u64::from(cells))).collect()
            }
            NumberCounts::Looked(cells) => {
                let here = cells.iter().filter(|((at, _), _)| *at == place);
                here.map(|(&(_, number), &cells)| (number, u64::from(cells)))
                    .collect()
            }
        }
    }
}

#[cfg(test)]
#[path = "tile_counts_tests.rs"]
mod tests;
