//! How spray thins out with distance from the pavement's edge. In come two decay
//! constants and a share; out go grams, shares and the reach. It knows no road.

use super::line_source::share_beyond_radius;

/// The decay of what is thrown out to one side: a near term of splash and a far one of
/// spray.
///
/// # Method
/// A sum of two decaying exponentials, for the two ways that the model of Lundmark and
/// Olofsson 2007 has salt travel, splash and spray: Chloride deposition and distribution in
/// soils along a deiced highway - assessment using different methods of measurement. Only the
/// abstract was at hand; that theirs are exponentials too is from memory, unverified, and
/// their coefficients are not known here: the default ones are chosen here (see the project's
/// section) so that what they and others measured holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Decay {
    /// Share of a side's mass in the near term.
    pub near_share: f64,
    /// Near decay constant, per metre.
    pub near_per_m: f64,
    /// Far decay constant, per metre.
    pub far_per_m: f64,
}

/// Share of the salt applied that came down from the air within 100 m: Lundmark and
/// Olofsson 2007, about 45 %.
pub const DEPOSITED_WITHIN_100_M: f64 = 0.45;

impl Decay {
    /// What lies at a distance from the edge of an endless straight road.
    ///
    /// # Units
    /// `side_g_m`: grams thrown to this side by a metre of road; the result is grams a
    /// square metre.
    #[must_use]
    pub fn deposit_g_m2(&self, side_g_m: f64, distance_m: f64) -> f64 {
        let near = self.near_share * self.near_per_m * (-self.near_per_m * distance_m).exp();
        let far = (1.0 - self.near_share) * self.far_per_m * (-self.far_per_m * distance_m).exp();
        side_g_m * (near + far)
    }

    /// The share of a side's mass that comes down within a distance of the edge.
    #[must_use]
    pub fn share_within(&self, distance_m: f64) -> f64 {
        let near = self.near_share * (-self.near_per_m * distance_m).exp();
        let far = (1.0 - self.near_share) * (-self.far_per_m * distance_m).exp();
        1.0 - near - far
    }

    /// The share of the salt applied that must be airborne for 45 % of it to come down
    /// within 100 m (Lundmark and Olofsson 2007); never over 1.
    #[must_use]
    pub fn airborne_share(&self) -> f64 {
        (DEPOSITED_WITHIN_100_M / self.share_within(100.0)).min(1.0)
    }

    /// The share of the mass that each point of a road spreads beyond a reach, which is
    /// not counted anywhere.
    #[must_use]
    pub fn share_beyond(&self, reach_m: f64) -> f64 {
        self.near_share * share_beyond_radius(self.near_per_m * reach_m)
            + (1.0 - self.near_share) * share_beyond_radius(self.far_per_m * reach_m)
    }

    /// The least whole tens of metres beyond which so small a share of the mass falls.
    #[must_use]
    pub fn reach_for(&self, share: f64) -> f64 {
        let mut reach_m = 10.0;
        while self.share_beyond(reach_m) > share && reach_m < 5_000.0 {
            reach_m += 10.0;
        }
        reach_m
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DEFAULT: Decay = Decay {
        near_share: 0.75,
        near_per_m: 0.3,
        far_per_m: 0.04,
    };

    /// Lundmark and Olofsson 2007 (abstract; Water, Air and Soil Pollution 182:173-185 from memory,
    /// unverified):
    /// about 45 % of the chloride applied came down within 100 m, most of it within
    /// 10 m of the road.
    #[test]
    fn the_defaults_hold_what_was_measured() {
        let airborne = DEFAULT.airborne_share();
        assert!((airborne * DEFAULT.share_within(100.0) - 0.45).abs() < 1e-12);
        assert!(DEFAULT.share_within(10.0) > 0.5);
        assert!(airborne < 0.5);
    }

    /// Common practice, no single source (planting guides): the worst injury is within 60 ft
    /// (18.3 m) of the pavement.
    #[test]
    fn more_falls_within_60_ft_than_beyond() {
        let within = DEFAULT.share_within(60.0 * 0.3048);
        assert!(within > 1.0 - within, "{within}");
        let (near, far) = (DEFAULT.deposit_g_m2(1.0, 10.0), DEFAULT.deposit_g_m2(1.0, 30.0));
        assert!(near > 3.0 * far);
    }

    /// Common practice, no single source (planting guides): the worst injury is within 60 ft,
    /// and sensitive evergreens are badly hurt up to 300 ft. The default bands are chosen to
    /// that, for a highway of the default class: two lanes at 9,000 kg on a kilometre of lane.
    #[test]
    fn the_default_bands_fit_trade_practice() {
        let bands = crate::project::Bands {
            from_g_m2: [1.0, 5.0, 25.0, 100.0],
        };
        let side_g_m = 2.0 * 9_000.0 * DEFAULT.airborne_share() / 2.0;
        let band = |feet: f64| {
            bands
                .class_of(DEFAULT.deposit_g_m2(side_g_m, feet * 0.3048))
                .unwrap()
        };
        assert_eq!((band(20.0), band(50.0)), (4, 3));
        assert!(band(70.0) <= 2);
        assert_eq!((band(290.0), band(320.0)), (1, 0));
    }

    #[test]
    fn the_curve_adds_up_to_the_mass_thrown() {
        let step = 0.01;
        let sum: f64 = (0..60_000)
            .map(|index| DEFAULT.deposit_g_m2(1000.0, (f64::from(index) + 0.5) * step) * step)
            .sum();
        assert!((sum - 1000.0).abs() < 0.01, "{sum}");
    }

    #[test]
    fn little_falls_beyond_the_reach() {
        let reach = DEFAULT.reach_for(0.005);
        assert!(DEFAULT.share_beyond(reach) <= 0.005);
        assert!(DEFAULT.share_beyond(reach - 10.0) > 0.005);
        assert!((100.0..300.0).contains(&reach), "{reach}");
    }
}
