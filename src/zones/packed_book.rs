//! Short records of bytes in little room: one behind the other, with where each begins.
//! Knows not what a record says.

/// Records that nobody needs any more may take this share of the room before the others
/// are moved together.
const MOST_WASTE: usize = 8;

/// Records of some bytes each, by number; at first all are empty.
#[derive(Debug, Clone, Default)]
pub(super) struct PackedBook {
    bytes: Vec<u8>,
    starts: Vec<usize>,
    lengths: Vec<u32>,
    /// Bytes of records that were replaced.
    wasted: usize,
}

impl PackedBook {
    /// So many empty records.
    pub(super) fn new(records: usize) -> PackedBook {
        PackedBook {
            starts: vec![0; records],
            lengths: vec![0; records],
            ..PackedBook::default()
        }
    }

    /// Number of records.
    pub(super) fn len(&self) -> usize {
        self.starts.len()
    }

    /// The bytes of a record.
    #[inline]
    pub(super) fn record(&self, at: usize) -> &[u8] {
        let start = self.starts[at];
        &self.bytes[start..start + self.lengths[at] as usize]
    }

    /// Adds a record after the last.
    pub(super) fn push(&mut self, record: &[u8]) {
        self.starts.push(0);
        self.lengths.push(0);
        self.set(self.len() - 1, record);
    }

    /// Replaces a record: in its place when it fits there, else after all others.
    pub(super) fn set(&mut self, at: usize, record: &[u8]) {
        let before = self.lengths[at] as usize;
        // A record is at most some numbers a species and factor.
        self.lengths[at] = u32::try_from(record.len()).unwrap_or(u32::MAX);
        if record.len() <= before {
            let start = self.starts[at];
            self.bytes[start..start + record.len()].copy_from_slice(record);
            self.wasted += before - record.len();
            // What is empty stands at the front, which is never moved away.
            self.starts[at] = if record.is_empty() { 0 } else { start };
        } else {
            self.wasted += before;
            self.starts[at] = self.bytes.len();
            self.bytes.extend_from_slice(record);
        }
        if self.wasted > self.bytes.len() / MOST_WASTE {
            self.move_together();
        }
    }

    /// Moves all records down over what is wasted, in the order in which they stand.
    fn move_together(&mut self) {
        let mut order: Vec<usize> = (0..self.len()).filter(|&at| self.lengths[at] > 0).collect();
        order.sort_unstable_by_key(|&at| self.starts[at]);
        let mut end = 0;
        for at in order {
            let (start, length) = (self.starts[at], self.lengths[at] as usize);
            self.bytes.copy_within(start..start + length, end);
            self.starts[at] = end;
            end += length;
        }
        self.bytes.truncate(end);
        self.wasted = 0;
    }
}

impl PartialEq for PackedBook {
    fn eq(&self, other: &PackedBook) -> bool {
        self.len() == other.len() && (0..self.len()).all(|at| self.record(at) == other.record(at))
    }
}

impl Eq for PackedBook {}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn records_are_those_last_set(
            changes in prop::collection::vec((0_usize..20, prop::collection::vec(any::<u8>(), 0..40)), 0..200),
        ) {
            let mut plain: Vec<Vec<u8>> = vec![Vec::new(); 15];
            let mut book = PackedBook::new(15);
            for (at, record) in changes {
                if at < plain.len() {
                    book.set(at, &record);
                    plain[at] = record;
                } else {
                    book.push(&record);
                    plain.push(record);
                }
                prop_assert_eq!(book.len(), plain.len());
                let held: usize = plain.iter().map(Vec::len).sum();
                prop_assert!(book.bytes.len() <= held + held / 7 + 1);
            }
            for (at, record) in plain.iter().enumerate() {
                prop_assert_eq!(book.record(at), &record[..]);
            }
            let mut other = PackedBook::new(0);
            for record in &plain {
                other.push(record);
            }
            prop_assert_eq!(book, other);
        }
    }
}
