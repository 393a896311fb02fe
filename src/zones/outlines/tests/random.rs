use proptest::prelude::*;

use super::*;
use crate::zones::outlines::OutlineBuilder;

/// Random values on a small grid, their 4-connected pieces labelled.
fn labels() -> impl Strategy<Value = Labels> {
    (1u32..11, 1u32..11, 2u32..5).prop_flat_map(|(rows, cols, values)| {
        proptest::collection::vec(0..values, (rows * cols) as usize)
            .prop_map(move |values| Labels { rows, cols, values }.flooded())
    })
}

/// Larger and calmer: values of blocks, with some cells changed.
pub(super) fn blotches() -> impl Strategy<Value = Labels> {
    let block = proptest::collection::vec(0u32..4, 64);
    let specks = proptest::collection::vec((0usize..28 * 28, 0u32..4), 0..120);
    (block, specks, 2usize..6).prop_map(|(blocks, specks, side)| {
        let value = |at: usize| blocks[(at / 28 / side * 5 + (at % 28 + at / 56) / side) % 64];
        let mut values: Vec<u32> = (0..28 * 28).map(value).collect();
        for (at, value) in specks {
            values[at] = value;
        }
        Labels {
            rows: 28,
            cols: 28,
            values,
        }
        .flooded()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_labels_have_sound_outlines(labels in labels(), tolerance in 0.0f64..4.0) {
        assert_outlines(&labels, tolerance);
    }

    #[test]
    fn how_runs_are_cut_changes_nothing(labels in labels()) {
        let mut builder = OutlineBuilder::new(labels.rows, labels.cols);
        for runs in labels.runs(true) {
            builder.push_row(&runs).unwrap();
        }
        prop_assert_eq!(builder.finish().unwrap(), labels.arcs());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn blotches_have_sound_outlines(labels in blotches(), tolerance in 0.5f64..6.0) {
        assert_outlines(&labels, tolerance);
    }
}
