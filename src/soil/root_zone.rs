//! Salinity of the root zone from the salty water that reaches it in a year, and from
//! how the soil drains. Pure numbers for one place: it knows no road and no layer.
//!
//! A screening estimate: what is meant is order and range.

use super::concentration::concentration_factor;

/// Which salinity of the year is the factor's value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    /// The mean of the year: the default.
    Mean,
    /// The peak after the thaw.
    SpringPeak,
    /// What is left before the next winter.
    Stays,
}

/// What all root zones of a site have in common.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RootZone {
    /// For each drainage class, driest first, the share of the water that leaves below
    /// the root zone.
    pub leaching: [f64; 7],
    /// Water that it holds, in millimetres.
    pub root_water_mm: f64,
    /// Salinity where no salt arrives, in dS/m.
    pub background_ds_m: f64,
    /// Which salinity counts.
    pub tells: Told,
    /// More than so much no soil water holds, in dS/m.
    pub most_ds_m: f64,
}

/// The water that enters the ground in a year, with the salt in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltyWater {
    /// Its salinity in dS/m; 0 where no salt arrives, and not a number where salt
    /// arrives without a known amount of water.
    pub ds_m: f64,
    /// Its amount in millimetres a year.
    pub mm: f64,
}

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

impl SaltyWater {
    /// So much salt in so much water.
    ///
    /// # Units
    /// Grams of sodium chloride on a square metre and winter, millimetres a year, and
    /// milligrams in a litre of water of 1 dS/m.
    #[must_use]
    pub fn of(salt_g_m2: f64, mm: f64, mg_per_litre: f64) -> SaltyWater {
        let ds_m = if salt_g_m2 <= 0.0 {
            0.0
        } else if salt_g_m2.is_finite() && mm > 0.0 {
            salt_g_m2 / mm * 1000.0 / mg_per_litre
        } else {
            f64::NAN
        };
        SaltyWater { ds_m, mm }
    }
}

impl RootZone {
    /// The salinity of ground that gets such water each year.
    ///
    /// # Units
    /// `leaching_fraction`: the share of that water that leaves below the root zone.
    ///
    /// # Missing
    /// Nothing where the water is not known, or none of it leaches: then the salt has
    /// no end.
    ///
    /// # Method
    /// Mean: the salt is dissolved in the water, and FAO 29's concentration factor turns
    /// that into the `ECe` of the root zone, once the years repeat themselves. It was made
    /// for irrigation in the growing season (its table from memory, unverified). Peak and
    /// rest: the root zone as a vessel of `root_water_mm` that is mixed and flushed by the
    /// leaching water; in the year the content falls by exp(-t), t the flushes a year, so
    /// that with the mean it is t / (1 - exp(-t)) just after the winter and exp(-t) times
    /// that before the next. Derived here.
    #[must_use]
    pub fn salinity(&self, water: SaltyWater, leaching_fraction: f64) -> Option<Salinity> {
        let background = self.background_ds_m;
        if water.ds_m <= 0.0 {
            return Some(Salinity {
                mean: background,
                spring_peak: background,
                stays: background,
            });
        }
        let known = water.ds_m.is_finite() && water.mm > 0.0 && leaching_fraction > 0.0;
        if !known {
            return None;
        }
        let mean = concentration_factor(leaching_fraction) * water.ds_m;
        let flushes = water.mm * leaching_fraction / self.root_water_mm;
        let left = (-flushes).exp();
        let peak = mean * flushes / -(-flushes).exp_m1();
        Some(Salinity {
            mean: background + mean,
            spring_peak: background + peak,
            stays: background + peak * left,
        })
    }

    /// The share of the water that leaches in a drainage class.
    ///
    /// # Missing
    /// Not a number without a class.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "class factors hold small whole indices"
    )]
    pub fn leaching_of(&self, drainage: f32) -> f64 {
        if drainage.is_nan() {
            return f64::NAN;
        }
        self.leaching.get(drainage as usize).copied().unwrap_or(f64::NAN)
    }

    /// The salinity that counts, of a soil of a drainage class; it may be more than a
    /// soil can hold.
    ///
    /// # Missing
    /// Not a number where [`RootZone::salinity`] has nothing to tell.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        reason = "values are held in single precision"
    )]
    pub fn reckoned_ds_m(&self, water: SaltyWater, drainage: f32) -> f32 {
        let found = self.salinity(water, self.leaching_of(drainage));
        found.map_or(f32::NAN, |found| found.told(self.tells) as f32)
    }

    /// The same, missing where it is more than a soil can hold.
    #[must_use]
    pub fn ds_m(&self, water: SaltyWater, drainage: f32) -> f32 {
        let found = self.reckoned_ds_m(water, drainage);
        if self.holds(found) { found } else { f32::NAN }
    }

    /// Whether a soil can hold so much; also where nothing is known.
    #[must_use]
    pub fn holds(&self, ds_m: f32) -> bool {
        ds_m.is_nan() || f64::from(ds_m) <= self.most_ds_m
    }
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

    const ZONE: RootZone = RootZone {
        leaching: [0.7, 0.6, 0.5, 0.4, 0.25, 0.15, 0.1],
        root_water_mm: 150.0,
        background_ds_m: 0.0,
        tells: Told::Mean,
        most_ds_m: 200.0,
    };

    fn at(salt: f64, water: f64, class: usize) -> Salinity {
        let water = SaltyWater::of(salt, water, 640.0);
        ZONE.salinity(water, ZONE.leaching[class]).unwrap()
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
        let zone = RootZone {
            background_ds_m: 0.4,
            ..ZONE
        };
        let nan = f64::NAN;
        let salinity = |salt, mm, share| zone.salinity(SaltyWater::of(salt, mm, 640.0), share);
        assert_eq!(salinity(0.0, nan, nan).unwrap().mean, 0.4);
        assert_eq!(salinity(5.0, nan, 0.5), None);
        assert_eq!(salinity(5.0, 0.0, 0.5), None);
        assert_eq!(salinity(5.0, 100.0, nan), None);
        assert_eq!(salinity(nan, 100.0, 0.5), None);
        let brine = SaltyWater::of(5_000.0, 10.0, 640.0);
        assert!(zone.reckoned_ds_m(brine, 3.0) > 200.0 && zone.ds_m(brine, 3.0).is_nan());
    }
}
