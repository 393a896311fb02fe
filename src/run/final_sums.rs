//! Sums of the zones of a cut, made of those of the zones of phase 1 when they are asked
//! for: held all at once, unpacked, they would be the most of a run.

use super::counted::{Merged, shape_of};
use super::prepared::Prepared;
use crate::zones::{GroundShape, ZoneAssignment, ZoneGround};

/// Sums of final zones, zone `n` at `n - 1`.
pub struct FinalSums<'a> {
    merged: &'a Merged,
    shape: GroundShape,
    /// Where the zones of phase 1 of each final zone begin, and where the last end.
    starts: Vec<u32>,
    /// Zones of phase 1 by place, one final zone after the other.
    members: Vec<u32>,
}

/// For each species the cells of a zone on which it is known and those that suit.
#[derive(Debug, Clone, Default)]
pub struct SpeciesCounts {
    /// Cells on which it is known.
    pub known: Vec<u32>,
    /// Cells that suit.
    pub suits: Vec<u32>,
}

impl<'a> FinalSums<'a> {
    /// The sums at a cut.
    pub fn new(prepared: &Prepared, merged: &'a Merged, assignment: &ZoneAssignment) -> FinalSums<'a> {
        let zone_of = &assignment.zone_of;
        let mut starts = vec![0u32; assignment.zones as usize + 2];
        for &zone in &zone_of[1..] {
            starts[zone as usize + 1] += 1;
        }
        // Now each entry is the number of members of the zone before; added up, with none
        // of zone 0, the place where the members of a zone begin.
        let mut sum = 0;
        for start in &mut starts {
            sum += *start;
            *start = sum;
        }
        let mut next = starts.clone();
        let mut members = vec![0; zone_of.len() - 1];
        for (member, &zone) in (0u32..).zip(&zone_of[1..]) {
            members[next[zone as usize] as usize] = member;
            next[zone as usize] += 1;
        }
        starts.remove(0);
        FinalSums {
            merged,
            shape: shape_of(prepared),
            starts,
            members,
        }
    }

    /// Number of zones.
    pub fn zones(&self) -> usize {
        self.starts.len() - 1
    }

    fn members(&self, zone: usize) -> impl Iterator<Item = usize> {
        let members = &self.members[self.starts[zone] as usize..self.starts[zone + 1] as usize];
        members.iter().map(|&member| member as usize)
    }

    /// Cells of a zone.
    pub fn cells(&self, zone: usize) -> u64 {
        self.members(zone)
            .map(|member| self.merged.log.cells[member])
            .sum()
    }

    /// Area of a zone, in square millimetres.
    pub fn area_mm2(&self, zone: usize) -> u128 {
        self.members(zone)
            .map(|member| self.merged.areas_mm2[member])
            .sum()
    }

    /// Ground and ratings of a zone.
    pub fn ground(&self, zone: usize) -> ZoneGround {
        let mut grounds = self.members(zone).map(|member| self.merged.ground.ground(member));
        let first = grounds.next();
        let mut ground = first.unwrap_or_else(|| ZoneGround::empty(&self.shape));
        grounds.for_each(|other| ground.merge(&other));
        ground
    }

    /// Cells of the whole site that suit each species, with those in no zone.
    pub fn suits_anywhere(&self) -> Vec<u64> {
        self.merged.log.tallies.suits_anywhere()
    }

    /// Puts the counts of the species of a zone in the place of others.
    pub fn count_species(&self, zone: usize, counts: &mut SpeciesCounts) {
        let tallies = &self.merged.log.tallies;
        for sums in [&mut counts.known, &mut counts.suits] {
            sums.clear();
            sums.resize(tallies.species(), 0);
        }
        for member in self.members(zone) {
            let member = u32::try_from(member + 1).unwrap_or(u32::MAX);
            for (sums, cells) in [
                (&mut counts.known, tallies.known(member)),
                (&mut counts.suits, tallies.suits(member)),
            ] {
                sums.iter_mut().zip(cells).for_each(|(sum, cells)| *sum += cells);
            }
        }
    }
}
