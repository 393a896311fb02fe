//! What phase 1 knows of each piece while regions are joined: its cells and, for
//! each species, the sum of 2 for suits and 1 for unknown over its cells. A piece
//! of one set needs no sums; a mixed one only those of species on which its cells
//! differ. Knows no borders and no thresholds.

use rayon::prelude::*;

use super::cost::Cost;
use super::regions::Regions;
use super::set_book::{SetBook, SetId};
use super::species_codes::CodePacker;
use super::voted_sums::VotedSums;

/// What a piece is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Content {
    /// All cells have one set.
    Pure(SetId),
    /// The number of an entry of [`Mixtures`].
    Mixed(u32),
}

/// The contents of mixed pieces, flat. An entry has three words for each word of
/// species: those that suit throughout, those unknown throughout, those on which
/// cells differ; and a sum for each bit of the last, in the order of the bits.
#[derive(Debug, Default)]
struct Mixtures {
    masks: Vec<u64>,
    starts: Vec<usize>,
    sums: Vec<u32>,
}

/// The pieces of a round, in the order of their first cells.
#[derive(Debug)]
pub(super) struct Pieces<'a> {
    book: &'a SetBook,
    words: usize,
    cells: Vec<u32>,
    contents: Vec<Content>,
    mixtures: Mixtures,
    no_words: Vec<u64>,
}

/// One piece, whatever it is made of.
#[derive(Clone, Copy)]
struct View<'a> {
    cells: u64,
    suits: &'a [u64],
    unknown: &'a [u64],
    mixed: &'a [u64],
    sums: &'a [u32],
}

impl View<'_> {
    fn sum(&self, word: usize, bit: u64, rank: &mut usize) -> u64 {
        if self.mixed[word] & bit == 0 {
            return self.cells * value(self.suits[word], self.unknown[word], bit);
        }
        *rank += 1;
        u64::from(self.sums[*rank - 1])
    }
}

fn value(suits: u64, unknown: u64, bit: u64) -> u64 {
    if suits & bit != 0 {
        2
    } else {
        u64::from(unknown & bit != 0)
    }
}

fn bits_of(mut word: u64) -> impl Iterator<Item = u64> {
    std::iter::from_fn(move || {
        let bit = word & word.wrapping_neg();
        word ^= bit;
        (bit != 0).then_some(bit)
    })
}

impl<'a> Pieces<'a> {
    /// A piece for each region.
    pub(super) fn of_regions(regions: &'a Regions) -> Pieces<'a> {
        let words = regions.book.layout().words();
        Pieces {
            book: &regions.book,
            words,
            cells: regions.regions.par_iter().map(|region| region.cells).collect(),
            contents: regions
                .regions
                .par_iter()
                .map(|region| Content::Pure(region.set))
                .collect(),
            mixtures: Mixtures::default(),
            no_words: vec![0; words],
        }
    }

    pub(super) fn len(&self) -> usize {
        self.cells.len()
    }

    pub(super) fn cells(&self) -> &[u32] {
        &self.cells
    }

    fn view(&self, piece: u32) -> View<'_> {
        let (at, words) = (piece as usize, self.words);
        let cells = u64::from(self.cells[at]);
        match self.contents[at] {
            Content::Pure(set) => View {
                cells,
                suits: self.book.suits(set),
                unknown: self.book.unknown(set),
                mixed: &self.no_words,
                sums: &[],
            },
            Content::Mixed(entry) => {
                let entry = entry as usize;
                let masks = &self.mixtures.masks[entry * 3 * words..(entry + 1) * 3 * words];
                View {
                    cells,
                    suits: &masks[..words],
                    unknown: &masks[words..2 * words],
                    mixed: &masks[2 * words..],
                    sums: &self.mixtures.sums[self.mixtures.starts[entry]..],
                }
            }
        }
    }

    /// What joining two pieces costs.
    pub(super) fn cost(&self, one: u32, other: u32) -> Cost {
        let (one, other) = (self.view(one), self.view(other));
        let (mut quarters, mut is_mixed) = (0_u128, false);
        for word in 0..self.words {
            let mixed = one.mixed[word] | other.mixed[word];
            let unlike = one.unknown[word] ^ other.unknown[word];
            let opposite = (one.suits[word] ^ other.suits[word]) & !(one.unknown[word] | other.unknown[word]);
            quarters += u128::from(4 * (opposite & !mixed).count_ones() + (unlike & !mixed).count_ones());
            is_mixed |= mixed != 0;
        }
        let product = u128::from(one.cells) * u128::from(other.cells);
        if !is_mixed {
            return Cost::new(quarters * product, 4 * u128::from(one.cells + other.cells));
        }
        let mut squares = quarters * product * product;
        let (mut rank, mut other_rank) = (0, 0);
        for word in 0..self.words {
            for bit in bits_of(one.mixed[word] | other.mixed[word]) {
                let sum = u128::from(one.sum(word, bit, &mut rank)) * u128::from(other.cells);
                let other_sum = u128::from(other.sum(word, bit, &mut other_rank)) * u128::from(one.cells);
                let difference = sum.abs_diff(other_sum);
                squares += difference * difference;
            }
        }
        Cost::from_squares(squares, one.cells, other.cells)
    }

