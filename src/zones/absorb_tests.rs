//! Phase 1 against a plain loop over labelled cells, and small drawings.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "the sites of these tests are small"
)]

use std::cmp::Ordering;
use std::collections::BTreeMap;

use proptest::prelude::*;

use super::*;
use crate::zones::regions::tests::push_cells;
use crate::zones::{CellLayout, Regions, RegionsBuilder};

pub(crate) fn build(layout: CellLayout, rows: usize, cols: usize, cells: &[u64]) -> Regions {
    let mut builder = RegionsBuilder::new(layout, rows, cols).unwrap();
    push_cells(&mut builder, layout, cols, cells).unwrap();
    builder.finish().unwrap()
}

/// Regions of a drawing with `species` species: each letter has its own words.
fn drawn(layout: CellLayout, text: &str, words: &[(char, u64, u64)]) -> Regions {
    let rows: Vec<&str> = text.lines().map(str::trim).collect();
    let cell = |letter: char| {
        let words = words.iter().find(|words| words.0 == letter);
        words.map_or_else(
            || layout.not_rated(),
            |words| vec![words.1, words.2 | layout.beyond()],
        )
    };
    let cells: Vec<u64> = rows.iter().flat_map(|row| row.chars()).flat_map(cell).collect();
    build(layout, rows.len(), rows[0].len(), &cells)
}

/// The sums of all zones, zones x species.
fn all_sums(phase_one: &PhaseOne) -> Vec<u32> {
    let zones = phase_one.cells.iter().enumerate();
    zones
        .flat_map(|(at, &cells)| phase_one.sums.sums(at, cells as u32))
        .collect()
}

struct PlainZone {
    cells: u64,
    sums: Vec<u64>,
}

/// The cost as a fraction; sites are so small that nothing overflows.
fn plain_cost(one: &PlainZone, other: &PlainZone) -> (u128, u128) {
    let (a1, a2) = (u128::from(one.cells), u128::from(other.cells));
    let squares = one.sums.iter().zip(&other.sums).map(|(&q1, &q2)| {
        let difference = (u128::from(q1) * a2).abs_diff(u128::from(q2) * a1);
        difference * difference
    });
    (squares.sum(), 4 * a1 * a2 * (a1 + a2))
}

/// The zone of every region (by lowest region), worked out with plain maps.
fn plain_absorb(regions: &Regions, smallest: u64, species: usize) -> (Vec<u32>, u32) {
    let mut zone_of: Vec<u32> = (0..=regions.len() as u32).collect();
    let mut rounds = 0;
    let mut thresholds: Vec<u64> = (1..40)
        .map(|power| 1 << power)
        .filter(|&two| two < smallest)
        .collect();
    thresholds.push(smallest);
    for threshold in thresholds {
        loop {
            let mut zones: BTreeMap<u32, PlainZone> = BTreeMap::new();
            for (at, region) in regions.regions.iter().enumerate() {
                let zone = zones.entry(zone_of[at + 1]).or_insert(PlainZone {
                    cells: 0,
                    sums: vec![0; species],
                });
                zone.cells += u64::from(region.cells);
                for (of, sum) in zone.sums.iter_mut().enumerate() {
                    let bit = |words: &[u64]| words[of / 64] >> (of % 64) & 1;
                    *sum += u64::from(region.cells)
                        * (2 * bit(regions.book.suits(region.set)) + bit(regions.book.unknown(region.set)));
                }
            }
            let mut lengths: BTreeMap<(u32, u32), u32> = BTreeMap::new();
            for border in &regions.borders {
                let (a, b) = (zone_of[border.a as usize], zone_of[border.b as usize]);
                if a != b {
                    *lengths.entry((a, b)).or_default() += border.length;
                    *lengths.entry((b, a)).or_default() += border.length;
                }
            }
            let mut joins: Vec<(u32, u32)> = Vec::new();
            for (&zone, counts) in zones.iter().filter(|(_, counts)| counts.cells < threshold) {
                let near = lengths.range((zone, 0)..(zone + 1, 0));
                let chosen = near.min_by(|((_, one), one_length), ((_, other), other_length)| {
                    let (n1, d1) = plain_cost(counts, &zones[one]);
                    let (n2, d2) = plain_cost(counts, &zones[other]);
                    (n1 * d2)
                        .cmp(&(n2 * d1))
                        .then(other_length.cmp(one_length))
                        .then(one.cmp(other))
                });
                joins.extend(chosen.map(|((_, other), _)| (zone, *other)));
            }
            if joins.is_empty() {
                break;
            }
            rounds += 1;
            for (zone, other) in joins {
                let (one, other) = (zone_of[zone as usize], zone_of[other as usize]);
                for zone in &mut zone_of {
                    if *zone == one.max(other) {
                        *zone = one.min(other);
                    }
                }
            }
        }
    }
    (zone_of, rounds)
}

