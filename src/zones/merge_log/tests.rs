//! Logs come back as they were written; broken ones are refused, never a panic.

use proptest::prelude::*;

use super::*;
use crate::zones::absorb::tests::{build, noisy_site};
use crate::zones::merging::tests::{merged, rules, tallies_of};
use crate::zones::{CellLayout, ZonesError, absorb};

fn log_of(layout: CellLayout, rows: usize, cols: usize, cells: &[u64], with_rows: bool) -> MergeLog {
    let regions = build(layout, rows, cols, cells);
    let phase_one = absorb(&regions, 2);
    let tallies = tallies_of(&regions, &phase_one);
    let sequence = merged(&phase_one, &tallies, &rules(0.6)).unwrap();
    let ids = (0..layout.species())
        .map(|species| format!("plant-{species}"))
        .collect();
    let rows = with_rows.then(|| regions.rows.relabelled(&phase_one.zone_of_region));
    MergeLog::new(ids, rules(0.6), phase_one, tallies, sequence, rows).unwrap()
}

fn text_of(log: &MergeLog) -> String {
    let mut text = Vec::new();
    log.write(&mut text).unwrap();
    String::from_utf8(text).unwrap()
}

fn small_log() -> MergeLog {
    let layout = CellLayout::new(2);
    let (a, b, c) = ([0b11, !0b11], [0b01, !0b11], [0b00, !0b01]);
    let cells = [a, a, b, b, a, a, b, b, c, c, c, c].concat();
    log_of(layout, 3, 4, &cells, true)
}

#[test]
fn a_log_reads_as_its_head_says() {
    insta::assert_snapshot!(text_of(&small_log()), @r"
    groundfit-merges 1
    limits 500000 900000 200000 500000 600000
    species 2
    plant-0
    plant-1
    zones 3
    0 0 4 | = = | = = | = =
    0 2 4 | = = | = 0 | = =
    2 0 4 | = 0 | 0 = | = =
    outside | 0 0 | 0 0
    merges 1
    1 2 2 12 16
    rows 3 4
    2x1 2x2
    =
    4x3
    end
    ");
}

proptest! {
    #[test]
    fn a_log_comes_back_as_it_was((layout, rows, cols, cells) in noisy_site(), with_rows: bool) {
        let log = log_of(layout, rows, cols, &cells, with_rows);
        let read = MergeLog::parse(&text_of(&log));
        prop_assert_eq!(read, Ok(log));
    }

    #[test]
    fn a_log_cut_short_is_refused(length in 0_usize..10_000) {
        let text = text_of(&small_log());
        let length = length % (text.trim_end().len());
        prop_assert!(MergeLog::parse(&text[..length]).is_err());
    }

    #[test]
    fn a_mutated_log_never_panics(
        changes in prop::collection::vec((any::<prop::sample::Index>(), "[ -~\n]{0,3}"), 1..4),
    ) {
        let mut text = text_of(&small_log());
        for (at, with) in changes {
            let at = at.index(text.len());
            text.replace_range(at..=at, &with);
        }
        if let Ok(log) = MergeLog::parse(&text) {
            let cut = log.sequence.cut_after(usize::MAX);
            let assignment = log.sequence.assignment(&cut);
            prop_assert_eq!(assignment.tallies(&log.tallies).zones(), cut.zones as usize);
        }
    }
}

#[test]
fn errors_name_the_line_what_was_found_and_what_was_needed() {
    let text = text_of(&small_log());
    let told = |from: &str, to: &str| {
        assert!(text.contains(from), "{from}");
        MergeLog::parse(&text.replacen(from, to, 1))
            .unwrap_err()
            .to_string()
    };
    insta::assert_snapshot!(told("groundfit-merges 1", "groundfit-merges 9"), @r#"line 1: found "groundfit-merges 9", needed groundfit-merges 1"#);
    insta::assert_snapshot!(told("\n0 2 ", "\n0 0 "), @r#"line 8: found "0 0", needed zones in the order of their first cells"#);
    insta::assert_snapshot!(told("2x1", "2x9"), @r#"line 14: found "2x9", needed <cells>x<zone>, up to the last column and the last zone"#);
    insta::assert_snapshot!(told("2x1", "1x1"), @r#"line 14: found "3 cells", needed 4 cells in a row"#);
    insta::assert_snapshot!(told("\nend", "\n"), @r#"line 17: found "", needed end"#);
}

#[test]
fn a_log_of_parts_that_do_not_belong_together_is_refused() {
    let layout = CellLayout::new(2);
    let regions = build(layout, 1, 1, &[1, layout.beyond()]);
    let phase_one = absorb(&regions, 2);
    let tallies = tallies_of(&regions, &phase_one);
    let sequence = merged(&phase_one, &tallies, &rules(0.6)).unwrap();
    let error = MergeLog::new(vec!["one".into()], rules(0.6), phase_one, tallies, sequence, None);
    assert_eq!(
        error,
        Err(ZonesError::SizesDiffer {
            what: "names of species",
            found: 1,
            needed: 2
        })
    );
}

#[test]
fn a_log_of_nothing_comes_back() {
    let log = log_of(CellLayout::new(0), 0, 0, &[], true);
    // No rows and no columns read back as no rows.
    assert_eq!(
        MergeLog::parse(&text_of(&log)),
        Ok(MergeLog { rows: None, ..log })
    );
}
