//! Cuts of a merge sequence.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "the sites of these tests are small"
)]

use super::*;
use crate::zones::absorb::PhaseOne;
use crate::zones::absorb::tests::{build, noisy_site};
use crate::zones::merging::tests::{merged, rules, tallies_of};
use crate::zones::regions::{Border, tidy_borders};
use crate::zones::{CellLayout, Tallies, absorb};
use proptest::prelude::*;

impl ZoneAssignment {
    /// The final zone of each region.
    pub(in crate::zones) fn of_regions(&self, phase_one: &PhaseOne) -> Vec<u32> {
        phase_one
            .zone_of_region
            .iter()
            .map(|&zone| self.zone_of[zone as usize])
            .collect()
    }

    /// The first of what belongs to each final zone: with the first cells of phase
    /// 1, the first cells of the final zones.
    pub(in crate::zones) fn firsts<T: Clone>(&self, of_phase_one: &[T]) -> Vec<T> {
        let mut firsts = Vec::with_capacity(self.zones as usize);
        for (&zone, first) in self.zone_of[1..].iter().zip(of_phase_one) {
            if zone as usize > firsts.len() {
                firsts.push(first.clone());
            }
        }
        firsts
    }

    /// Borders between final zones, sorted by pair.
    pub(in crate::zones) fn borders(&self, of_phase_one: &[Border]) -> Vec<Border> {
        let new = |zone: u32| self.zone_of[zone as usize];
        let mut borders: Vec<Border> = of_phase_one
            .iter()
            .map(|border| Border::between(new(border.a), new(border.b), border.length))
            .filter(|border| border.a != border.b)
            .collect();
        tidy_borders(&mut borders);
        borders
    }

    /// Cells of each final zone, zone `n` at `n - 1`.
    pub(in crate::zones) fn cells(&self, cells: &[u64]) -> Vec<u64> {
        let mut merged = vec![0; self.zones as usize];
        for (&zone, &cells) in self.zone_of[1..].iter().zip(cells) {
            merged[zone as usize - 1] += cells;
        }
        merged
    }

    /// Tallies of the final zones.
    pub(in crate::zones) fn tallies(&self, of_phase_one: &Tallies) -> Tallies {
        of_phase_one.regrouped(&self.zone_of, self.zones as usize)
    }
}

/// Six stripes of a few species each, the last apart from the others.
fn site() -> (PhaseOne, Tallies, MergeSequence) {
    let layout = CellLayout::new(4);
    let suits: [u64; 5] = [0b1111, 0b0111, 0b0011, 0b0001, 0b1000];
    let mut cells: Vec<u64> = suits
        .iter()
        .flat_map(|&suits| [suits, layout.beyond()].repeat(3))
        .collect();
    cells.extend(layout.not_rated());
    cells.extend([0b1111, layout.beyond()]);
    let regions = build(layout, 1, cells.len() / 2, &cells);
    let phase_one = absorb(&regions, 0);
    let tallies = tallies_of(&regions, &phase_one);
    let sequence = merged(&phase_one, &tallies, &rules(0.0)).unwrap();
    (phase_one, tallies, sequence)
}

#[test]
fn a_number_is_reached_or_the_least_one_named() {
    let (_, _, sequence) = site();
    assert_eq!((sequence.zones, sequence.smallest_number()), (6, 2));
    assert_eq!(
        sequence.cut_at_number(4).map(|cut| (cut.zones, cut.merges)),
        Ok((4, 2))
    );
    assert_eq!(sequence.cut_at_number(2).map(|cut| cut.zones), Ok(2));
    let error = sequence.cut_at_number(1).unwrap_err();
    assert_eq!(
        error,
        ZonesError::TooFewZones {
            asked: 1,
            smallest: 2
        }
    );
    assert!(error.to_string().starts_with("1 zone asked, needed at least 2:"));
    let more = sequence.cut_at_number(7).unwrap();
    assert_eq!((more.zones, more.note), (6, Some(CutNote::FewerThanAsked)));
}

#[test]
fn a_target_stops_before_the_merge_that_would_miss_it() {
    let (_, _, sequence) = site();
    let whole = sequence.cut_at_fidelity(Share::WHOLE);
    assert_eq!(
        (whole.merges, whole.fidelity, whole.note),
        (0, sequence.start, None)
    );
    let cut = sequence.cut_at_fidelity(Share::new(0.85).unwrap());
    assert!(cut.fidelity.get() >= 0.85);
    assert!(sequence.merges[cut.merges].fidelity.get() < 0.85);
    let all = sequence.cut_at_fidelity(Share::NONE);
    assert_eq!(all.merges, sequence.merges.len());
}

#[test]
fn a_start_under_the_target_is_told() {
    let (_, _, mut sequence) = site();
    sequence.start.listed_and_suits = 1;
    let cut = sequence.cut_at_fidelity(Share::HALF);
    assert_eq!(
        (cut.merges, cut.note),
        (0, Some(CutNote::UnderTargetFromTheStart))
    );
}

proptest! {
    #[test]
    fn every_cut_is_a_partition_with_the_fidelity_told((layout, rows, cols, cells) in noisy_site()) {
        let regions = build(layout, rows, cols, &cells);
        let phase_one = absorb(&regions, 3);
        let tallies = tallies_of(&regions, &phase_one);
        let merge_rules = rules(0.6);
        let sequence = merged(&phase_one, &tallies, &merge_rules).unwrap();
        for merges in 0..=sequence.merges.len() {
            let cut = sequence.cut_after(merges);
            let assignment = sequence.assignment(&cut);
            prop_assert_eq!(assignment.zones, cut.zones);
            let sizes = assignment.cells(&phase_one.cells);
            prop_assert!(sizes.iter().all(|&cells| cells > 0));
            prop_assert_eq!(sizes.iter().sum::<u64>(), regions.rated_cells());
            let merged = assignment.tallies(&tallies);
            prop_assert_eq!(Fidelity::of(&merged, &sizes, &merge_rules.listing), cut.fidelity);
            let first_cells = assignment.firsts(&phase_one.first_cells);
            prop_assert!(first_cells.is_sorted());
            let labels = regions.rows.relabelled(&assignment.of_regions(&phase_one));
            for (zone, first) in (1..).zip(&first_cells) {
                prop_assert_eq!(labels.label(first.row, first.col as u32), zone);
            }
            prop_assert_eq!(crate::zones::borders_of(&labels), assignment.borders(&phase_one.borders));
        }
    }
}
