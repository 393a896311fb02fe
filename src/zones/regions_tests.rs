//! Regions against a flood fill, and borders against a loop over cells.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "the sites of these tests are small"
)]

use std::collections::BTreeMap;

use proptest::prelude::*;

use super::*;

/// Regions of a drawing: a letter is a set of its own, a blank or dot not rated.
fn regions_of(drawn: &str) -> Regions {
    let layout = CellLayout::new(8);
    let rows: Vec<&str> = drawn.lines().map(str::trim).collect();
    let cols = rows.first().map_or(0, |row| row.len());
    let cell = |character: char| match character {
        '.' => layout.not_rated(),
        letter => vec![u64::from(letter as u32) & 0xff, layout.beyond()],
    };
    let cells: Vec<u64> = rows.iter().flat_map(|row| row.chars()).flat_map(cell).collect();
    build(layout, rows.len(), cols, &cells, 1)
}

fn build(layout: CellLayout, rows: usize, cols: usize, cells: &[u64], block: usize) -> Regions {
    let mut builder = RegionsBuilder::new(layout, rows, cols).unwrap();
    for block in cells.chunks((block * cols * layout.cell_words()).max(1)) {
        push_cells(&mut builder, layout, cols, block).unwrap();
    }
    builder.finish().unwrap()
}

/// Pushes whole rows of cells given by their words.
pub(crate) fn push_cells(
    builder: &mut RegionsBuilder,
    layout: CellLayout,
    cols: usize,
    cells: &[u64],
) -> Result<(), ZonesError> {
    let rows: Vec<&[u64]> = cells.chunks((cols * layout.cell_words()).max(1)).collect();
    builder.push_rows(&rows, |row, runs| {
        for (end, cell) in (1..).zip(row.chunks_exact(layout.cell_words())) {
            runs.push(end, &mut cell.to_vec());
        }
    })
}

/// Labels, and cells and first cell of each, by flood fill from each first cell.
fn flood_fill(
    rows: usize,
    cols: usize,
    same: impl Fn(usize, usize) -> bool,
    rated: impl Fn(usize) -> bool,
) -> (Vec<u32>, Vec<(u32, usize)>) {
    let mut labels = vec![0; rows * cols];
    let mut found = Vec::new();
    for first in 0..rows * cols {
        if labels[first] != 0 || !rated(first) {
            continue;
        }
        let label = found.len() as u32 + 1;
        labels[first] = label;
        let (mut stack, mut cells) = (vec![first], 0);
        while let Some(cell) = stack.pop() {
            cells += 1;
            let (row, col) = (cell / cols, cell % cols);
            let mut near = Vec::new();
            if row > 0 {
                near.push(cell - cols);
            }
            if row + 1 < rows {
                near.push(cell + cols);
            }
            if col > 0 {
                near.push(cell - 1);
            }
            if col + 1 < cols {
                near.push(cell + 1);
            }
            for next in near {
                if labels[next] == 0 && same(cell, next) {
                    labels[next] = label;
                    stack.push(next);
                }
            }
        }
        found.push((cells, first));
    }
    (labels, found)
}

