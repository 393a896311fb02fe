//! Phase 1 of merging: regions too small to stand join their cheapest neighbour,
//! all at once, in rounds with rising thresholds. Regions come in, zones with sums
//! and borders go out; knows neither lists nor fidelity.

use rayon::prelude::*;

use super::listing::ListingRules;
use super::pieces::Pieces;
use super::regions::{Border, Regions, tidy_borders};
use super::runs::narrow;
use super::share::Share;
use super::tally::{SpeciesCells, Tallies};
use super::voted_sums::VotedSums;
use crate::grid::CellIndex;

const NONE: u32 = u32::MAX;

/// The zones after phase 1, numbered from 1 in the order of their first cells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhaseOne {
    /// Number of species.
    pub species: usize,
    /// The zone of each region; entry 0, for cells not rated, is 0.
    pub zone_of_region: Vec<u32>,
    /// Cells of zone `n` at `n - 1`.
    pub cells: Vec<u64>,
    /// First cell of zone `n` at `n - 1`, in row-major order.
    pub first_cells: Vec<CellIndex>,
    /// For each zone and species, 2 for each cell that suits and 1 for each that
    /// is unknown, of the cells as voted.
    pub sums: VotedSums,
    /// Every pair of zones that shares an edge, sorted.
    pub borders: Vec<Border>,
    /// Regions under the smallest size that joined another.
    pub absorbed_regions: u64,
    /// Cells of those.
    pub absorbed_cells: u64,
    /// Zones under the smallest size that have no neighbour.
    pub islands: u64,
    /// Cells of those.
    pub island_cells: u64,
    /// Rounds that changed something.
    pub rounds: u32,
}

impl PhaseOne {
    /// Number of zones.
    #[must_use]
    pub fn len(&self) -> usize {
        self.cells.len()
    }

    /// Whether there is no zone.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.cells.is_empty()
    }
}

/// Joins every region under `smallest_cells` cells to a neighbour.
///
/// # Method
/// Rounds with thresholds of 2, 4, 8 and so on doubled, the last `smallest_cells`
/// itself; at each threshold until a round changes nothing. In a round each piece
/// with fewer cells than the threshold joins the neighbour that costs least
/// ([`Cost`](super::Cost)); ties go to the longer border, then to the lower first
/// cell. All joins of a round are chosen on the state before it. Pieces without a
/// neighbour stay.
#[must_use]
pub fn absorb(regions: &Regions, smallest_cells: u64) -> PhaseOne {
    let mut pieces = Pieces::of_regions(regions);
    // Within, pieces count from 0.
    let mut piece_of_region: Vec<u32> = (0..narrow(regions.len())).collect();
    let mut borders: Vec<Border> = regions
        .borders
        .par_iter()
        .map(|border| Border {
            a: border.a - 1,
            b: border.b - 1,
            length: border.length,
        })
        .collect();
    let mut rounds = 0;
    for threshold in thresholds(smallest_cells) {
        while let Some(join) = choose(&pieces, &borders, threshold) {
            rounds += 1;
            pieces = pieces.joined(&join.starts, &join.members);
            piece_of_region
                .par_iter_mut()
                .for_each(|piece| *piece = join.to[*piece as usize]);
            borders.par_iter_mut().for_each(|border| {
                *border = Border::between(
                    join.to[border.a as usize],
                    join.to[border.b as usize],
                    border.length,
                );
            });
            borders.retain(|border| border.a != border.b);
            tidy_borders(&mut borders);
        }
    }
    borders.par_iter_mut().for_each(|border| {
        border.a += 1;
        border.b += 1;
    });
    finished(regions, &pieces, piece_of_region, borders, smallest_cells, rounds)
}

