//! Which way a slope faces and what sun and heat it gets for that. In come gradients and
//! latitudes; out go aspects and indices. Knows no layer.

use crate::project::Equation;
use crate::site::slope::Gradient;

/// The direction in which a slope falls, from the grid's north, clockwise; nothing where the
/// ground is level.
///
/// # Units
/// Degrees from 0 up to 360.
///
/// # Method
/// That of Horn's gradient: Burrough and `McDonnell` 1998, Principles of Geographical
/// Information Systems.
#[must_use]
pub fn aspect_deg(gradient: Gradient) -> Option<f64> {
    let level = gradient.east.abs() + gradient.south.abs() <= 0.0;
    let aspect = (-gradient.east)
        .atan2(gradient.south)
        .to_degrees()
        .rem_euclid(360.0);
    // A hair west of north rounds up to the full circle.
    let aspect = if aspect >= 360.0 { 0.0 } else { aspect };
    (!level && !aspect.is_nan()).then_some(aspect)
}

/// A slope under the sun.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// Latitude, north positive.
    pub latitude_deg: f64,
    /// Steepness as an angle.
    pub slope_deg: f64,
    /// Where it faces, from true north; of no account where it is level.
    pub aspect_deg: f64,
}

impl Equation {
    /// Latitudes on either side of the equator between which it holds.
    #[must_use]
    pub fn latitudes_deg(self) -> (f64, f64) {
        match self {
            Equation::One | Equation::Two => (0.0, 60.0),
            Equation::Three => (30.0, 60.0),
        }
    }

    /// The steepest slope for which it holds.
    #[must_use]
    pub fn steepest_deg(self) -> f64 {
        match self {
            Equation::One => 90.0,
            Equation::Two | Equation::Three => 60.0,
        }
    }

    fn of(self, latitude: f64, slope: f64, aspect: f64) -> f64 {
        let (sin_l, cos_l) = latitude.sin_cos();
        let (sin_s, cos_s) = slope.sin_cos();
        let (sin_a, cos_a) = aspect.sin_cos();
        match self {
            Equation::One => {
                (-1.467 + 1.582 * cos_l * cos_s - 1.500 * cos_a * sin_s * sin_l - 0.262 * sin_l * sin_s
                    + 0.607 * sin_a * sin_s)
                    .exp()
            }
            Equation::Two => {
                (-1.236 + 1.350 * cos_l * cos_s - 1.376 * cos_a * sin_s * sin_l - 0.331 * sin_l * sin_s
                    + 0.375 * sin_a * sin_s)
                    .exp()
            }
            Equation::Three => 0.339 + 0.808 * cos_l * cos_s - 0.196 * sin_l * sin_s - 0.482 * cos_a * sin_s,
        }
    }

    /// Potential direct radiation of a year, even on both sides of the meridian.
    ///
    /// # Units
    /// MJ/cm2 and year. Values above 1 occur and are left.
    ///
    /// # Missing
    /// Where the slope is steeper than the equation holds for.
    ///
    /// # Method
    /// Equations 1 to 3 of `McCune` and Keon 2002, Equations for potential annual direct
    /// incident radiation and heat load, Journal of Vegetation Science 13:603-606, with the
    /// aspect folded at the meridian; mirrored south of the equator. `McCune` 2007,
    /// Improved estimates of incident radiation and heat load using non-parametric regression
    /// against topographic variables, Journal of Vegetation Science 18:751-754, reads them from
    /// tables, with a better fit; that is not done here.
    #[must_use]
    pub fn radiation(self, slope: Slope) -> Option<f64> {
        self.folded(slope, 180.0)
    }

    /// The same with the aspect folded along the line from northeast to southwest, since
    /// afternoons are warmer than mornings; south of the equator from southeast to northwest.
    ///
    /// # Units
    /// An index without a unit.
    ///
    /// # Missing
    /// As for [`Equation::radiation`].
    ///
    /// # Method
    /// Heat load of `McCune` and Keon 2002, as in [`Equation::radiation`].
    #[must_use]
    pub fn heat_load(self, slope: Slope) -> Option<f64> {
        self.folded(slope, 225.0)
    }

