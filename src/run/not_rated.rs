//! Area inside the boundary that is not rated, by cause, and area that is rated
//! without a factor whose missing values are ignored.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::picture_so_far::CauseCounts;
use super::prepared::Prepared;
use crate::project::{FactorSource, Missing};
use crate::rating::{AsRated, Questions};
use crate::site::{EXCLUDED, OUTSIDE, TO_RATE, TileValues};

/// Cells and area of one cause.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct CellsAndArea {
    /// Number of cells.
    pub cells: u64,
    /// Geodesic area in square millimetres, as cells add up.
    pub area_mm2: u128,
}

/// Areas by cause, and the area that is rated.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct NotRated {
    /// What is rated.
    pub rated: CellsAndArea,
    /// What is not, by cause.
    pub causes: BTreeMap<String, CellsAndArea>,
    /// Rated area on which a factor has no value and is not counted, as the project
    /// asks; by factor.
    pub ignored: BTreeMap<String, CellsAndArea>,
    /// Rated area on which plants must stay low or thin; by limit.
    #[serde(default)]
    pub limited: BTreeMap<String, CellsAndArea>,
}

/// A row of a tile, rated.
pub struct TileRow<'t> {
    /// The tile.
    pub values: &'t TileValues,
    /// The row, counted from the tile's first.
    pub row: usize,
    /// Its values, one slice a factor.
    pub factors: &'t [&'t [f32]],
    /// Why each cell is or is not to be rated.
    pub statuses: &'t [u8],
    /// Its cells as rated.
    pub cells: &'t AsRated,
}

impl NotRated {
    /// Counts the cells of a row of a tile, here by area and in `places`, if any are given,
    /// by where they lie.
    pub fn count_row(&mut self, prepared: &Prepared, tile: &TileRow, mut places: Option<&mut CauseCounts>) {
        let window = tile.values.window;
        let excludes: Vec<&str> = prepared.site.exclude_names().collect();
        let factors = prepared.questions.factors();
        let may_be_ignored: Vec<usize> = (0..factors.len())
            .filter(|&factor| factors[factor].missing == Missing::Ignore)
            .collect();
        let sections = prepared.project.factors.iter().enumerate();
        let limits: Vec<usize> = sections
            .filter(|(_, section)| matches!(section.source, FactorSource::Limit { .. }))
            .map(|(index, _)| index)
            .collect();
        let polygon_layers = prepared.site.polygon_layers_of_factors();
        let overlaps = |factor: usize, col: usize| {
            let overlapping = polygon_layers[factor].and_then(|layer| tile.values.overlapping.get(&layer));
            overlapping.is_some_and(|raster| raster.row(tile.row)[col] == 1)
        };
        let areas = prepared.site.cell_areas().row(window.row + tile.row);
        let area = |from: usize, to: usize| CellsAndArea {
            cells: (to - from) as u64,
            area_mm2: areas.run_mm2(window.col + from, window.col + to).into(),
        };
        let known = any_known(tile.cells);
        let cause = |col: usize| match tile.statuses[col] {
            OUTSIDE => Cause::Outside,
            TO_RATE if known[col] => Cause::Rated,
            TO_RATE => match lacking(&prepared.questions, |factor| tile.factors[factor][col].is_nan()) {
                Some(factor) if overlaps(factor, col) => Cause::Overlap(factor),
                Some(factor) => Cause::Lacks(factor),
                None => Cause::NoOpinion,
            },
            excluded => Cause::Excluded(usize::from(excluded - EXCLUDED)),
        };
        let mut count = |cause, from: usize, to: usize| {
            let name = match cause {
                Cause::Outside => {
                    if let Some(places) = &mut places {
                        places.outside(tile.row, from, to);
                    }
                    return;
                }
                Cause::Rated => String::new(),
                Cause::Excluded(index) => format!("excluded: {}", excludes[index]),
                Cause::Overlap(factor) => format!("polygons of {} overlap", factors[factor].factor.id),
                Cause::Lacks(factor) => format!("no value of {}", factors[factor].factor.id),
                Cause::NoOpinion => "no species has an opinion on this ground".to_owned(),
            };
            if cause != Cause::Rated {
                if let Some(places) = &mut places {
                    places.not_rated(&name, tile.row, from, to);
                }
                self.causes.entry(name).or_default().add(area(from, to));
                return;
            }
            self.rated.add(area(from, to));
            for &factor in &limits {
                let is_limited = |col: usize| tile.factors[factor][from + col] > 0.0;
                each_stretch(to - from, is_limited, |limited, start, end| {
                    if limited {
                        let id = factors[factor].factor.id.clone();
                        let sums = self.limited.entry(id).or_default();
                        sums.add(area(from + start, from + end));
                    }
                });
            }
            for &factor in &may_be_ignored {
                let missing = |col: usize| tile.factors[factor][from + col].is_nan();
                each_stretch(to - from, missing, |missing, start, end| {
                    if missing {
                        let id = factors[factor].factor.id.clone();
                        let sums = self.ignored.entry(id).or_default();
                        sums.add(area(from + start, from + end));
                    }
                });
            }
        };
        // Of most rows every cell is rated.
        if known.iter().all(|&known| known) && tile.statuses.iter().all(|&status| status == TO_RATE) {
            count(Cause::Rated, 0, window.cols);
        } else {
            each_stretch(window.cols, cause, count);
        }
    }

