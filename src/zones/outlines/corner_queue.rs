//! Corners in the order in which they go: by area, then by how often they were looked at,
//! then by number. Knows not where they lie.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

/// A queue of corners. One that is put in again comes out again: whoever takes it out
/// knows by its looks which entry is the last.
///
/// # Method
/// Most corners are put in once, in the order of their numbers, and have few areas: they
/// are kept as lists, a number each. Only those looked at again need a heap.
#[derive(Debug, Default)]
pub(super) struct CornerQueue {
    by_area: BTreeMap<u64, OfArea>,
    /// What an area had that has no corner any more: its room serves the next.
    spare: Option<OfArea>,
}

/// The corners of one area.
#[derive(Debug, Default)]
struct OfArea {
    /// Looked at once.
    first: Vec<u32>,
    /// How many of these are out.
    taken: usize,
    /// Looked at again: looks and corner in one number.
    again: BinaryHeap<Reverse<u64>>,
}

impl CornerQueue {
    /// Puts a corner in; those looked at once come in rising order.
    pub(super) fn put(&mut self, area: u64, looks: u32, corner: u32) {
        let spare = &mut self.spare;
        let new = || spare.take().unwrap_or_default();
        let of_area = self.by_area.entry(area).or_insert_with(new);
        if looks <= 1 {
            of_area.first.push(corner);
        } else {
            let entry = u64::from(looks) << 32 | u64::from(corner);
            of_area.again.push(Reverse(entry));
        }
    }

    /// Takes the next corner out: its area, its looks and its number.
    #[expect(clippy::cast_possible_truncation, reason = "parts are cut out on purpose")]
    pub(super) fn take(&mut self) -> Option<(u64, u32, u32)> {
        loop {
            let mut lowest = self.by_area.first_entry()?;
            let area = *lowest.key();
            let of_area = lowest.get_mut();
            if let Some(&corner) = of_area.first.get(of_area.taken) {
                of_area.taken += 1;
                return Some((area, 1, corner));
            }
            if let Some(Reverse(entry)) = of_area.again.pop() {
                return Some((area, (entry >> 32) as u32, entry as u32));
            }
            self.spare = Some(OfArea {
                first: Vec::new(),
                taken: 0,
                ..lowest.remove()
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn corners_come_out_as_from_a_plain_heap(
            first in proptest::collection::vec(0_u64..5, 0..30),
            later in proptest::collection::vec((0_u64..5, 2_u32..4, 0_u32..30, 0_usize..3), 0..30),
        ) {
            let (mut queue, mut plain) = (CornerQueue::default(), BinaryHeap::new());
            for (corner, area) in (0..).zip(first) {
                queue.put(area, 1, corner);
                plain.push(Reverse((area, 1, corner)));
            }
            for (area, looks, corner, taken) in later {
                for _ in 0..taken {
                    prop_assert_eq!(queue.take(), plain.pop().map(|Reverse(entry)| entry));
                }
                queue.put(area, looks, corner);
                plain.push(Reverse((area, looks, corner)));
            }
            while let Some(Reverse(entry)) = plain.pop() {
                prop_assert_eq!(queue.take(), Some(entry));
            }
            prop_assert_eq!(queue.take(), None);
        }
    }
}