fn plain_borders(rows: usize, cols: usize, labels: &[u32]) -> Vec<Border> {
    let mut lengths: BTreeMap<(u32, u32), u32> = BTreeMap::new();
    let mut edge = |one: u32, other: u32| {
        if one != 0 && other != 0 && one != other {
            *lengths.entry((one.min(other), one.max(other))).or_default() += 1;
        }
    };
    for row in 0..rows {
        for col in 0..cols {
            if col + 1 < cols {
                edge(labels[row * cols + col], labels[row * cols + col + 1]);
            }
            if row + 1 < rows {
                edge(labels[row * cols + col], labels[(row + 1) * cols + col]);
            }
        }
    }
    lengths
        .into_iter()
        .map(|((a, b), length)| Border { a, b, length })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn regions_are_those_of_a_flood_fill_for_any_block(
        rows in 0_usize..70,
        cols in 1_usize..12,
        species in prop::sample::select(vec![1_usize, 64, 65, 130, 190, 300]),
        seed in prop::collection::vec(0_u8..4, 70 * 12),
        block in 1_usize..9,
    ) {
        let layout = CellLayout::new(species);
        let kinds = &seed[..rows * cols];
        let cells: Vec<u64> = kinds.iter().flat_map(|&kind| {
            let mut cell = layout.not_rated();
            if kind > 0 {
                let at = species - 1;
                cell[layout.words() + at / 64] &= !(1 << (at % 64));
                cell[0] |= u64::from(kind == 3) * 2;
                cell[1.min(layout.words() - 1)] |= u64::from(kind == 2);
                cell[at / 64] |= u64::from(kind == 3) << (at % 64);
                cell[layout.words()] &= !3 | layout.beyond();
                cell[layout.words() + 1.min(layout.words() - 1)] &= !1;
            }
            cell
        }).collect();
        let mut mended = cells.clone();
        mended.chunks_exact_mut(layout.cell_words()).for_each(|cell| layout.mend(cell));
        let set = |cell: usize| &mended[cell * layout.cell_words()..(cell + 1) * layout.cell_words()];
        let (labels, expected) = flood_fill(rows, cols, |a, b| set(a) == set(b), |cell| layout.is_rated(set(cell)));
        let regions = build(layout, rows, cols, &cells, block);
        let found: Vec<u32> = (0..rows * cols).map(|cell| regions.rows.label(cell / cols, (cell % cols) as u32)).collect();
        prop_assert_eq!(&found, &labels);
        let described: Vec<(u32, usize)> = regions.regions.iter()
            .map(|region| (region.cells, region.first_row as usize * cols + region.first_col as usize)).collect();
        prop_assert_eq!(described, expected);
        prop_assert_eq!(&regions.borders, &plain_borders(rows, cols, &labels));
        for (cell, &label) in labels.iter().enumerate() {
            if label != 0 {
                prop_assert_eq!(regions.book.words(regions.region(label).set), set(cell));
            }
        }
        // Runs are as long as they can be, and sets are numbered as they come.
        let whole = build(layout, rows, cols, &cells, rows.max(1));
        prop_assert_eq!(whole.rows, regions.rows);
        prop_assert_eq!(whole.regions, regions.regions);
    }
}

#[test]
fn a_u_is_one_region_and_corners_do_not_join() {
    let regions = regions_of("aba\naba\naaa");
    assert_eq!(regions.len(), 2);
    assert_eq!(
        regions
            .regions
            .iter()
            .map(|region| region.cells)
            .collect::<Vec<_>>(),
        [7, 2]
    );
    assert_eq!(
        regions.borders,
        [Border {
            a: 1,
            b: 2,
            length: 5
        }]
    );
    let checks = regions_of("ab\nba");
    assert_eq!(checks.len(), 4);
    assert_eq!(checks.borders.len(), 4);
}

#[test]
fn what_is_not_rated_is_no_region_and_has_no_border() {
    let regions = regions_of("a.b\n...\ncc.");
    assert_eq!(regions.len(), 3);
    assert!(regions.borders.is_empty());
    assert_eq!(regions.rated_cells(), 4);
    assert_eq!(regions.region(3).first_cell(), CellIndex { row: 2, col: 0 });
    assert!(regions_of("..\n..").is_empty());
}

#[test]
fn empty_grids_and_single_cells_are_no_trouble() {
    assert!(regions_of("").is_empty());
    assert_eq!(regions_of("a").len(), 1);
    let no_columns = RegionsBuilder::new(CellLayout::new(3), 5, 0).unwrap();
    assert!(no_columns.finish().unwrap().is_empty());
}

#[test]
fn rows_that_do_not_fit_are_refused() {
    let layout = CellLayout::new(1);
    let mut builder = RegionsBuilder::new(layout, 2, 2).unwrap();
    let mut push = |cells: &[u64]| push_cells(&mut builder, layout, 2, cells);
    assert_eq!(push(&[0; 2]), Err(ZonesError::RowLength { found: 1, needed: 2 }));
    assert_eq!(push(&[0; 12]), Err(ZonesError::MoreRows { found: 3, needed: 2 }));
    push(&[0; 4]).unwrap();
    assert_eq!(
        builder.finish().unwrap_err(),
        ZonesError::RowsMissing { found: 1, needed: 2 }
    );
}

#[test]
fn a_grid_beyond_exact_sums_is_refused_with_the_numbers() {
    let error = RegionsBuilder::new(CellLayout::new(60), 50_000, 50_000).unwrap_err();
    insta::assert_snapshot!(error, @"50000 rows x 50000 columns with 60 species are too many for exact sums: found 2500000000 cells, needed at most 2147483647; a coarser cell size helps");
    assert!(RegionsBuilder::new(CellLayout::new(60), usize::MAX, 2).is_err());
    assert!(RegionsBuilder::new(CellLayout::new(60), 0, usize::MAX).is_err());
    assert!(RegionsBuilder::new(CellLayout::new(1000), 30_000, 30_000).is_ok());
}