    /// The pieces after a round: new piece `n` is made of the old ones
    /// `members[starts[n]..starts[n + 1]]`.
    pub(super) fn joined(&self, starts: &[u32], members: &[u32]) -> Pieces<'a> {
        const AT_ONCE: usize = 4096;
        let count = starts.len() - 1;
        let parts: Vec<(Vec<u32>, Vec<Content>, Mixtures)> = (0..count.div_ceil(AT_ONCE))
            .into_par_iter()
            .map(|part| {
                let mut mixtures = Mixtures::default();
                let (mut cells, mut contents) = (Vec::with_capacity(AT_ONCE), Vec::with_capacity(AT_ONCE));
                for new in part * AT_ONCE..((part + 1) * AT_ONCE).min(count) {
                    let members = &members[starts[new] as usize..starts[new + 1] as usize];
                    cells.push(members.iter().map(|&old| self.cells[old as usize]).sum());
                    contents.push(self.join(members, &mut mixtures));
                }
                (cells, contents, mixtures)
            })
            .collect();
        let mut pieces = Pieces {
            book: self.book,
            words: self.words,
            cells: Vec::with_capacity(count),
            contents: Vec::with_capacity(count),
            mixtures: Mixtures::default(),
            no_words: self.no_words.clone(),
        };
        for (cells, contents, mixtures) in parts {
            let (entries, sums) = (pieces.mixtures.starts.len(), pieces.mixtures.sums.len());
            pieces.cells.extend(cells);
            pieces
                .contents
                .extend(contents.into_iter().map(|content| match content {
                    Content::Mixed(entry) => Content::Mixed(entry + super::runs::narrow(entries)),
                    Content::Pure(set) => Content::Pure(set),
                }));
            pieces.mixtures.masks.extend(mixtures.masks);
            pieces
                .mixtures
                .starts
                .extend(mixtures.starts.into_iter().map(|start| start + sums));
            pieces.mixtures.sums.extend(mixtures.sums);
        }
        pieces
    }

    fn join(&self, members: &[u32], mixtures: &mut Mixtures) -> Content {
        let first = self.contents[members[0] as usize];
        if let Content::Pure(_) = first
            && members
                .iter()
                .all(|&member| self.contents[member as usize] == first)
        {
            return first;
        }
        let words = self.words;
        let entry = super::runs::narrow(mixtures.starts.len());
        let (at, start) = (mixtures.masks.len(), mixtures.sums.len());
        let pattern = self.view(members[0]);
        mixtures
            .masks
            .extend(pattern.suits.iter().chain(pattern.unknown).chain(pattern.mixed));
        let masks = &mut mixtures.masks[at..];
        for &member in &members[1..] {
            let view = self.view(member);
            for word in 0..words {
                let unlike = (masks[word] ^ view.suits[word]) | (masks[words + word] ^ view.unknown[word]);
                masks[2 * words + word] |= unlike | view.mixed[word];
            }
        }
        for word in 0..words {
            let mixed = masks[2 * words + word];
            masks[word] &= !mixed;
            masks[words + word] &= !mixed;
            mixtures
                .sums
                .extend(std::iter::repeat_n(0, mixed.count_ones() as usize));
        }
        for &member in members {
            let view = self.view(member);
            let (mut rank, mut at) = (0, start);
            for word in 0..words {
                for bit in bits_of(masks[2 * words + word]) {
                    // Sums are at most twice the cells of the site, under 2^32.
                    mixtures.sums[at] += u32::try_from(view.sum(word, bit, &mut rank)).unwrap_or(u32::MAX);
                    at += 1;
                }
            }
        }
        mixtures.starts.push(start);
        Content::Mixed(entry)
    }

    /// The sums of every piece.
    pub(super) fn all_sums(&self, species: usize) -> VotedSums {
        const AT_ONCE: usize = 4096;
        let parts: Vec<VotedSums> = (0..self.len().div_ceil(AT_ONCE))
            .into_par_iter()
            .map(|part| {
                let (mut packed, mut packer) = (VotedSums::new(species), CodePacker::default());
                let mut sums = vec![0; species];
                for piece in part * AT_ONCE..((part + 1) * AT_ONCE).min(self.len()) {
                    let view = self.view(super::runs::narrow(piece));
                    let mut rank = 0;
                    for (at, sum) in sums.iter_mut().enumerate() {
                        let sum_of_bit = view.sum(at / 64, 1 << (at % 64), &mut rank);
                        *sum = u32::try_from(sum_of_bit).unwrap_or(u32::MAX);
                    }
                    packed.push(&mut packer, self.cells[piece], &sums);
                }
                packed
            })
            .collect();
        let mut all = VotedSums::new(species);
        for part in &parts {
            all.append(part);
        }
        all
    }
}
