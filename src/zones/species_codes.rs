//! One of four codes for each species of a zone, and numbers for those species whose
//! code does not tell all, packed into bytes: most species are alike in all cells of a
//! zone, so that few need a number. Knows not what codes and numbers mean.

/// Species of one word of codes.
pub(super) const WORD: usize = 64;

/// The code of a species that a number tells more of.
pub(super) const OTHER: u8 = 3;

/// Packs codes and numbers.
///
/// # Method
/// A byte with the width of the numbers, a bit for each species of the lower halves of the
/// codes, as many of the upper halves, both in whole words, then the numbers as they came,
/// each in as many bytes as the largest needs.
#[derive(Debug, Clone, Default)]
pub(super) struct CodePacker {
    low: Vec<u64>,
    high: Vec<u64>,
    numbers: Vec<u32>,
    record: Vec<u8>,
}

impl CodePacker {
    /// Begins with code 0 for all of so many species.
    pub(super) fn begin(&mut self, species: usize) {
        for half in [&mut self.low, &mut self.high] {
            half.clear();
            half.resize(species.div_ceil(WORD), 0);
        }
        self.numbers.clear();
    }

    /// Sets the code of a species that has code 0 so far.
    pub(super) fn set(&mut self, species: usize, code: u8) {
        let (word, bit) = (species / WORD, species % WORD);
        self.low[word] |= u64::from(code & 1) << bit;
        self.high[word] |= u64::from(code >> 1) << bit;
    }

    /// Adds a number after the last.
    pub(super) fn number(&mut self, number: u32) {
        self.numbers.push(number);
    }

    /// The packed bytes.
    pub(super) fn record(&mut self) -> &[u8] {
        let width = match self.numbers.iter().max() {
            None | Some(..=0xff) => 1,
            Some(..=0xffff) => 2,
            Some(_) => 4,
        };
        self.record.clear();
        self.record.push(width);
        for word in self.low.iter().chain(&self.high) {
            self.record.extend(word.to_le_bytes());
        }
        for number in &self.numbers {
            self.record.extend(&number.to_le_bytes()[..usize::from(width)]);
        }
        &self.record
    }
}

/// Reads packed codes word by word, and numbers one by one; of an empty record all are 0.
#[derive(Debug, Clone, Copy)]
pub(super) struct SpeciesCodes<'r> {
    low: &'r [u8],
    high: &'r [u8],
    width: u8,
    numbers: &'r [u8],
}

impl<'r> SpeciesCodes<'r> {
    /// The codes of so many species.
    #[inline(always)]
    pub(super) fn of(record: &'r [u8], species: usize) -> SpeciesCodes<'r> {
        let Some((&width, codes)) = record.split_first() else {
            return SpeciesCodes {
                low: &[],
                high: &[],
                width: 1,
                numbers: &[],
            };
        };
        let (low, rest) = codes.split_at(species.div_ceil(WORD) * 8);
        let (high, numbers) = rest.split_at(low.len());
        SpeciesCodes {
            low,
            high,
            width,
            numbers,
        }
    }

    /// The lower and upper halves of the codes of the next species.
    #[inline(always)]
    pub(super) fn next_word(&mut self) -> [u64; 2] {
        [&mut self.low, &mut self.high].map(|half| {
            let Some((word, rest)) = half.split_first_chunk() else {
                return 0;
            };
            *half = rest;
            u64::from_le_bytes(*word)
        })
    }

    /// The next number.
    #[inline(always)]
    pub(super) fn next_number(&mut self) -> u32 {
        match self.width {
            1 => take(&mut self.numbers).map_or(0, |[byte]| u32::from(byte)),
            2 => take(&mut self.numbers).map_or(0, |bytes| u32::from(u16::from_le_bytes(bytes))),
            _ => take(&mut self.numbers).map_or(0, u32::from_le_bytes),
        }
    }
}

#[inline(always)]
fn take<const BYTES: usize>(left: &mut &[u8]) -> Option<[u8; BYTES]> {
    let (bytes, rest) = left.split_first_chunk()?;
    *left = rest;
    Some(*bytes)
}

/// Calls `visit` with each place of a one in a word, lowest first.
#[inline(always)]
pub(super) fn each_one(mut word: u64, mut visit: impl FnMut(usize)) {
    while word != 0 {
        visit(word.trailing_zeros() as usize);
        word &= word - 1;
    }
}

/// For each byte of a set a byte of 1 for each species in it.
static SPREAD: [u64; 256] = spread();

const fn spread() -> [u64; 256] {
    let mut spread = [0; 256];
    let mut set = 0;
    while set < 256 {
        let mut species = 0;
        while species < 8 {
            spread[set] |= (set as u64 >> species & 1) << (8 * species);
            species += 1;
        }
        set += 1;
    }
    spread
}

/// The codes of a word of species from their lower and upper halves.
#[inline(always)]
pub(super) fn codes_of([low, high]: [u64; 2]) -> [u8; WORD] {
    let mut codes = [0; WORD];
    let halves = low.to_le_bytes().into_iter().zip(high.to_le_bytes());
    for (codes, (low, high)) in codes.as_chunks_mut::<8>().0.iter_mut().zip(halves) {
        // A byte for each species; none runs over into the next.
        let spread = SPREAD[usize::from(low)] + 2 * SPREAD[usize::from(high)];
        *codes = spread.to_le_bytes();
    }
    codes
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn codes_and_numbers_come_out_as_they_went_in(
            codes in prop::collection::vec(0_u8..4, 0..200),
            numbers in prop::collection::vec(any::<u32>(), 0..20),
            most in prop::sample::select(vec![0xff, 0xffff, u32::MAX]),
        ) {
            let numbers: Vec<u32> = numbers.iter().map(|number| number & most).collect();
            let mut packer = CodePacker::default();
            packer.begin(7);
            packer.set(3, OTHER);
            packer.number(9);
            packer.begin(codes.len());
            for (species, &code) in codes.iter().enumerate() {
                packer.set(species, code);
            }
            for &number in &numbers {
                packer.number(number);
            }
            let mut read = SpeciesCodes::of(packer.record(), codes.len());
            for of_word in codes.chunks(WORD) {
                let word = read.next_word();
                let unpacked = codes_of(word);
                prop_assert_eq!(&unpacked[..of_word.len()], of_word);
                prop_assert!(unpacked[of_word.len()..].iter().all(|&code| code == 0));
                let mut others = Vec::new();
                each_one(word[0] & word[1], |species| others.push(species));
                let plain: Vec<usize> = (0..of_word.len()).filter(|&at| of_word[at] == OTHER).collect();
                prop_assert_eq!(others, plain);
            }
            prop_assert_eq!(read.next_word(), [0, 0]);
            for number in numbers {
                prop_assert_eq!(read.next_number(), number);
            }
        }
    }

    #[test]
    fn an_empty_record_is_all_zeros() {
        let mut codes = SpeciesCodes::of(&[], 100);
        assert_eq!((codes.next_word(), codes.next_number()), ([0, 0], 0));
    }
}