fn finished(
    regions: &Regions,
    pieces: &Pieces,
    piece_of_region: Vec<u32>,
    borders: Vec<Border>,
    smallest_cells: u64,
    rounds: u32,
) -> PhaseOne {
    let species = regions.book.layout().species();
    let mut first_cells: Vec<CellIndex> = Vec::with_capacity(pieces.len());
    let (mut absorbed_regions, mut absorbed_cells) = (0, 0);
    for (region, &piece) in regions.regions.iter().zip(&piece_of_region) {
        // Pieces are in the order of their first regions.
        if piece as usize == first_cells.len() {
            first_cells.push(region.first_cell());
        }
        if u64::from(region.cells) < smallest_cells && pieces.cells()[piece as usize] > region.cells {
            absorbed_regions += 1;
            absorbed_cells += u64::from(region.cells);
        }
    }
    let small = pieces
        .cells()
        .iter()
        .map(|&cells| u64::from(cells))
        .filter(|&cells| cells < smallest_cells);
    let mut zone_of_region = piece_of_region;
    zone_of_region.par_iter_mut().for_each(|zone| *zone += 1);
    zone_of_region.insert(0, 0);
    PhaseOne {
        species,
        zone_of_region,
        cells: pieces.cells().iter().map(|&cells| u64::from(cells)).collect(),
        first_cells,
        sums: pieces.all_sums(species),
        borders,
        absorbed_regions,
        absorbed_cells,
        islands: small.clone().count() as u64,
        island_cells: small.sum(),
        rounds,
    }
}

fn thresholds(smallest_cells: u64) -> Vec<u64> {
    let doubled = std::iter::successors(Some(2_u64), |threshold| threshold.checked_mul(2));
    let mut thresholds: Vec<u64> = doubled
        .take_while(|&threshold| threshold < smallest_cells)
        .collect();
    if smallest_cells > 1 {
        thresholds.push(smallest_cells);
    }
    thresholds
}

/// What one round joins.
struct Join {
    /// New number of each old piece.
    to: Vec<u32>,
    /// Where the members of each new piece start, and one past the last.
    starts: Vec<u32>,
    /// Old pieces by new piece.
    members: Vec<u32>,
}

/// The joins of a round, or nothing when no piece under the threshold has a
/// neighbour.
fn choose(pieces: &Pieces, borders: &[Border], threshold: u64) -> Option<Join> {
    let is_small = |piece: u32| u64::from(pieces.cells()[piece as usize]) < threshold;
    let neighbours = Neighbours::of(pieces.len(), borders, is_small);
    let chosen: Vec<u32> = (0..narrow(pieces.len()))
        .into_par_iter()
        .with_min_len(1024)
        .map(|piece| cheapest(pieces, piece, neighbours.of_piece(piece)))
        .collect();
    if chosen.par_iter().all(|&target| target == NONE) {
        return None;
    }
    let mut parents: Vec<u32> = (0..narrow(pieces.len())).collect();
    for (piece, &target) in (0..).zip(&chosen) {
        if target != NONE {
            let (one, other) = (root(&mut parents, piece), root(&mut parents, target));
            parents[one.max(other) as usize] = one.min(other);
        }
    }
    // A parent is never higher than its child: the order of roots is that of first
    // cells.
    let mut to = vec![0; parents.len()];
    let mut starts: Vec<u32> = vec![0];
    for piece in 0..parents.len() {
        if parents[piece] as usize == piece {
            to[piece] = narrow(starts.len() - 1);
            starts.push(0);
        } else {
            to[piece] = to[parents[piece] as usize];
        }
        starts[to[piece] as usize + 1] += 1;
    }
    for new in 1..starts.len() {
        starts[new] += starts[new - 1];
    }
    let mut next = starts.clone();
    let mut members = vec![0; to.len()];
    for (old, &new) in (0..).zip(&to) {
        members[next[new as usize] as usize] = old;
        next[new as usize] += 1;
    }
    Some(Join { to, starts, members })
}

fn root(parents: &mut [u32], mut piece: u32) -> u32 {
    while parents[piece as usize] != piece {
        let above = parents[parents[piece as usize] as usize];
        parents[piece as usize] = above;
        piece = above;
    }
    piece
}