/// Numbers zones in the order in which they come.
fn renumbered(zone_of: &[u32]) -> Vec<u32> {
    let mut numbers = BTreeMap::new();
    zone_of[1..]
        .iter()
        .map(|zone| {
            let next = numbers.len() as u32 + 1;
            *numbers.entry(*zone).or_insert(next)
        })
        .collect()
}

/// A noisy site: words of a few species on a small grid.
pub(crate) fn noisy_site() -> impl Strategy<Value = (CellLayout, usize, usize, Vec<u64>)> {
    (
        prop::sample::select(vec![1_usize, 3, 65, 130]),
        1_usize..9,
        1_usize..9,
    )
        .prop_flat_map(|(species, rows, cols)| {
            let layout = CellLayout::new(species);
            let kinds = prop::collection::vec((0_u8..8, any::<u64>(), any::<u64>()), rows * cols);
            kinds.prop_map(move |kinds| {
                let mut cells: Vec<u64> = Vec::new();
                for (kind, suits, unknown) in kinds {
                    // Few sets, so that regions of several cells arise.
                    let (suits, unknown) = match kind {
                        0 => (0, !0),
                        1..5 => (u64::from(kind) * 3, 0),
                        _ => (
                            suits & 7 & (suits >> 3),
                            unknown & 7 & (unknown >> 3) & (unknown >> 6),
                        ),
                    };
                    for words in [suits, unknown] {
                        cells.extend((0..layout.words()).map(|word| words.rotate_left(word as u32 * 3)));
                    }
                }
                cells
                    .chunks_exact_mut(layout.cell_words())
                    .for_each(|cell| layout.mend(cell));
                (layout, rows, cols, cells)
            })
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    #[test]
    fn rounds_are_those_of_a_plain_loop((layout, rows, cols, cells) in noisy_site(), smallest in 0_u64..20) {
        let regions = build(layout, rows, cols, &cells);
        let phase_one = absorb(&regions, smallest);
        let (zone_of, rounds) = plain_absorb(&regions, smallest, layout.species());
        prop_assert_eq!(&phase_one.zone_of_region[1..], renumbered(&zone_of));
        prop_assert_eq!(phase_one.rounds, rounds);

        // Cells, sums, first cells and borders are those of the labelled cells.
        let labels = regions.rows.relabelled(&phase_one.zone_of_region);
        prop_assert_eq!(&crate::zones::borders_of(&labels), &phase_one.borders);
        let mut counted = vec![0_u64; phase_one.len()];
        let mut sums = vec![0_u32; phase_one.len() * layout.species()];
        let mut first = vec![None; phase_one.len()];
        for row in 0..rows {
            for col in 0..cols {
                let label = labels.label(row, col as u32) as usize;
                if label == 0 { continue; }
                counted[label - 1] += 1;
                first[label - 1].get_or_insert(CellIndex { row, col });
                let cell = &cells[(row * cols + col) * layout.cell_words()..];
                for species in 0..layout.species() {
                    let bit = |words: &[u64]| (words[species / 64] >> (species % 64) & 1) as u32;
                    sums[(label - 1) * layout.species() + species] += 2 * bit(cell) + bit(&cell[layout.words()..]);
                }
            }
        }
        prop_assert_eq!(&counted, &phase_one.cells);
        prop_assert_eq!(sums, all_sums(&phase_one));
        prop_assert_eq!(first.into_iter().flatten().collect::<Vec<_>>(), phase_one.first_cells.clone());
        let small = counted.iter().filter(|&&cells| cells < smallest);
        prop_assert_eq!(small.count() as u64, phase_one.islands);
    }
}

#[test]
fn a_speck_joins_the_neighbour_it_is_most_like() {
    let layout = CellLayout::new(3);
    let words = [('a', 0b111, 0), ('b', 0b110, 0), ('c', 0b000, 0)];
    let regions = drawn(layout, "aaaccc\naaabcc\naaaccc", &words);
    let phase_one = absorb(&regions, 2);
    assert_eq!(phase_one.cells, [10, 8]);
    assert_eq!((phase_one.absorbed_regions, phase_one.absorbed_cells), (1, 1));
    assert_eq!(all_sums(&phase_one), [18, 20, 20, 0, 0, 0]);
}

#[test]
fn at_equal_cost_the_longer_border_wins_then_the_lower_first_cell() {
    let layout = CellLayout::new(2);
    let words = [('a', 0b01, 0), ('b', 0b10, 0), ('s', 0b00, 0)];
    // Four cells each; the speck touches a once, b twice.
    let longer = absorb(&drawn(layout, "a...\naasb\na.bb\n...b", &words), 2);
    assert_eq!(longer.cells, [4, 5]);
    let even = absorb(&drawn(layout, "aasbb", &words), 2);
    assert_eq!(even.cells, [3, 2]);
}

#[test]
fn unknown_lies_half_way() {
    let layout = CellLayout::new(1);
    let words = [('y', 1, 0), ('n', 0, 0), ('?', 0, 1)];
    // A cell that does not suit costs a full square beside suiting ones; one that
    // is unknown would not be rated at all with one species.
    assert_eq!(drawn(layout, "yy?nn", &words).len(), 2);
    let layout = CellLayout::new(2);
    let words = [('y', 0b11, 0), ('n', 0b10, 0), ('?', 0b10, 0b01)];
    let regions = drawn(layout, "yyyy?nnn", &words);
    // 4/5 x 1/4 against 3/4 x 1/4: the smaller neighbour is cheaper.
    assert_eq!(absorb(&regions, 2).cells, [4, 4]);
}

#[test]
fn islands_stay_and_are_counted() {
    let layout = CellLayout::new(1);
    let words = [('y', 1, 0), ('n', 0, 0)];
    let phase_one = absorb(&drawn(layout, "y.nn\n..nn", &words), 3);
    assert_eq!(phase_one.cells, [1, 4]);
    assert_eq!((phase_one.islands, phase_one.island_cells), (1, 1));
    assert_eq!((phase_one.absorbed_regions, phase_one.rounds), (0, 0));
}

#[test]
fn nothing_joins_when_the_smallest_is_none_or_one() {
    let layout = CellLayout::new(1);
    let regions = drawn(layout, "yn\nny", &[('y', 1, 0), ('n', 0, 0)]);
    for smallest in [0, 1] {
        assert_eq!(absorb(&regions, smallest).zone_of_region, [0, 1, 2, 3, 4]);
    }
    assert_eq!(absorb(&regions, u64::MAX).cells, [4]);
    let empty = absorb(&drawn(layout, "..", &[]), 10);
    assert!(empty.is_empty());
    assert_eq!(empty.zone_of_region, [0]);
}

#[test]
fn what_is_absorbed_against_keep_is_told_by_area() {
    let layout = CellLayout::new(2);
    let words = [('a', 0b01, 0), ('b', 0b11, 0), ('c', 0b10, 0)];
    let regions = drawn(layout, "aaaaab\naaaaac", &words);
    let phase_one = absorb(&regions, 3);
    assert_eq!(phase_one.cells, [12]);
    let mut tallies = Tallies::new(layout, 1);
    for region in &regions.regions {
        let book = &regions.book;
        tallies.add_cells(1, book.suits(region.set), book.unknown(region.set), region.cells);
    }
    // The list is species 1 alone. Region b: 2 x 1 / (2 + 0 + 1) = 0.67; region c: 0.
    let rules = ListingRules::default();
    let against = |keep| {
        absorbed_against_keep(
            &regions,
            &phase_one,
            &tallies,
            &rules,
            Share::new(keep).unwrap(),
            3,
        )
    };
    assert_eq!(against(0.6), AbsorbedAgainstKeep { regions: 1, cells: 1 });
    assert_eq!(against(0.7), AbsorbedAgainstKeep { regions: 2, cells: 2 });
    assert_eq!(against(0.0), AbsorbedAgainstKeep::default());
}

#[test]
fn the_same_zones_come_from_any_number_of_threads() {
    let layout = CellLayout::new(60);
    let mut state = 7_u64;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        state >> 33
    };
    let cells: Vec<u64> = (0..120 * 120)
        .flat_map(|_| {
            [
                next() & next() & 0xff,
                layout.beyond() | (next() & next() & next() & 0xf),
            ]
        })
        .collect();
    let run = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| absorb(&build(layout, 120, 120, &cells), 40))
    };
    let one = run(1);
    assert!(one.len() > 10, "{} zones", one.len());
    assert_eq!(one, run(3));
    assert_eq!(one.cells.iter().max().cmp(&Some(&40)), Ordering::Greater);
}
