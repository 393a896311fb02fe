//! What a zone has of a factor and what a species would need of it, in words.

use super::prepared::Prepared;
use crate::output::{FoundAndNeeded, ZoneSpeciesText};
use crate::rating::{Needs, found_text};
use crate::score::Class;
use crate::zones::{GroundValue, Zone, ZoneSpecies};

/// Asks what is found and needed in the zones of a run.
pub struct ZoneNeeds<'a> {
    prepared: &'a Prepared<'a>,
    zones: &'a [Zone],
    needs: Needs<'a>,
}

impl<'a> ZoneNeeds<'a> {
    /// Needs in the units of the project.
    pub fn new(prepared: &'a Prepared<'a>, zones: &'a [Zone]) -> ZoneNeeds<'a> {
        ZoneNeeds {
            prepared,
            zones,
            needs: Needs::new(&prepared.questions, prepared.project.units),
        }
    }

    /// Each factor that limits a species in a zone, with the values that it would need: a
    /// listed species for the first class, another for the wanted one.
    ///
    /// # Missing
    /// No text where no value of the factor would do.
    pub fn of_each_limit(&self, zone: usize, entry: &ZoneSpecies) -> Vec<(usize, Option<String>)> {
        if entry.reasons.limited_by.is_empty() {
            return Vec::new();
        }
        let values = self.typical(zone);
        let limits = entry.reasons.limited_by.iter();
        limits
            .map(|&factor| (factor, self.needed(entry, factor, &values)))
            .collect()
    }

    fn typical(&self, zone: usize) -> Vec<f32> {
        self.zones[zone].ground.iter().map(typical).collect()
    }

    fn needed(&self, entry: &ZoneSpecies, factor: usize, values: &[f32]) -> Option<String> {
        let settings = &self.prepared.settings;
        let least = if entry.listing.is_listed() {
            settings.limits.lowest_of(Class::S1)
        } else {
            settings.wanted()
        };
        self.needs.text(entry.index(), factor, values, least)
    }
}

impl FoundAndNeeded for ZoneNeeds<'_> {
    /// Of the factor that limits most.
    fn found_and_needed(&self, zone: usize, entry: &ZoneSpecies) -> ZoneSpeciesText {
        let Some(&factor) = entry.reasons.limited_by.first() else {
            return ZoneSpeciesText::default();
        };
        let values = self.typical(zone);
        let factors = self.prepared.site.factors();
        let units = self.prepared.project.units;
        ZoneSpeciesText {
            found: found_text(&factors[factor], values[factor], units),
            needed: self.needed(entry, factor, &values).unwrap_or_default(),
        }
    }
}

/// The value that stands for a zone's ground.
#[expect(
    clippy::cast_possible_truncation,
    reason = "values are held in single precision"
)]
fn typical(ground: &GroundValue) -> f32 {
    match ground {
        GroundValue::Measured { mean, .. } => *mean as f32,
        GroundValue::Class { class, .. } => f32::from(*class),
        GroundValue::Missing => f32::NAN,
    }
}
