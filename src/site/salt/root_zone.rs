//! Salinity of the root zone from the salt and the water that reach it in a year. Pure
//! numbers for one place: it knows no road and no layer.
//!
//! A screening estimate: what is meant is order and range.

use super::concentration::concentration_factor;
use crate::project::{RootZoneSettings, Told};

/// Salinity of the saturation extract through the year.
///
/// # Units
/// dS/m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Salinity {
    /// The mean of the year.
    pub mean: f64,
    /// The peak after the thaw.
    pub spring_peak: f64,
    /// What is left before the next winter.
    pub stays: f64,
}

/// The salinity of ground that gets so much salt and water each year.
///
/// # Units
/// `salt_g_m2`: grams of sodium chloride on a square metre and winter. `water_mm`: the
/// water surplus with what runs off the pavement, millimetres a year.
/// `leaching_fraction`: the share of that water that leaves below the root zone.
///
/// # Missing
/// Nothing without water: then nothing leaches, and the salt has no end.
///
/// # Method
/// Mean: the salt is dissolved in the water, and FAO 29's concentration factor turns
/// that into the `ECe` of the root zone, once the years repeat themselves. It was made
/// for irrigation in the growing season (its table from memory, unverified). Peak and rest: the root zone as a vessel of
/// `root_water_mm` that is mixed and flushed by the leaching water; in the year the
/// content falls by exp(-t), t the flushes a year, so that with the mean it is t / (1 -
/// exp(-t)) just after the winter and exp(-t) times that before the next. Derived here.
#[must_use]
pub fn salinity(
    salt_g_m2: f64,
    water_mm: f64,
    leaching_fraction: f64,
    settings: &RootZoneSettings,
) -> Option<Salinity> {
    let background = settings.background_ds_m;
    if salt_g_m2 <= 0.0 {
        return Some(Salinity {
            mean: background,
            spring_peak: background,
            stays: background,
        });
    }
    let known = salt_g_m2.is_finite() && water_mm > 0.0 && leaching_fraction > 0.0;
    if !known {
        return None;
    }
    let of_water = salt_g_m2 / water_mm * 1000.0 / settings.mg_per_litre;
    let mean = concentration_factor(leaching_fraction) * of_water;
    let flushes = water_mm * leaching_fraction / settings.root_water_mm;
    let left = (-flushes).exp();
    let peak = mean * flushes / -(-flushes).exp_m1();
    Some(Salinity {
        mean: background + mean,
        spring_peak: background + peak,
        stays: background + peak * left,
    })
}

impl Salinity {
    /// The one that counts as the factor's value.
    #[must_use]
    pub fn told(&self, which: Told) -> f64 {
        match which {
            Told::Mean => self.mean,
            Told::SpringPeak => self.spring_peak,
            Told::Stays => self.stays,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(salt: f64, water: f64, class: usize) -> Salinity {
        let settings = RootZoneSettings::default();
        salinity(salt, water, settings.leaching[class], &settings).unwrap()
    }

    /// Common practice, no source: salt is washed out of sand sooner than out of clay.
    #[test]
    fn ground_that_drains_is_less_saline_than_ground_that_does_not() {
        for class in 1..7 {
            let (drier, wetter) = (at(300.0, 250.0, class - 1), at(300.0, 250.0, class));
            assert!(drier.mean < wetter.mean, "{class}");
            assert!(drier.stays < wetter.stays, "{class}");
            assert!(drier.spring_peak < wetter.spring_peak, "{class}");
        }
        let sand = at(300.0, 250.0, 0);
        let clay = at(300.0, 250.0, 5);
        // Sand peaks and is flushed; clay keeps what it has.
        assert!(sand.spring_peak / sand.stays > 2.0 * clay.spring_peak / clay.stays);
        assert!(sand.stays < sand.mean && sand.mean < sand.spring_peak);
    }

    #[test]
    fn more_water_less_salinity_more_salt_more() {
        assert!(at(300.0, 400.0, 2).mean < at(300.0, 200.0, 2).mean);
        assert!(at(600.0, 200.0, 2).mean > at(300.0, 200.0, 2).mean);
    }

    /// A range, not a value: hundreds of grams beside a highway give the few dS/m to
    /// tens that saline soils have (USDA classes, Soil Survey Manual: strongly saline from 16).
    #[test]
    fn salinity_is_in_the_range_of_salted_soils() {
        for class in 0..7 {
            let mean = at(500.0, 250.0, class).mean;
            assert!((1.0..16.0).contains(&mean), "{class}: {mean}");
        }
    }

    /// 640 g in 1,000 mm is 640 mg/L, which is 1 dS/m; X at 0.5 is 0.7607.
    #[test]
    fn a_worked_value() {
        let mean = at(640.0, 1000.0, 2).mean;
        assert!((mean - 0.7607).abs() < 5e-5, "{mean}");
    }

    #[test]
    fn without_salt_there_is_background_and_without_water_nothing() {
        let settings = RootZoneSettings {
            background_ds_m: 0.4,
            ..RootZoneSettings::default()
        };
        assert_eq!(salinity(0.0, f64::NAN, f64::NAN, &settings).unwrap().mean, 0.4);
        assert_eq!(salinity(5.0, f64::NAN, 0.5, &settings), None);
        assert_eq!(salinity(5.0, 0.0, 0.5, &settings), None);
        assert_eq!(salinity(5.0, 100.0, f64::NAN, &settings), None);
        assert_eq!(salinity(f64::NAN, 100.0, 0.5, &settings), None);
    }
}
