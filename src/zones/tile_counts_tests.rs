//! Sums by tile against a plain count, cell by cell and species by species.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "the rows of these tests are short"
)]

use proptest::prelude::*;

use super::*;
use crate::rating::WORD;

/// A row of cells of two questions, with known and suiting species drawn at random.
fn row(species: usize) -> impl Strategy<Value = AsRated> {
    let words = CellLayout::new(species).words();
    let length = prop_oneof![9 => 1_usize..4, 1 => 200_usize..600];
    prop::collection::vec(
        (any::<u64>(), any::<u64>(), any::<u8>(), 0_u64..5, length),
        words..100 * words,
    )
    .prop_map(move |drawn| {
        let stretches = drawn.len() / words;
        let lengths = drawn[..stretches].iter().map(|(.., length)| length);
        let ends = lengths.scan(0, |end, length| {
            *end += length;
            Some(*end)
        });
        let mut cells = AsRated::of_stretches(ends.collect());
        for (at, &(known, suits, byte, ..)) in drawn[..stretches * words].iter().enumerate() {
            let past = species.saturating_sub(at / stretches * WORD);
            let real = if past >= WORD { !0 } else { !(!0 << past) };
            // Long stretches of cells in which the same is known, as real ones.
            let known = if at % 3 == 0 { known & real } else { real };
            cells.known.push(known);
            cells.suits.push(suits & known);
            cells.bytes.push(std::array::from_fn(|place| {
                byte.wrapping_add((7 * place) as u8) % 201
            }));
        }
        let numbers = |times: u64| {
            drawn[..stretches]
                .iter()
                .map(|(.., number, _)| number * times)
                .collect()
        };
        cells.ground = vec![numbers(1), numbers(1000)];
        cells
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn sums_are_those_of_single_cells(
        (species, rows) in prop::sample::select(vec![0usize, 1, 60, 64, 70])
            .prop_flat_map(|species| (Just(species), prop::collection::vec(row(species), 1..4))),
        cut in 0_usize..1000,
    ) {
        let shape = GroundShape { measured: vec![true], questions: 2, species };
        let mut counts = ZoneCounts::new(&shape, 3);
        let mut known = vec![vec![0u32; species]; 3];
        let mut suits = known.clone();
        let mut bytes = vec![vec![0u64; species]; 3];
        let mut numbers = vec![vec![Counts::default(); 2]; 3];
        for row in &rows {
            let mut tile = TileCounts::new(&shape, &[5, 5000]);
            let cols = *row.ends().last().unwrap();
            let cut = cut.min(cols);
            let values: Vec<f32> = (0..cols).map(|col| col as f32).collect();
            let values: [&[f32]; 1] = [&values];
            let mut counted = tile.row(row, &values);
            counted.add_run(3, 7, 0..cut);
            counted.add_run(1, 9, cut..cols);
            tile.finish().iter().for_each(|zone| counts.add(zone));
            for col in 0..cols {
                let stretch = row.stretch_of(col);
                let zone = if col < cut { 2 } else { 0 };
                for at in 0..species {
                    let (place, bit) = (at / WORD * row.ends().len() + stretch, at % WORD);
                    known[zone][at] += (row.known[place] >> bit & 1) as u32;
                    if row.suits[place] >> bit & 1 == 1 {
                        suits[zone][at] += 1;
                        bytes[zone][at] += u64::from(row.bytes[place][bit]);
                    }
                }
                for (counts, found) in numbers[zone].iter_mut().zip(&row.ground) {
                    counts.add(found[stretch], 1);
                }
            }
        }
        prop_assert_eq!(counts.areas_mm2[2], 7 * rows.len() as u128);
        for zone in 0..3 {
            let cells = counts.tallies.counts(zone as u32 + 1);
            prop_assert_eq!(&cells.known, &known[zone]);
            prop_assert_eq!(&cells.suits, &suits[zone]);
            prop_assert_eq!(&counts.ground.ground(zone).rating_bytes, &bytes[zone]);
            prop_assert_eq!(&counts.ground.ground(zone).questions, &numbers[zone]);
        }
    }
}
