//! Counts of the zones of phase 2 that others have joined, in places that are used again
//! when a zone is gone. Knows neither borders nor costs.

use crate::zones::fidelity::Fidelity;
use crate::zones::runs::narrow;
use crate::zones::species_codes::{SpeciesCodes, WORD};

const NOWHERE: u32 = u32::MAX;

/// Counts of some of many zones.
#[derive(Debug)]
pub(super) struct JoinedCounts {
    species: usize,
    words: usize,
    /// The place of each zone that has counts here.
    places: Vec<u32>,
    free: Vec<u32>,
    packed: Vec<Packed>,
    /// The means of each place: they are asked for most, and few species are alike in all
    /// cells of such a zone.
    means: Vec<[f32; WORD]>,
}

/// Packed counts of a zone.
#[derive(Debug, Clone, Default)]
struct Packed {
    sums: Vec<u8>,
    tally: Vec<u8>,
    fidelity: Fidelity,
}

impl JoinedCounts {
    /// Counts of none of so many zones.
    pub(super) fn new(zones: usize, species: usize) -> JoinedCounts {
        JoinedCounts {
            species,
            words: species.div_ceil(WORD),
            places: vec![NOWHERE; zones],
            free: Vec::new(),
            packed: Vec::new(),
            means: Vec::new(),
        }
    }

    /// The packed sums of a zone that has counts here.
    #[inline(always)]
    pub(super) fn sums(&self, zone: u32) -> Option<SpeciesCodes<'_>> {
        let packed = self.packed.get(self.places[zone as usize] as usize)?;
        Some(SpeciesCodes::of(&packed.sums, self.species))
    }

    /// The packed tally of a zone that has counts here.
    #[inline(always)]
    pub(super) fn tally(&self, zone: u32) -> Option<SpeciesCodes<'_>> {
        let packed = self.packed.get(self.places[zone as usize] as usize)?;
        Some(SpeciesCodes::of(&packed.tally, self.species))
    }

    /// The means of a zone that has counts here.
    #[inline(always)]
    pub(super) fn means(&self, zone: u32) -> Option<&[[f32; WORD]]> {
        let place = self.places[zone as usize];
        if place == NOWHERE {
            return None;
        }
        Some(&self.means[place as usize * self.words..][..self.words])
    }

    /// The fidelity of a zone that has counts here with its list.
    pub(super) fn fidelity(&self, zone: u32) -> Option<Fidelity> {
        let packed = self.packed.get(self.places[zone as usize] as usize)?;
        Some(packed.fidelity)
    }

    /// Keeps the packed sums of a zone.
    pub(super) fn set_sums(&mut self, zone: u32, sums: &[u8]) {
        let room = &mut self.packed_of(zone).sums;
        room.clear();
        room.extend_from_slice(sums);
    }

    /// Keeps the packed tally of a zone, and the fidelity that follows from it.
    pub(super) fn set_tally(&mut self, zone: u32, tally: &[u8], fidelity: Fidelity) {
        let packed = self.packed_of(zone);
        packed.tally.clear();
        packed.tally.extend_from_slice(tally);
        packed.fidelity = fidelity;
    }

    /// Keeps the means of a zone.
    pub(super) fn set_means(&mut self, zone: u32, means: &[[f32; WORD]]) {
        let place = self.place(zone);
        self.means[place * self.words..][..self.words].copy_from_slice(means);
    }

    /// Gives back the room of a zone.
    pub(super) fn forget(&mut self, zone: u32) {
        let place = std::mem::replace(&mut self.places[zone as usize], NOWHERE);
        if place != NOWHERE {
            self.packed[place as usize] = Packed::default();
            self.free.push(place);
        }
    }

    fn packed_of(&mut self, zone: u32) -> &mut Packed {
        let place = self.place(zone);
        &mut self.packed[place]
    }

    /// The place of a zone; a zone without one gets one.
    fn place(&mut self, zone: u32) -> usize {
        let place = &mut self.places[zone as usize];
        if *place == NOWHERE {
            *place = self.free.pop().unwrap_or(narrow(self.packed.len()));
            if *place as usize == self.packed.len() {
                self.packed.push(Packed::default());
                self.means.resize(self.packed.len() * self.words, [0.0; WORD]);
            }
        }
        *place as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn zones_keep_what_is_theirs(changes in prop::collection::vec((0_u32..6, any::<bool>(), 1_u8..9), 0..60)) {
            let mut plain = [None; 6];
            let mut joined = JoinedCounts::new(6, 70);
            for (zone, stays, count) in changes {
                plain[zone as usize] = stays.then_some(count);
                if stays {
                    joined.set_sums(zone, &[1; 33][..]);
                    let fidelity = Fidelity {
                        suits: count.into(),
                        ..Fidelity::default()
                    };
                    joined.set_tally(zone, &[&[1; 33][..], &[count]].concat(), fidelity);
                    joined.set_means(zone, &[[f32::from(count); WORD]; 2]);
                } else {
                    joined.forget(zone);
                }
                for (zone, count) in (0..).zip(plain) {
                    prop_assert_eq!(joined.sums(zone).is_some(), count.is_some());
                    let number = joined.tally(zone).map(|mut codes| codes.next_number());
                    prop_assert_eq!(number, count.map(u32::from));
                    let suits = joined.fidelity(zone).map(|fidelity| fidelity.suits);
                    prop_assert_eq!(suits, count.map(u64::from));
                    let mean = joined.means(zone).map(|means| means[1][5]);
                    prop_assert_eq!(mean, count.map(f32::from));
                }
                prop_assert!(joined.packed.len() <= 6);
            }
        }
    }
}
