//! Phase 2 against a plain recomputation of all pairs at each step.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "the sites of these tests are small"
)]

use std::collections::BTreeMap;

use proptest::prelude::*;

use super::*;
use crate::zones::absorb::tests::{build, noisy_site};
use crate::zones::{CellLayout, Regions, absorb};
use crate::zones::{ListingRules, Share};

/// The merges of zones that keep their borders.
pub(crate) fn merged(
    phase_one: &PhaseOne,
    tallies: &Tallies,
    rules: &MergeRules,
) -> Result<MergeSequence, ZonesError> {
    merge_zones(phase_one, phase_one.borders.clone(), tallies, rules)
}

fn merged_with_hubs(
    phase_one: &PhaseOne,
    tallies: &Tallies,
    rules: &MergeRules,
    hub_neighbours: usize,
) -> MergeSequence {
    let borders = phase_one.borders.clone();
    merge_with_hubs(phase_one, borders, tallies, rules, hub_neighbours)
}

/// Tallies of the cells as they are, without a vote between.
pub(crate) fn tallies_of(regions: &Regions, phase_one: &PhaseOne) -> Tallies {
    let mut tallies = Tallies::new(regions.book.layout(), phase_one.len());
    for (region, &zone) in regions.regions.iter().zip(&phase_one.zone_of_region[1..]) {
        let book = &regions.book;
        tallies.add_cells(
            zone,
            book.suits(region.set),
            book.unknown(region.set),
            region.cells,
        );
    }
    tallies
}

pub(crate) fn rules(keep: f64) -> MergeRules {
    MergeRules {
        listing: ListingRules::default(),
        keep: Share::new(keep).unwrap(),
    }
}

#[derive(Clone)]
struct Plain {
    cells: u64,
    sums: Vec<u64>,
    known: Vec<u64>,
    suits: Vec<u64>,
}

fn add(one: &[u64], other: &[u64]) -> Vec<u64> {
    one.iter().zip(other).map(|(one, other)| one + other).collect()
}

impl Plain {
    fn with(&self, other: &Plain) -> Plain {
        Plain {
            cells: self.cells + other.cells,
            sums: add(&self.sums, &other.sums),
            known: add(&self.known, &other.known),
            suits: add(&self.suits, &other.suits),
        }
    }

    fn list(&self) -> Vec<bool> {
        (0..self.known.len())
            .map(|at| {
                self.known[at] > 0 && 2 * self.known[at] >= self.cells && 2 * self.suits[at] >= self.known[at]
            })
            .collect()
    }

    /// TP, FP and FN against a list.
    fn against(&self, list: &[bool]) -> (u64, u64, u64) {
        let mut counts = (0, 0, 0);
        for (at, &is_listed) in list.iter().enumerate() {
            if is_listed {
                counts.0 += self.suits[at];
                counts.1 += self.known[at] - self.suits[at];
            } else {
                counts.2 += self.suits[at];
            }
        }
        counts
    }

    fn is_kept(&self, list: &[bool], keep_percent: u64) -> bool {
        let (both, too_many, missed) = self.against(list);
        let whole = 2 * both + too_many + missed;
        whole == 0 || 200 * both >= keep_percent * whole
    }
}

/// A cost as a fraction, the length of the border, the pair.
type Candidate = ((u128, u128), u32, (u32, u32));

