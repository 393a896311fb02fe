//! What is recorded of a species, as the rules ask for it.

use super::{Level, Light, Moisture, Shade, SprayLevel, Status, span};
use crate::project::RuleSettings;
use crate::species::{Source, SourceKind, Species, Trait};

/// The traits that hold a wetland status, each with the region it is of, in the
/// order in which they are looked at unless the project names its own first.
pub const WETLAND_LISTS: [(&str, &str); 3] = [
    ("midwest", "Midwest"),
    ("northcentral_northeast", "Northcentral and Northeast"),
    ("michigan", "Michigan"),
];

/// One species and what the rules may use.
pub(super) struct Evidence<'a> {
    pub(super) species: &'a Species,
    pub(super) sources: &'a [Source],
    pub(super) settings: &'a RuleSettings,
}

/// A recorded value that could be read, as it is told and by whom.
#[derive(Debug, Clone, Copy)]
pub(super) struct Recorded<'a, T> {
    pub(super) value: T,
    pub(super) told: &'a str,
    pub(super) source: &'a str,
}

impl<'a> Evidence<'a> {
    /// The value of a trait, read by `read`; nothing where it is absent or no such word.
    fn recorded<T>(&self, name: &str, read: impl Fn(&str) -> Option<T>) -> Option<Recorded<'a, T>> {
        let held: &'a Trait = self.species.trait_of(name)?;
        Some(Recorded {
            value: read(&held.value)?,
            told: &held.value,
            source: &held.source,
        })
    }

    /// The wetland status of the first region that has one, with the region's name.
    pub(super) fn status(&self) -> Option<(Recorded<'a, Status>, &'static str)> {
        let own = self.settings.wetland_region.as_deref();
        let first = WETLAND_LISTS.iter().filter(|(id, _)| own == Some(*id));
        let others = WETLAND_LISTS.iter().filter(|(id, _)| own != Some(*id));
        first.chain(others).find_map(|(id, region)| {
            let status = self.recorded(&format!("wetland_{id}"), Status::from_word)?;
            Some((status, *region))
        })
    }

    pub(super) fn anaerobic(&self) -> Option<Recorded<'a, Level>> {
        self.recorded("recorded_anaerobic_tolerance", Level::from_word)
    }

    pub(super) fn drought(&self) -> Option<Recorded<'a, Level>> {
        self.recorded("recorded_drought_tolerance", Level::from_word)
    }

    /// Where common practice plants it, from the drier end.
    pub(super) fn moisture_range(&self) -> Option<Recorded<'a, (Moisture, Moisture)>> {
        self.recorded("moisture_range", |text| span(text, Moisture::from_word))
    }

    pub(super) fn shade(&self) -> Option<Recorded<'a, Shade>> {
        self.recorded("recorded_shade_tolerance", Shade::from_word)
    }

    /// The light in which common practice plants it, from the brighter end.
    pub(super) fn light_range(&self) -> Option<Recorded<'a, (Light, Light)>> {
        self.recorded("light_range", |text| span(text, Light::from_word))
    }

    pub(super) fn ph_limits(&self) -> Option<(Recorded<'a, f64>, Recorded<'a, f64>)> {
        let number = |text: &str| text.parse().ok().filter(|value: &f64| value.is_finite());
        let lowest = self.recorded("recorded_ph_lowest", number)?;
        let highest = self.recorded("recorded_ph_highest", number)?;
        (lowest.value < highest.value).then_some((lowest, highest))
    }

    pub(super) fn salinity(&self) -> Option<Recorded<'a, Level>> {
        self.recorded("recorded_salinity_tolerance", Level::from_word)
    }

    pub(super) fn spray(&self) -> Option<Recorded<'a, SprayLevel>> {
        self.recorded("spray_tolerance", SprayLevel::from_word)
    }

    /// Whether it is recorded as adapted to coarse, medium and fine textured soils.
    pub(super) fn textures(&self) -> Option<Recorded<'a, [bool; 3]>> {
        self.recorded("recorded_textures", |text| {
            let words: Vec<&str> = text.split(';').map(str::trim).collect();
            let known = ["coarse", "medium", "fine"];
            let sound = words.iter().all(|word| known.contains(word));
            sound.then(|| known.map(|group| words.contains(&group)))
        })
    }

    pub(super) fn carbonates(&self) -> Option<Recorded<'a, Level>> {
        self.recorded("recorded_carbonate_tolerance", Level::from_word)
    }

    /// The lowest mean yearly minimum in degrees C of its hardiness zone, where a
    /// published source gives the zone.
    pub(super) fn hardiness(&self) -> Option<Recorded<'a, f64>> {
        let zone = self.recorded("hardiness_zone", zone_minimum_c)?;
        let published = |source: &&Source| source.id == zone.source && source.kind == SourceKind::Published;
        self.sources.iter().find(published).map(|_| zone)
    }

    pub(super) fn level_ground(&self) -> Option<Recorded<'a, ()>> {
        self.recorded("slope_use", |text| (text == "level ground").then_some(()))
    }
}

/// The mean yearly minimum at which a plant hardiness zone begins, in degrees C.
///
/// # Method
/// United States Department of Agriculture, Plant Hardiness Zone Map: zone 1 begins
/// at -60 degrees F, each zone spans 10, and half zone b begins 5 above a.
fn zone_minimum_c(zone: &str) -> Option<f64> {
    let zone = zone.trim();
    let (number, half) = match zone.strip_suffix(['a', 'b']) {
        Some(number) => (number, if zone.ends_with('b') { 5.0 } else { 0.0 }),
        None => (zone, 0.0),
    };
    let number: u8 = number.parse().ok().filter(|number| (1..=13).contains(number))?;
    let fahrenheit = -60.0 + 10.0 * f64::from(number - 1) + half;
    Some((fahrenheit - 32.0) / 1.8)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// USDA Plant Hardiness Zone Map, 2012: zone 4b is -25 to -20 degrees F, 5a
    /// -20 to -15 (-28.9 to -26.1 degrees C), 1a -60 to -55.
    #[test]
    fn zones_begin_where_the_map_has_them() {
        let rounded = |zone| zone_minimum_c(zone).map(|degrees| (degrees * 10.0).round() / 10.0);
        assert_eq!(rounded("5a"), Some(-28.9));
        assert_eq!(rounded("5"), Some(-28.9));
        assert_eq!(rounded("4b"), Some(-31.7));
        assert_eq!(rounded("1a"), Some(-51.1));
        assert_eq!(rounded("0"), None);
        assert_eq!(rounded("14"), None);
        assert_eq!(rounded("mild"), None);
    }
}
