//! Where to stop merging, and what zones that gives. A sequence of merges comes
//! in, the final zone of each zone of phase 1 goes out; knows no outlines.

use super::error::ZonesError;
use super::fidelity::Fidelity;
use super::merging::MergeSequence;
use super::runs::narrow;
use super::share::Share;

/// How many merges of a sequence are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cut {
    /// Merges made.
    pub merges: usize,
    /// Zones that gives.
    pub zones: u32,
    /// Fidelity of these zones.
    pub fidelity: Fidelity,
    /// What the user should be told of it.
    pub note: Option<CutNote>,
}

/// What a cut could not give.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CutNote {
    /// Phase 1 alone ends under the fidelity asked: a smaller `smallest` helps.
    UnderTargetFromTheStart,
    /// Phase 1 leaves fewer zones than asked: these are all.
    FewerThanAsked,
}

impl MergeSequence {
    /// The least number of zones that merging can reach.
    #[must_use]
    pub fn smallest_number(&self) -> u32 {
        self.zones - narrow(self.merges.len())
    }

    /// The cut after so many merges; all of them when there are fewer.
    #[must_use]
    pub fn cut_after(&self, merges: usize) -> Cut {
        let merges = merges.min(self.merges.len());
        let fidelity = merges
            .checked_sub(1)
            .map_or(self.start, |last| self.merges[last].fidelity);
        Cut {
            merges,
            zones: self.zones - narrow(merges),
            fidelity,
            note: None,
        }
    }

    /// The cut before the first merge that takes the fidelity under `target`; a
    /// fidelity of exactly `target` is kept.
    #[must_use]
    pub fn cut_at_fidelity(&self, target: Share) -> Cut {
        if !self.start.reaches(target) {
            let note = Some(CutNote::UnderTargetFromTheStart);
            return Cut {
                note,
                ..self.cut_after(0)
            };
        }
        let stop = self
            .merges
            .iter()
            .position(|merge| !merge.fidelity.reaches(target));
        self.cut_after(stop.unwrap_or(self.merges.len()))
    }

    /// The cut that leaves `zones` zones.
    ///
    /// # Errors
    /// When merging cannot reach so few; the error names the least number.
    pub fn cut_at_number(&self, zones: u32) -> Result<Cut, ZonesError> {
        let smallest = self.smallest_number();
        if zones < smallest {
            return Err(ZonesError::TooFewZones {
                asked: zones,
                smallest,
            });
        }
        if zones > self.zones {
            return Ok(Cut {
                note: Some(CutNote::FewerThanAsked),
                ..self.cut_after(0)
            });
        }
        Ok(self.cut_after((self.zones - zones) as usize))
    }

    /// The final zone of each zone of phase 1 at a cut.
    #[must_use]
    pub fn assignment(&self, cut: &Cut) -> ZoneAssignment {
        let mut parents: Vec<u32> = (0..=self.zones).collect();
        for merge in &self.merges[..cut.merges] {
            // The zone that stays has the lower number and is its own parent then.
            parents[merge.from as usize] = merge.into;
        }
        let mut zone_of = vec![0; parents.len()];
        let mut zones = 0;
        for zone in 1..parents.len() {
            let parent = parents[zone] as usize;
            zone_of[zone] = if parent == zone {
                zones += 1;
                zones
            } else {
                zone_of[parent]
            };
        }
        ZoneAssignment { zone_of, zones }
    }
}

/// The final zone of each zone of phase 1. Final zones are numbered from 1 in the
/// order of their first cells, north to south and west to east within a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ZoneAssignment {
    /// By number of phase 1; entry 0, for cells not rated, is 0.
    pub zone_of: Vec<u32>,
    /// Number of final zones.
    pub zones: u32,
}

#[cfg(test)]
#[path = "cut_tests.rs"]
mod tests;