fn plain_merges(phase_one: &PhaseOne, tallies: &Tallies, keep_percent: u64) -> Vec<(u32, u32, u64, u64)> {
    let wide = |counts: &[u32]| counts.iter().map(|&count| u64::from(count)).collect();
    let mut zones: BTreeMap<u32, Plain> = (1..=phase_one.len() as u32)
        .map(|zone| {
            let at = zone as usize - 1;
            let sums = wide(&phase_one.sums.sums(at, phase_one.cells[at] as u32));
            let counts = tallies.counts(zone);
            let (known, suits) = (wide(&counts.known), wide(&counts.suits));
            (
                zone,
                Plain {
                    cells: phase_one.cells[at],
                    sums,
                    known,
                    suits,
                },
            )
        })
        .collect();
    let mut borders: BTreeMap<(u32, u32), u32> = phase_one
        .borders
        .iter()
        .map(|border| ((border.a, border.b), border.length))
        .collect();
    let mut merges = Vec::new();
    loop {
        let mut best: Option<Candidate> = None;
        for (&(a, b), &length) in &borders {
            let (one, other) = (&zones[&a], &zones[&b]);
            let list = one.with(other).list();
            if !one.is_kept(&list, keep_percent) || !other.is_kept(&list, keep_percent) {
                continue;
            }
            let (a1, a2) = (u128::from(one.cells), u128::from(other.cells));
            let squares: u128 = one
                .sums
                .iter()
                .zip(&other.sums)
                .map(|(&q1, &q2)| {
                    let difference = (u128::from(q1) * a2).abs_diff(u128::from(q2) * a1);
                    difference * difference
                })
                .sum();
            let cost = (squares, a1 * a2 * (a1 + a2));
            let comes_first = best.is_none_or(|(least, longest, pair)| {
                (cost.0 * least.1)
                    .cmp(&(least.0 * cost.1))
                    .then(longest.cmp(&length))
                    .then((a, b).cmp(&pair))
                    .is_lt()
            });
            if comes_first {
                best = Some((cost, length, (a, b)));
            }
        }
        let Some((_, _, (a, b))) = best else { return merges };
        let gone = zones.remove(&b).unwrap();
        let both = zones[&a].with(&gone);
        zones.insert(a, both);
        let mut moved = BTreeMap::new();
        for ((one, other), length) in borders {
            let (one, other) = (if one == b { a } else { one }, if other == b { a } else { other });
            if one != other {
                *moved.entry((one.min(other), one.max(other))).or_default() += length;
            }
        }
        borders = moved;
        let (mut hits, mut listed) = (0, 0);
        for zone in zones.values() {
            let (both, too_many, _) = zone.against(&zone.list());
            hits += both;
            listed += both + too_many;
        }
        merges.push((a, b, hits, listed));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]
    #[test]
    fn merges_are_those_of_a_plain_recomputation(
        (layout, rows, cols, cells) in noisy_site(),
        smallest in 0_u64..4,
        keep_percent in prop::sample::select(vec![0_u64, 40, 60, 80, 100]),
        hub_neighbours in prop::sample::select(vec![0_usize, 2, 3, 5, 1000]),
    ) {
        let regions = build(layout, rows, cols, &cells);
        let phase_one = absorb(&regions, smallest);
        let tallies = tallies_of(&regions, &phase_one);
        let merge_rules = rules(keep_percent as f64 / 100.0);
        let sequence = merged_with_hubs(&phase_one, &tallies, &merge_rules, hub_neighbours);
        let found: Vec<_> = sequence.merges.iter().map(|merge| {
            (merge.into, merge.from, merge.fidelity.listed_and_suits, merge.fidelity.listed_and_known)
        }).collect();
        prop_assert_eq!(found, plain_merges(&phase_one, &tallies, keep_percent));
        if keep_percent == 0 {
            // Only what does not touch is left.
            let last = sequence.cut_after(usize::MAX);
            prop_assert!(sequence.assignment(&last).borders(&phase_one.borders).is_empty());
        }
    }
}

#[test]
fn hubs_change_nothing_but_the_time() {
    // A background with clumps of all sorts, so that one zone has hundreds of
    // neighbours from the start; others become hubs on the way.
    let layout = CellLayout::new(60);
    let mut state = 11_u64;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        state >> 33
    };
    let kinds: Vec<u64> = (0..90 * 90).map(|_| next() & next() & 0xff).collect();
    let cells: Vec<u64> = (0..90 * 90)
        .flat_map(|at| {
            let (row, col) = (at / 90, at % 90);
            let clump = row % 4 < 2 + col % 3 / 2 && col % 3 < 2;
            let kind = if clump { kinds[row / 4 * 90 + col / 3] } else { 0 };
            [0xffff ^ kind, layout.beyond()]
        })
        .collect();
    let regions = build(layout, 90, 90, &cells);
    let phase_one = absorb(&regions, 0);
    let tallies = tallies_of(&regions, &phase_one);
    for keep in [0.0, 0.9] {
        let without = merged_with_hubs(&phase_one, &tallies, &rules(keep), usize::MAX);
        assert!(without.merges.len() > 300, "{} merges", without.merges.len());
        for hub_neighbours in [2, 7, 30, 200] {
            assert!(merged_with_hubs(&phase_one, &tallies, &rules(keep), hub_neighbours) == without);
        }
    }
}

fn striped(layout: CellLayout, stripes: &[(u64, u64, usize)]) -> Regions {
    let cells: Vec<u64> = stripes
        .iter()
        .flat_map(|&(suits, unknown, cells)| [suits, unknown | layout.beyond()].repeat(cells))
        .collect();
    build(layout, 1, cells.len() / 2, &cells)
}

#[test]
fn the_cheapest_pair_goes_first_and_its_cost_is_told() {
    let layout = CellLayout::new(4);
    let regions = striped(layout, &[(0b1111, 0, 4), (0b0111, 0, 4), (0b0001, 0, 4)]);
    let phase_one = absorb(&regions, 0);
    let sequence = merged(&phase_one, &tallies_of(&regions, &phase_one), &rules(0.0)).unwrap();
    // 4 x 4 / 8 x 1, then 8 x 4 / 12 x (1 + 1 + 1/4).
    let told: Vec<_> = sequence
        .merges
        .iter()
        .map(|merge| (merge.into, merge.from, merge.cost))
        .collect();
    assert_eq!(told, [(1, 2, 2.0), (1, 3, 6.0)]);
    assert_eq!(sequence.start.get(), 1.0);
    // The list of all three: species 1 to 3; 4 x 3 + 4 x 3 + 4 x 1 hits.
    assert_eq!(
        sequence.merges[1].fidelity,
        Fidelity {
            listed_and_suits: 28,
            listed_and_known: 36,
            suits: 32
        }
    );
}

