//! Values of cells in as little room as holds them exactly: a byte each where all are
//! small whole numbers, as percentages and classes are. Knows no rasters.

use std::ops::Range;

/// Stands for a missing value among bytes.
const MISSING: u8 = u8::MAX;

/// The values of some cells.
#[derive(Debug, PartialEq)]
pub(super) enum PackedCells {
    /// Whole numbers from 0 to 254, and what is missing.
    Bytes(Vec<u8>),
    /// Any others.
    Floats(Vec<f32>),
}

impl PackedCells {
    /// Packs values; those missing are not a number.
    pub fn of(values: Vec<f32>) -> PackedCells {
        let fits = |value: f32| value.is_nan() | (unpacked(packed(value)).to_bits() == value.to_bits());
        // Most rasters that do not fit show it in their first cells.
        if values
            .chunks(256)
            .all(|some| some.iter().fold(true, |all, &value| all & fits(value)))
        {
            PackedCells::Bytes(values.into_iter().map(packed).collect())
        } else {
            PackedCells::Floats(values)
        }
    }

    /// Copies some of the values.
    pub fn copy(&self, from: Range<usize>, to: &mut [f32]) {
        match self {
            PackedCells::Bytes(bytes) => {
                for (to, &byte) in to.iter_mut().zip(&bytes[from]) {
                    *to = unpacked(byte);
                }
            }
            PackedCells::Floats(values) => to.copy_from_slice(&values[from]),
        }
    }
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
        ) {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss, reason = "a place")]
            let from = (cut * values.len() as f64) as usize;
            let mut copied = vec![7.0; values.len() - from];
            PackedCells::of(values.clone()).copy(from..values.len(), &mut copied);
            for (copied, value) in copied.iter().zip(&values[from..]) {
                prop_assert!(copied.to_bits() == value.to_bits() || copied.is_nan() && value.is_nan());
            }
        }
    }

    #[test]
    fn percentages_take_a_byte() {
        let held = PackedCells::of(vec![0.0, 100.0, f32::NAN]);
        assert_eq!(held, PackedCells::Bytes(vec![0, 100, MISSING]));
    }
}