    fn folded(self, slope: Slope, fold_deg: f64) -> Option<f64> {
        if !(0.0..=self.steepest_deg()).contains(&slope.slope_deg) {
            return None;
        }
        let aspect = if slope.latitude_deg < 0.0 {
            180.0 - slope.aspect_deg
        } else {
            slope.aspect_deg
        };
        let aspect = aspect.rem_euclid(360.0);
        // 0 toward the pole's side of the fold, 180 toward the sun's.
        let off = (aspect - fold_deg).abs();
        let folded = 180.0 - off.min(360.0 - off);
        let latitude = slope.latitude_deg.abs().to_radians();
        Some(self.of(latitude, slope.slope_deg.to_radians(), folded.to_radians()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Equation; 3] = [Equation::One, Equation::Two, Equation::Three];

    fn near(found: f64, wanted: f64, error: f64) {
        assert!((found - wanted).abs() <= error, "{found} is not {wanted}");
    }

    /// Values reckoned from the equations of `McCune` and Keon 2002 apart from this code:
    /// latitude, slope, aspect; radiation by equations 1, 2 and 3; heat load likewise.
    const RECKONED: [([f64; 3], [f64; 3], [f64; 3]); 14] = [
        (
            [40.0, 0.0, 0.0],
            [0.774_825, 0.817_226, 0.957_964],
            [0.774_825, 0.817_226, 0.957_964],
        ),
        (
            [40.0, 30.0, 0.0],
            [0.373_897, 0.411_062, 0.571_045],
            [0.533_676, 0.534_246, 0.641_633],
        ),
        (
            [40.0, 30.0, 90.0],
            [0.820_219, 0.771_613, 0.812_045],
            [0.533_676, 0.534_246, 0.641_633],
        ),
        (
            [40.0, 30.0, 180.0],
            [0.980_597, 0.995_476, 1.053_045],
            [1.055_286, 0.998_52, 0.982_458],
        ),
        (
            [40.0, 30.0, 225.0],
            [1.055_286, 0.998_52, 0.982_458],
            [0.980_597, 0.995_476, 1.053_045],
        ),
        (
            [40.0, 30.0, 270.0],
            [0.820_219, 0.771_613, 0.812_045],
            [1.055_286, 0.998_52, 0.982_458],
        ),
        (
            [40.0, 30.0, 45.0],
            [0.533_676, 0.534_246, 0.641_633],
            [0.373_897, 0.411_062, 0.571_045],
        ),
        (
            [45.0, 20.0, 180.0],
            [0.890_105, 0.917_367, 0.993_338],
            [0.926_939, 0.911_172, 0.945_054],
        ),
        (
            [45.0, 20.0, 0.0],
            [0.430_87, 0.471_515, 0.663_631],
            [0.554_938, 0.569_132, 0.711_915],
        ),
        (
            [45.0, 20.0, 225.0],
            [0.926_939, 0.911_172, 0.945_054],
            [0.890_105, 0.917_367, 0.993_338],
        ),
        (
            [45.0, 20.0, 45.0],
            [0.554_938, 0.569_132, 0.711_915],
            [0.430_87, 0.471_515, 0.663_631],
        ),
        (
            [37.5, 30.0, 90.0],
            [0.855_292, 0.801_145, 0.834_489],
            [0.566_629, 0.563_952, 0.664_076],
        ),
        (
            [50.0, 45.0, 135.0],
            [0.988_234, 0.916_535, 0.841_083],
            [0.630_87, 0.584_775, 0.600_083],
        ),
        (
            [30.0, 10.0, 300.0],
            [0.891_95, 0.889_846, 0.969_251],
            [0.995_023, 0.980_644, 1.032_763],
        ),
    ];

    #[test]
    fn values_are_those_of_the_published_equations() {
        for ([latitude_deg, slope_deg, aspect_deg], radiation, heat_load) in RECKONED {
            let slope = Slope {
                latitude_deg,
                slope_deg,
                aspect_deg,
            };
            for (index, equation) in ALL.into_iter().enumerate() {
                near(equation.radiation(slope).unwrap(), radiation[index], 1e-6);
                near(equation.heat_load(slope).unwrap(), heat_load[index], 1e-6);
            }
        }
    }

    #[test]
    fn both_are_even_about_their_fold_and_mirrored_south_of_the_equator() {
        for turn in [0.0, 10.0, 77.0, 180.0] {
            let of = |latitude_deg, aspect_deg: f64| Slope {
                latitude_deg,
                slope_deg: 25.0,
                aspect_deg: aspect_deg.rem_euclid(360.0),
            };
            for equation in ALL {
                let heat = |latitude, aspect| equation.heat_load(of(latitude, aspect)).unwrap();
                let radiation = |latitude, aspect| equation.radiation(of(latitude, aspect)).unwrap();
                near(heat(45.0, 225.0 + turn), heat(45.0, 225.0 - turn), 1e-12);
                near(
                    radiation(45.0, 180.0 + turn),
                    radiation(45.0, 180.0 - turn),
                    1e-12,
                );
                // Southwest in the north is northwest in the south.
                near(heat(45.0, 225.0 + turn), heat(-45.0, 315.0 - turn), 1e-12);
                near(radiation(45.0, 180.0 + turn), radiation(-45.0, turn), 1e-12);
            }
        }
    }

    #[test]
    fn slopes_steeper_than_an_equation_holds_for_have_no_value() {
        let steep = Slope {
            latitude_deg: 45.0,
            slope_deg: 60.5,
            aspect_deg: 180.0,
        };
        assert!(Equation::One.radiation(steep).is_some());
        assert!(Equation::Two.radiation(steep).is_none() && Equation::Three.heat_load(steep).is_none());
    }

    #[test]
    fn slopes_face_where_they_fall() {
        let of = |east, south| aspect_deg(Gradient { east, south });
        assert_eq!(of(0.0, 0.0), None);
        assert_eq!(of(f64::NAN, 0.1), None);
        for (east, south, wanted) in [
            (0.0, 0.1, 0.0),
            (-0.1, 0.0, 90.0),
            (0.0, -0.1, 180.0),
            (0.1, 0.0, 270.0),
            (-0.1, 0.1, 45.0),
        ] {
            near(of(east, south).unwrap(), wanted, 1e-9);
        }
        // Lecture Z8113, Masaryk University: the gradients of its matrix face 145.154.
        near(of(-55.0, -79.0).unwrap(), 145.154, 5e-4);
    }
}
