//! Values of cells in as little room as holds them exactly: as runs of like cells, or a
//! byte each where all are small whole numbers, as percentages and classes are. Knows not
//! what they mean.

use std::borrow::Cow;
use std::ops::Range;

/// Stands for a missing value among bytes.
const MISSING: u8 = u8::MAX;

/// The values of some cells.
#[derive(Debug, PartialEq)]
pub enum PackedCells {
    /// Any, as bits, where neighbours are mostly alike.
    Runs(Runs<u32>),
    /// Whole numbers from 0 to 254, and what is missing.
    Bytes(Vec<u8>),
    /// Any others.
    Floats(Vec<f32>),
}

/// Values of cells one after another, each with how many in turn have it.
#[derive(Debug, PartialEq)]
pub struct Runs<T> {
    /// One past the last cell of each run.
    ends: Vec<u32>,
    values: Vec<T>,
}

impl<T: Copy + PartialEq> Runs<T> {
    /// The runs of fewer than 2^32 values, as a window has.
    pub fn of(values: impl ExactSizeIterator<Item = T>) -> Runs<T> {
        let mut runs = Runs {
            ends: Vec::new(),
            values: Vec::new(),
        };
        for (end, value) in (1..).zip(values) {
            match runs.ends.last_mut() {
                Some(last) if runs.values.last() == Some(&value) => *last = end,
                _ => {
                    runs.ends.push(end);
                    runs.values.push(value);
                }
            }
        }
        runs.ends.shrink_to_fit();
        runs.values.shrink_to_fit();
        runs
    }

    /// Calls `each` with the runs of some cells: their places among these and their value.
    pub fn each(&self, cells: Range<usize>, mut each: impl FnMut(Range<usize>, T)) {
        let mut from = cells.start;
        let first = self.ends.partition_point(|&end| end as usize <= from);
        for (&end, &value) in self.ends[first..].iter().zip(&self.values[first..]) {
            if from >= cells.end {
                return;
            }
            let to = cells.end.min(end as usize);
            each(from - cells.start..to - cells.start, value);
            from = to;
        }
    }

    /// Room they take.
    #[must_use]
    pub fn bytes(&self) -> usize {
        size_of_val(&*self.ends) + size_of_val(&*self.values)
    }
}

impl PackedCells {
    /// Packs values; those missing are not a number.
    #[must_use]
    pub fn of(values: Cow<[f32]>) -> PackedCells {
        let about_bytes = about_runs(&values) * 2 * size_of::<u32>();
        let as_runs = |most_bytes: usize| {
            let is_likely = about_bytes <= most_bytes;
            let runs = is_likely.then(|| Runs::of(values.iter().map(|value| value.to_bits())));
            runs.filter(|runs| runs.bytes() <= most_bytes)
        };
        if let Some(runs) = as_runs(values.len()) {
            PackedCells::Runs(runs)
        } else if are_bytes(&values) {
            PackedCells::Bytes(values.iter().map(|&value| packed(value)).collect())
        } else if let Some(runs) = as_runs(size_of_val(&*values) / 2) {
            PackedCells::Runs(runs)
        } else {
            PackedCells::Floats(values.into_owned())
        }
    }

    /// Copies some of the values.
    pub fn copy(&self, from: Range<usize>, to: &mut [f32]) {
        match self {
            PackedCells::Runs(runs) => {
                runs.each(from, |cells, bits| to[cells].fill(f32::from_bits(bits)));
            }
            PackedCells::Bytes(bytes) => {
                for (to, &byte) in to.iter_mut().zip(&bytes[from]) {
                    *to = unpacked(byte);
                }
            }
            PackedCells::Floats(values) => to.copy_from_slice(&values[from]),
        }
    }

    /// Room they take.
    #[must_use]
    pub fn bytes(&self) -> usize {
        match self {
            PackedCells::Runs(runs) => runs.bytes(),
            PackedCells::Bytes(bytes) => bytes.len(),
            PackedCells::Floats(values) => size_of_val(&**values),
        }
    }
}

