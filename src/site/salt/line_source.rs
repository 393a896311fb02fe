//! How much of what an endless straight road lays down at a place comes from a piece
//! of it. In come distances times the decay constant; out go shares, to the last
//! digits. It knows no road and no salt.
//!
//! A point of the road spreads what it sheds by K(r) = (A k / pi) K0(k r), K0 the
//! modified Bessel function: along an endless straight road that adds up to
//! A exp(-k x), the decay with distance that is measured beside roads. So the curve
//! and not the single point is given, and cutting a road into pieces changes nothing.

use std::f64::consts::{FRAC_2_PI, FRAC_PI_2};

/// Steps of the double exponential rule on either side; more change the 14th digit.
const STEPS: i32 = 56;
const STEP: f64 = 0.0625;

/// The share of what half an endless road lays down at a distance that comes from its
/// stretch between the foot of the perpendicular and a place `along` it.
///
/// # Units
/// Both lengths are multiples of 1 / k; `along` may be negative, and the share then is.
///
/// # Method
/// With F(u, v) the integral from 0 to v of K0(sqrt(u^2 + s^2)) ds, the share is
/// F(u, v) / (pi/2 exp(-u)). Turning the path of integration of K0 towards the place
/// gives the rest beyond v without any Bessel function:
/// the integral from 0 to pi/2 of exp(-sqrt(u^2 + v^2 / cos^2 a)) da, derived here;
/// at u = 0 it is the Bickley function Ki1(v), at v = 0 it is pi/2 exp(-u).
/// It is reckoned by the double exponential rule (Takahasi and Mori 1974, Double exponential
/// formulas for numerical integration, Publications RIMS, Kyoto University 9:721-741).
#[must_use]
pub fn half_road_share(across: f64, along: f64) -> f64 {
    let (u, v) = (across, along.abs());
    if v == 0.0 {
        return 0.0;
    }
    let rho2 = u * u + v * v;
    let mut rest = 0.0;
    for step in -STEPS..=STEPS {
        let x = f64::from(step) * STEP;
        let warp = FRAC_PI_2 * x.sinh();
        // The complement of the angle, exact also where it is tiny.
        let complement = FRAC_PI_2 / (1.0 + (2.0 * warp).exp());
        let weight = FRAC_PI_2 * FRAC_PI_2 * x.cosh() / (2.0 * warp.cosh() * warp.cosh());
        if weight < 1e-300 || complement < 1e-300 {
            continue;
        }
        let tangent = 1.0 / complement.tan();
        rest += weight * (u - (rho2 + v * v * tangent * tangent).sqrt()).exp();
    }
    (1.0 - rest * STEP * FRAC_2_PI).copysign(along)
}

/// The share of what an endless road lays down at a distance that comes from its
/// stretch between two places along it.
///
/// # Units
/// All lengths are multiples of 1 / k.
#[must_use]
pub fn stretch_share(across: f64, from: f64, to: f64) -> f64 {
    (half_road_share(across, to) - half_road_share(across, from)) / 2.0
}

/// z K1(z), K1 the modified Bessel function: the share of what a point of the road
/// spreads that falls farther from it than z / k.
///
/// # Method
/// K1(z) is the integral from 0 to infinity of exp(-z cosh t) cosh t dt, by the
/// trapezoidal rule, whose error here falls faster than any power of the step.
#[must_use]
pub fn share_beyond_radius(z: f64) -> f64 {
    if z <= 0.0 {
        return 1.0;
    }
    let step = 1.0 / 64.0;
    // Beyond this the integrand is under the last digit.
    let last = (700.0 / z + 2.0).acosh();
    let mut sum = 0.5 * (-z).exp();
    let mut t = step;
    while t <= last {
        sum += (-z * t.cosh()).exp() * t.cosh();
        t += step;
    }
    (z * sum * step).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// K0 by its own integral, independent of the above.
    fn bessel_k0(z: f64) -> f64 {
        let step = 1.0 / 64.0;
        (0..2000)
            .map(|index| {
                let t = f64::from(index) * step;
                let weight = if index == 0 { 0.5 } else { 1.0 };
                weight * (-z * t.cosh()).exp() * step
            })
            .sum()
    }

    /// K0(1) and K1(1): Abramowitz and Stegun 1964, Handbook of Mathematical Functions,
    /// table 9.8 (its digits from memory, unverified; the series agrees).
    #[test]
    fn bessel_functions_have_their_tabled_values() {
        assert!((bessel_k0(1.0) - 0.421_024_438_2).abs() < 1e-9);
        assert!((share_beyond_radius(1.0) - 0.601_907_230_2).abs() < 1e-9);
        assert!((share_beyond_radius(0.0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn shares_are_those_of_the_integral_over_the_bessel_function() {
        for (u, v) in [
            (0.5f64, 0.3f64),
            (0.5, 4.0),
            (0.05, 0.2),
            (3.0, 2.0),
            (8.0, 5.0),
            (1.0, 0.01),
        ] {
            // Simpson's rule with many steps.
            let steps = 4000;
            let h = v / f64::from(steps);
            let sum: f64 = (0..=steps)
                .map(|index| {
                    let s = f64::from(index) * h;
                    let weight = match index {
                        0 => 1.0,
                        last if last == steps => 1.0,
                        odd if odd % 2 == 1 => 4.0,
                        _ => 2.0,
                    };
                    weight * bessel_k0(u.hypot(s))
                })
                .sum();
            let plain = sum * h / 3.0 / (FRAC_PI_2 * (-u).exp());
            let share = half_road_share(u, v);
            assert!((share - plain).abs() < 1e-9, "{u} {v}: {share} {plain}");
        }
    }

    #[test]
    fn an_endless_road_gives_the_decay_curve_back() {
        for u in [1e-6, 0.01, 0.3, 1.0, 5.0, 20.0] {
            let share = stretch_share(u, -400.0, 400.0);
            assert!((share - 1.0).abs() < 1e-12, "{u}: {share}");
        }
    }

    #[test]
    fn splitting_a_road_changes_nothing() {
        for u in [0.0, 0.2, 2.0, 9.0] {
            let whole = stretch_share(u, -3.0, 2.5);
            let cuts = [-3.0, -1.1, -0.2, 0.0, 0.7, 0.8, 2.5];
            let parts: f64 = cuts
                .windows(2)
                .map(|pair| stretch_share(u, pair[0], pair[1]))
                .sum();
            assert!((whole - parts).abs() < 1e-12, "{u}");
        }
    }
}
