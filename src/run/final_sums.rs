//! Sums of the zones of a cut, made of those of the zones of phase 1 when they are asked
//! for: held all at once, unpacked, they would be the most of a run.

use super::counted::{Merged, shape_of};
use super::prepared::Prepared;
use crate::zones::{GroundShape, Members, SpeciesCells, ZoneAssignment, ZoneGround};

/// Sums of final zones, zone `n` at `n - 1`.
pub struct FinalSums<'a> {
    merged: &'a Merged,
    shape: GroundShape,
    zones: usize,
    /// The zones of phase 1 of each final zone, and of none.
    members: Members,
}

impl<'a> FinalSums<'a> {
    /// The sums at a cut.
    pub fn new(prepared: &Prepared, merged: &'a Merged, assignment: &ZoneAssignment) -> FinalSums<'a> {
        FinalSums {
            merged,
            shape: shape_of(prepared),
            zones: assignment.zones as usize,
            members: Members::of(&assignment.zone_of, assignment.zones as usize + 1),
        }
    }

    /// Number of zones.
    pub fn zones(&self) -> usize {
        self.zones
    }

    /// The zones of phase 1 of a final zone, by number.
    fn members(&self, zone: usize) -> &[u32] {
        self.members.of_group(zone + 1)
    }

    /// The same, each by its place.
    fn places(&self, zone: usize) -> impl Iterator<Item = usize> {
        self.members(zone).iter().map(|&member| member as usize - 1)
    }

    /// Cells of a zone.
    pub fn cells(&self, zone: usize) -> u64 {
        self.places(zone)
            .map(|member| self.merged.log.cells[member])
            .sum()
    }

    /// Area of a zone, in square millimetres.
    pub fn area_mm2(&self, zone: usize) -> u128 {
        self.places(zone)
            .map(|member| self.merged.areas_mm2[member])
            .sum()
    }

    /// Ground and ratings of a zone.
    pub fn ground(&self, zone: usize) -> ZoneGround {
        let mut grounds = self.places(zone).map(|member| self.merged.ground.ground(member));
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
    pub fn count_species(&self, zone: usize, counts: &mut SpeciesCells) {
        self.merged.log.tallies.read_all(self.members(zone), counts);
    }
}