fn cheapest(pieces: &Pieces, piece: u32, neighbours: &[(u32, u32)]) -> u32 {
    match neighbours {
        [] => NONE,
        [(only, _)] => *only,
        [(first, length), rest @ ..] => {
            let (mut best, mut longest, mut least) = (*first, *length, pieces.cost(piece, *first));
            for &(neighbour, length) in rest {
                let cost = pieces.cost(piece, neighbour);
                // Neighbours come in the order of their first cells.
                if cost.cmp(&least).then(longest.cmp(&length)).is_lt() {
                    (best, longest, least) = (neighbour, length, cost);
                }
            }
            best
        }
    }
}

/// The neighbours of the small pieces with the length of the border, in the order
/// of their numbers.
struct Neighbours {
    starts: Vec<usize>,
    neighbours: Vec<(u32, u32)>,
}

impl Neighbours {
    fn of(pieces: usize, borders: &[Border], is_small: impl Fn(u32) -> bool) -> Neighbours {
        let mut starts = vec![0; pieces + 1];
        for border in borders {
            starts[border.a as usize + 1] += usize::from(is_small(border.a));
            starts[border.b as usize + 1] += usize::from(is_small(border.b));
        }
        for piece in 0..pieces {
            starts[piece + 1] += starts[piece];
        }
        let mut next = starts.clone();
        let mut neighbours = vec![(0, 0); starts[pieces]];
        // Borders are sorted by pair, so each list comes out sorted.
        for border in borders {
            for (piece, neighbour) in [(border.b, border.a), (border.a, border.b)] {
                if is_small(piece) {
                    neighbours[next[piece as usize]] = (neighbour, border.length);
                    next[piece as usize] += 1;
                }
            }
        }
        Neighbours { starts, neighbours }
    }

    fn of_piece(&self, piece: u32) -> &[(u32, u32)] {
        &self.neighbours[self.starts[piece as usize]..self.starts[piece as usize + 1]]
    }
}

/// What phase 1 absorbed although it differs from the list it came under.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize)]
pub struct AbsorbedAgainstKeep {
    /// Regions.
    pub regions: u64,
    /// Their cells.
    pub cells: u64,
}

/// Counts the absorbed regions whose similarity (Sorensen, over the species known
/// in the region) to the list of their zone is under `keep`.
#[must_use]
pub fn absorbed_against_keep(
    regions: &Regions,
    phase_one: &PhaseOne,
    tallies: &Tallies,
    rules: &ListingRules,
    keep: Share,
    smallest_cells: u64,
) -> AbsorbedAgainstKeep {
    let words = regions.book.layout().words();
    let lists: Vec<u64> = (1..=narrow(phase_one.len()))
        .into_par_iter()
        .map_init(SpeciesCells::default, |counts, zone| {
            let mut list = vec![0; words];
            tallies.read(zone, counts);
            let counts = counts.known.iter().zip(&counts.suits).enumerate();
            for (species, (&known, &suits)) in counts {
                if rules.lists(phase_one.cells[zone as usize - 1], known.into(), suits.into()) {
                    list[species / 64] |= 1 << (species % 64);
                }
            }
            list
        })
        .flatten_iter()
        .collect();
    let mut told = AbsorbedAgainstKeep::default();
    for (region, &zone) in regions.regions.iter().zip(&phase_one.zone_of_region[1..]) {
        let zone = zone as usize - 1;
        let cells = u64::from(region.cells);
        if cells >= smallest_cells || phase_one.cells[zone] == cells {
            continue;
        }
        let list = &lists[zone * words..(zone + 1) * words];
        let (mut both, mut either) = (0, 0);
        for (list, (suits, unknown)) in list.iter().zip(
            regions
                .book
                .suits(region.set)
                .iter()
                .zip(regions.book.unknown(region.set)),
        ) {
            both += u64::from((list & suits).count_ones());
            either += u64::from((list & !unknown).count_ones() + suits.count_ones());
        }
        if !keep.is_reached_by(2 * both, either) {
            told.regions += 1;
            told.cells += cells;
        }
    }
    told
}

#[cfg(test)]
#[path = "absorb_tests.rs"]
pub(crate) mod tests;
