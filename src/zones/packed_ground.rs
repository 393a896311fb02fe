//! Sums of many zones in little room: most zones hold few classes and few species, so
//! their numbers are short. Sums of zones go in and come out as they were; knows not
//! what they mean.

use super::counts::Counts;
use super::ground::{FactorSums, GroundShape, MeasuredSums, ZoneGround};
use super::packed_book::PackedBook;

/// The sums of some zones, each packed by itself.
///
/// # Method
/// Whole numbers in sevens of bits, lowest first, the eighth bit telling that more
/// follow; numbers below 0 folded between those above; rating sums of species that suit
/// nowhere left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GroundBook {
    shape: GroundShape,
    zones: PackedBook,
}

/// The sums of one zone.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PackedGround(Box<[u8]>);

impl GroundBook {
    /// Sums of so many zones over no cell.
    #[must_use]
    pub fn new(shape: &GroundShape, zones: usize) -> GroundBook {
        GroundBook {
            shape: shape.clone(),
            zones: PackedBook::new(zones),
        }
    }

    /// The sums of zones from 1 on, in order.
    #[must_use]
    pub fn of(shape: &GroundShape, zones: impl Iterator<Item = ZoneGround>) -> GroundBook {
        let mut book = GroundBook::new(shape, 0);
        for ground in zones {
            book.zones.push(&PackedGround::pack(&ground).0);
        }
        book
    }

    /// Lets all sums go.
    pub fn clear(&mut self) {
        self.zones = PackedBook::default();
    }

    /// Number of zones.
    #[must_use]
    pub fn len(&self) -> usize {
        self.zones.len()
    }

    /// Whether there are no zones.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The sums of a zone; zone `n` at `n - 1`.
    #[must_use]
    pub fn ground(&self, at: usize) -> ZoneGround {
        unpack(self.zones.record(at), &self.shape)
    }

    /// Adds the sums of another part of a zone.
    pub fn add(&mut self, zone: u32, part: &PackedGround) {
        let at = zone as usize - 1;
        if self.zones.record(at).is_empty() {
            self.zones.set(at, &part.0);
            return;
        }
        let mut sums = self.ground(at);
        sums.merge(&unpack(&part.0, &self.shape));
        self.zones.set(at, &PackedGround::pack(&sums).0);
    }
}

impl PackedGround {
    /// Packs the sums of a zone.
    #[must_use]
    pub fn pack(ground: &ZoneGround) -> PackedGround {
        let mut packed = Vec::with_capacity(256);
        for factor in &ground.factors {
            match factor {
                FactorSums::Measured(sums) => {
                    let [known, beyond] = [sums.known, sums.beyond].map(u128::from);
                    put(&mut packed, known);
                    put(&mut packed, beyond);
                    put(&mut packed, fold(sums.sum));
                    packed.extend(sums.least.to_le_bytes());
                    packed.extend(sums.greatest.to_le_bytes());
                }
                FactorSums::Classes(counts) => put_counts(&mut packed, counts),
            }
        }
        for counts in &ground.questions {
            put_counts(&mut packed, counts);
        }
        let suiting = ground
            .rating_bytes
            .iter()
            .enumerate()
            .filter(|(_, sum)| **sum > 0);
        let mut next = 0;
        for (species, &sum) in suiting {
            put(&mut packed, (species - next) as u128);
            put(&mut packed, sum.into());
            next = species + 1;
        }
        PackedGround(packed.into_boxed_slice())
    }
}

fn unpack(record: &[u8], shape: &GroundShape) -> ZoneGround {
    let mut ground = ZoneGround::empty(shape);
    let mut left = record;
    if left.is_empty() {
        return ground;
    }
    for factor in &mut ground.factors {
        match factor {
            FactorSums::Measured(sums) => {
                *sums = MeasuredSums {
                    known: take_u64(&mut left),
                    beyond: take_u64(&mut left),
                    sum: unfold(take(&mut left)),
                    least: take_f32(&mut left),
                    greatest: take_f32(&mut left),
                }
            }
            FactorSums::Classes(counts) => *counts = take_counts(&mut left),
        }
    }
    for counts in &mut ground.questions {
        *counts = take_counts(&mut left);
    }
    let mut next = 0;
    while !left.is_empty() {
        next += usize::try_from(take(&mut left)).unwrap_or(usize::MAX);
        ground.rating_bytes[next] = take_u64(&mut left);
        next += 1;
    }
    ground
}

