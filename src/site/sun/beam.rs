//! How strong the sun's beam is, and how much of it a canopy lets through. In comes the
//! sun's height; out go watts and shares. Knows no time and no place.

/// Irradiance of the sun's beam on a plane that faces it, under a clear sky.
///
/// # Units
/// Height of the sun as seen, in degrees; W/m2. Height of the ground in metres.
///
/// # Method
/// 1353 ((1 - 0.14 z) 0.7^(m^0.678) + 0.14 z), with z in kilometres: Meinel and Meinel 1976,
/// Applied Solar Energy, with the term for height of Laue 1970, The measurement of solar
/// spectral irradiance at different terrestrial elevations, Solar Energy 13:43-57. The air
/// mass m is that of Kasten and Young 1989, Revised optical air mass tables and
/// approximation formula, Applied Optics 28:4735-4738. But for that citation all of this, the
/// numbers too, is from memory, unverified: real skies differ by far more.
#[must_use]
pub fn beam_w_m2(height_deg: f64, ground_m: f64) -> f64 {
    if height_deg <= 0.0 {
        return 0.0;
    }
    let air_mass = 1.0 / (height_deg.to_radians().sin() + 0.505_72 * (height_deg + 6.079_95).powf(-1.636_4));
    let above = 0.14 * ground_m.clamp(0.0, 5_000.0) / 1_000.0;
    1_353.0 * ((1.0 - above) * 0.7_f64.powf(air_mass.powf(0.678)) + above)
}

/// How a beam passes a canopy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Passing {
    /// A low sun looks through more crowns than a high one: the share of gaps seen straight
    /// up is raised to one over the sine of the sun's height.
    Slant,
    /// The share of gaps is that seen straight up, whatever the sun's height.
    Upright,
}

/// The share of a beam that gaps in the canopy let through.
///
/// # Method
/// `Slant` is the law exp(-k L) of Monsi and Saeki 2005, On the factor light in plant
/// communities and its importance for matter production (their paper of 1953 in English; that
/// year from memory, unverified), for leaves that face all ways alike, exp(-0.5 L / sin h),
/// after Campbell and Norman 1998, An Introduction to Environmental Biophysics (from memory,
/// unverified), in terms of the gaps seen straight up, which are exp(-0.5 L).
#[must_use]
pub fn passing_share(gaps_upward: f64, height_deg: f64, passing: Passing) -> f64 {
    match passing {
        Passing::Upright => gaps_upward,
        Passing::Slant => gaps_upward.powf(1.0 / height_deg.to_radians().sin().max(1e-6)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, wanted: f64, error: f64) {
        assert!((found - wanted).abs() <= error, "{found} is not {wanted}");
    }

    /// An air mass of 1 lets 70 % of 1353 W/m2 through, by the formula.
    #[test]
    fn the_beam_weakens_toward_the_horizon_and_is_stronger_high_up() {
        near(beam_w_m2(90.0, 0.0), 947.1, 0.5);
        assert!(beam_w_m2(0.0, 0.0) <= 0.0 && beam_w_m2(-5.0, 0.0) <= 0.0);
        let heights: Vec<f64> = (1..=90).map(|height| beam_w_m2(f64::from(height), 0.0)).collect();
        assert!(heights.is_sorted());
        assert!(beam_w_m2(20.0, 2_000.0) > beam_w_m2(20.0, 0.0));
        // The threshold of 120 W/m2 (WMO) lies at a few degrees of height.
        assert!(beam_w_m2(2.0, 0.0) < 120.0 && beam_w_m2(4.0, 0.0) > 120.0);
    }

    #[test]
    fn a_low_sun_finds_fewer_gaps() {
        near(passing_share(0.5, 90.0, Passing::Slant), 0.5, 1e-12);
        near(passing_share(0.5, 30.0, Passing::Slant), 0.25, 1e-12);
        near(passing_share(0.5, 30.0, Passing::Upright), 0.5, 1e-12);
        for passing in [Passing::Slant, Passing::Upright] {
            near(passing_share(1.0, 3.0, passing), 1.0, 1e-12);
            near(passing_share(0.0, 60.0, passing), 0.0, 1e-12);
        }
    }
}