    /// Adds what another part of the site has.
    pub fn add(&mut self, other: &NotRated) {
        self.rated.add(other.rated);
        for (sums, others) in [
            (&mut self.causes, &other.causes),
            (&mut self.ignored, &other.ignored),
            (&mut self.limited, &other.limited),
        ] {
            for (name, &more) in others {
                sums.entry(name.clone()).or_default().add(more);
            }
        }
    }
}

impl CellsAndArea {
    fn add(&mut self, other: CellsAndArea) {
        self.cells += other.cells;
        self.area_mm2 += other.area_mm2;
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Cause {
    Outside,
    Rated,
    Excluded(usize),
    Overlap(usize),
    Lacks(usize),
    NoOpinion,
}

/// For each cell whether any species is known in it.
fn any_known(cells: &AsRated) -> Vec<bool> {
    let stretches = cells.ends().len();
    let mut known = Vec::with_capacity(cells.ends().last().copied().unwrap_or(0));
    for (place, &end) in cells.ends().iter().enumerate() {
        let mut words = cells.known.iter().skip(place).step_by(stretches);
        known.resize(end, words.any(|&word| word != 0));
    }
    known
}

/// The factor to blame for a cell in which nothing is known: the first that leaves a
/// decisive question without any value, else the first without a value on which a
/// species has an opinion; nothing where the profiles lack and not the ground.
fn lacking(questions: &Questions, is_missing: impl Fn(usize) -> bool) -> Option<usize> {
    let factors = questions.factors();
    let lacks = |&factor: &usize| is_missing(factor) && factors[factor].missing == Missing::Unknown;
    let has_opinion = |factor: usize| {
        (0..questions.species_count()).any(|species| !questions.opinions(species, factor).is_empty())
    };
    let mut decisive = questions.questions().iter().filter(|question| question.decisive);
    decisive
        .find(|question| {
            question.members.iter().all(|&factor| is_missing(factor)) && question.members.iter().any(lacks)
        })
        .and_then(|question| question.members.iter().copied().find(lacks))
        .or_else(|| (0..factors.len()).find(|factor| lacks(factor) && has_opinion(*factor)))
}

/// Calls `visit` with each stretch of columns that have one key.
fn each_stretch<K: PartialEq + Copy>(
    cols: usize,
    key: impl Fn(usize) -> K,
    mut visit: impl FnMut(K, usize, usize),
) {
    let mut from = 0;
    while from < cols {
        let this = key(from);
        let to = (from + 1..cols).find(|&col| key(col) != this).unwrap_or(cols);
        visit(this, from, to);
        from = to;
    }
}

#[cfg(test)]
#[path = "not_rated_tests.rs"]
mod tests;