#[test]
fn a_merge_that_loses_the_list_of_either_part_is_not_made() {
    let layout = CellLayout::new(2);
    // A wet corner of its own beside a large meadow: cheap, but nothing of its list
    // would be left.
    let regions = striped(layout, &[(0b01, 0, 1000), (0b10, 0, 3), (0b01, 0, 1000)]);
    let phase_one = absorb(&regions, 2);
    let tallies = tallies_of(&regions, &phase_one);
    assert!(
        merged(&phase_one, &tallies, &rules(0.6))
            .unwrap()
            .merges
            .is_empty()
    );
    assert_eq!(merged(&phase_one, &tallies, &rules(0.0)).unwrap().merges.len(), 2);
}

#[test]
fn zones_where_nothing_suits_merge_among_themselves_alone() {
    let layout = CellLayout::new(3);
    let regions = striped(layout, &[(0, 0, 5), (0, 0b100, 5), (0b11, 0, 5)]);
    let phase_one = absorb(&regions, 0);
    let sequence = merged(&phase_one, &tallies_of(&regions, &phase_one), &rules(0.6)).unwrap();
    assert_eq!(
        sequence
            .merges
            .iter()
            .map(|merge| (merge.into, merge.from))
            .collect::<Vec<_>>(),
        [(1, 2)]
    );
}

#[test]
fn no_zone_and_one_zone_merge_no_further() {
    let layout = CellLayout::new(2);
    for stripes in [&[][..], &[(0b01, 0, 5)]] {
        let regions = striped(layout, stripes);
        let phase_one = absorb(&regions, 0);
        let sequence = merged(&phase_one, &tallies_of(&regions, &phase_one), &rules(0.6)).unwrap();
        assert!(sequence.merges.is_empty());
        assert_eq!(sequence.zones as usize, stripes.len());
    }
}

#[test]
fn tallies_of_another_site_are_refused() {
    let regions = striped(CellLayout::new(2), &[(0b01, 0, 5)]);
    let phase_one = absorb(&regions, 0);
    let other = Tallies::new(CellLayout::new(2), 3);
    let error = merged(&phase_one, &other, &rules(0.6)).unwrap_err();
    assert_eq!(error.to_string(), "zones in the tallies: found 3, needed 1");
}

#[test]
fn a_wet_corner_and_a_salted_road_edge_stay_zones_of_their_own() {
    // A made-up parcel, 60 x 60 cells: meadow, a wood in the west, a wet corner of
    // 30 cells in the south-east, a road's edge one cell wide in the north.
    let layout = CellLayout::new(6);
    let cell = |row: usize, col: usize| -> u64 {
        if row == 0 {
            0b00_1000
        } else if row >= 55 && col >= 54 {
            0b01_0000
        } else if col < 20 {
            0b10_0000 | u64::from((row + col).is_multiple_of(7))
        } else {
            // Small differences within the meadow.
            0b00_0011
                | if (row / 10 + col / 10).is_multiple_of(2) {
                    0b100
                } else {
                    0
                }
        }
    };
    let cells: Vec<u64> = (0..60 * 60)
        .flat_map(|at| [cell(at / 60, at % 60), layout.beyond()])
        .collect();
    let regions = build(layout, 60, 60, &cells);
    let phase_one = absorb(&regions, 25);
    let tallies = tallies_of(&regions, &phase_one);
    let merge_rules = rules(0.6);
    let sequence = merged(&phase_one, &tallies, &merge_rules).unwrap();
    for cut in [
        sequence.cut_at_fidelity(Share::new(0.9).unwrap()),
        sequence.cut_after(usize::MAX),
    ] {
        let assignment = sequence.assignment(&cut);
        let rows = regions.rows.relabelled(&assignment.of_regions(&phase_one));
        let (merged, sizes) = (assignment.tallies(&tallies), assignment.cells(&phase_one.cells));
        let list = |zone: u32| {
            let counts = merged.counts(zone);
            let counts = counts.known.iter().zip(&counts.suits).enumerate();
            let listed = counts.filter(|(_, (known, suits))| {
                merge_rules
                    .listing
                    .lists(sizes[zone as usize - 1], u64::from(**known), u64::from(**suits))
            });
            listed.map(|(species, _)| species).collect::<Vec<_>>()
        };
        let (road, corner, wood) = (rows.label(0, 30), rows.label(57, 58), rows.label(30, 5));
        assert_eq!((sizes[road as usize - 1], list(road)), (60, vec![3]));
        assert_eq!((sizes[corner as usize - 1], list(corner)), (30, vec![4]));
        assert_eq!(list(wood), [5]);
        assert!(list(rows.label(30, 40)).starts_with(&[0, 1]));
    }
}