/// About how many runs there are, told from some of the values.
fn about_runs(values: &[f32]) -> usize {
    // A prime, so that what is looked at does not lie in the same columns of every row.
    const SOME: usize = 251;
    const ONE_IN: usize = 4;
    let change = |(one, other): (&f32, &f32)| usize::from(one.to_bits() != other.to_bits());
    let changes = |some: &[f32]| some.iter().zip(&some[1..]).map(change).sum::<usize>();
    let looked_at = values.chunks(SOME).step_by(ONE_IN);
    let of_those: usize = looked_at.clone().map(<[f32]>::len).sum();
    let changes: usize = looked_at.map(changes).sum();
    1 + changes * values.len() / of_those.max(1)
}

fn are_bytes(values: &[f32]) -> bool {
    let fits = |value: f32| value.is_nan() | (unpacked(packed(value)).to_bits() == value.to_bits());
    // Most values that do not fit show it in the first cells.
    let mut some = values.chunks(256);
    some.all(|some| some.iter().fold(true, |all, &value| all & fits(value)))
}

#[inline]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a float cast saturates, and what it changes is not packed"
)]
fn packed(value: f32) -> u8 {
    if value.is_nan() { MISSING } else { value as u8 }
}

#[inline]
fn unpacked(byte: u8) -> f32 {
    if byte == MISSING {
        f32::NAN
    } else {
        f32::from(byte)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::grid::TILE_CELLS;

    proptest! {
        #[test]
        fn values_come_out_as_they_went_in(
            values in prop::collection::vec(
                prop_oneof![
                    20 => (0u8..=254).prop_map(f32::from),
                    3 => Just(f32::NAN),
                    1 => prop_oneof![Just(-0.0f32), Just(255.0), Just(f32::INFINITY), any::<f32>()],
                ],
                1..600,
            ),
            cut in 0.0..1.0f64,
            each_so_often in prop::sample::select(vec![1usize, 3, 30]),
        ) {
            let values: Vec<f32> = values.iter().flat_map(|&value| [value].repeat(each_so_often)).collect();
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss, reason = "a place")]
            let from = (cut * values.len() as f64) as usize;
            let mut copied = vec![7.0; values.len() - from];
            PackedCells::of(Cow::Borrowed(&values)).copy(from..values.len(), &mut copied);
            for (copied, value) in copied.iter().zip(&values[from..]) {
                prop_assert!(copied.to_bits() == value.to_bits() || copied.is_nan() && value.is_nan());
            }
        }
    }

    #[test]
    fn values_alike_in_one_half_and_mixed_in_the_other_take_no_more_room() {
        const SIDE: usize = TILE_CELLS;
        let percentages = |col: usize, row: usize| [10.0, 80.0, 35.0][(col * 7 + row * 3) % 3];
        for mixed in [0..SIDE / 2, SIDE / 2..SIDE, 1..SIDE] {
            let cell = |at: usize| match (at % SIDE, at / SIDE) {
                (col, row) if mixed.contains(&col) => percentages(col, row),
                _ => f32::NAN,
            };
            let values: Vec<f32> = (0..SIDE * SIDE).map(cell).collect();
            assert_eq!(PackedCells::of(values.into()).bytes(), SIDE * SIDE, "{mixed:?}");
        }
        // Mixed only where nobody looks: the first of four pieces, again and again.
        let is_looked_at = |at: usize| (at / 251).is_multiple_of(4);
        let cell = |at: usize| if is_looked_at(at) { 0.5 } else { [0.5, 1.5][at % 2] };
        let values: Vec<f32> = (0..100 * 1004).map(cell).collect();
        assert_eq!(
            PackedCells::of(Cow::Borrowed(&values)),
            PackedCells::Floats(values)
        );
    }

    #[test]
    fn values_take_as_little_room_as_they_can() {
        let packed = |values: &[f32]| PackedCells::of(Cow::Borrowed(values));
        let percentages = [0.0, 100.0, f32::NAN];
        assert_eq!(packed(&percentages), PackedCells::Bytes(vec![0, 100, MISSING]));
        let far = [f32::INFINITY].repeat(40);
        assert_eq!(packed(&far).bytes(), 8);
        let slopes = [0.1, 2.5, 2.4];
        assert_eq!(packed(&slopes), PackedCells::Floats(slopes.to_vec()));
        let pairs = [4.5, 4.5, 4.5, 4.5, 6.1, 6.1, 6.1, 6.1];
        assert_eq!(packed(&pairs).bytes(), 16);
    }
}