fn put(packed: &mut Vec<u8>, mut number: u128) {
    while number > 0x7f {
        packed.push(number.to_le_bytes()[0] | 0x80);
        number >>= 7;
    }
    packed.push(number.to_le_bytes()[0]);
}

fn take(left: &mut &[u8]) -> u128 {
    let (mut number, mut shift) = (0, 0);
    while let Some((&byte, rest)) = left.split_first() {
        *left = rest;
        number |= u128::from(byte & 0x7f) << shift;
        if byte & 0x80 == 0 {
            break;
        }
        shift += 7;
    }
    number
}

fn take_u64(left: &mut &[u8]) -> u64 {
    u64::try_from(take(left)).unwrap_or(u64::MAX)
}

fn take_f32(left: &mut &[u8]) -> f32 {
    let Some((bytes, rest)) = left.split_first_chunk() else {
        return f32::NAN;
    };
    *left = rest;
    f32::from_le_bytes(*bytes)
}

fn fold(number: i128) -> u128 {
    ((number << 1) ^ (number >> 127)).cast_unsigned()
}

fn unfold(number: u128) -> i128 {
    (number >> 1).cast_signed() ^ -(number & 1).cast_signed()
}

/// The numbers as steps from one to the next, each with its cells.
fn put_counts(packed: &mut Vec<u8>, counts: &Counts) {
    put(packed, counts.iter().count() as u128);
    let mut before = 0;
    for (number, cells) in counts.iter() {
        put(packed, (number - before).into());
        put(packed, cells.into());
        before = number;
    }
}

fn take_counts(left: &mut &[u8]) -> Counts {
    let mut number = 0;
    let entries = take(left);
    let entry = |_| {
        number += take_u64(left);
        (number, take_u64(left))
    };
    (0..entries).map(entry).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn shape() -> GroundShape {
        GroundShape {
            measured: vec![true, false],
            questions: 2,
            species: 70,
        }
    }

    fn counts() -> impl Strategy<Value = Counts> {
        let number = prop_oneof![0u64..300, any::<u64>()];
        prop::collection::vec((number, 1u64..1_000_000), 0..6).prop_map(|pairs| pairs.into_iter().collect())
    }

    fn ground() -> impl Strategy<Value = ZoneGround> {
        let bytes = prop::collection::vec(prop_oneof![3 => Just(0u64), 1 => any::<u64>()], 70);
        let values = prop::collection::vec(prop_oneof![any::<f32>(), Just(f32::INFINITY)], 0..5);
        (values, counts(), counts(), counts(), bytes).prop_map(|(values, classes, first, second, bytes)| {
            let mut ground = ZoneGround::empty(&shape());
            ground.factors[0].add_values(&values);
            ground.factors[1] = FactorSums::Classes(classes);
            ground.questions = vec![first, second];
            ground.rating_bytes = bytes;
            ground
        })
    }

    proptest! {
        #[test]
        fn sums_come_out_as_they_went_in(one in ground(), other in ground()) {
            let mut one = one;
            // Sums of bytes of two zones fit into 64 bits.
            one.rating_bytes.iter_mut().for_each(|sum| *sum /= 2);
            let mut other = other;
            other.rating_bytes.iter_mut().for_each(|sum| *sum /= 2);
            let mut book = GroundBook::new(&shape(), 2);
            prop_assert_eq!(book.ground(0), ZoneGround::empty(&shape()));
            book.add(2, &PackedGround::pack(&one));
            prop_assert_eq!(&book.ground(1), &one);
            book.add(2, &PackedGround::pack(&other));
            one.merge(&other);
            prop_assert_eq!(&book.ground(1), &one);
        }

        #[test]
        fn numbers_below_0_are_folded_between_those_above(number in any::<i128>()) {
            prop_assert_eq!(unfold(fold(number)), number);
        }
    }
}
