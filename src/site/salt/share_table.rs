//! The shares of [`super::line_source`] as a table of small polynomials, for millions
//! of cells. It holds numbers only.

use std::sync::LazyLock;

use super::line_source::half_road_share;

/// Squared radii from 2^-20 to 2^11, octave by octave: from a thousandth of the decay
/// length, below which a formula holds, to 45 of them, beyond which nothing comes.
const FIRST_OCTAVE: i32 = -20;
const OCTAVES: usize = 31;
/// Pieces of an octave, and of the quarter turn between across and along.
const RADIAL: usize = 4;
const ANGULAR: usize = 20;

/// Euler's constant.
const EULER: f64 = 0.577_215_664_901_532_9;

/// A polynomial of degree 3 in both directions, its coefficients by rising powers.
type Patch = [[f64; 4]; 4];

/// The table.
pub struct ShareTable {
    patches: Vec<Patch>,
}

impl ShareTable {
    /// The one table, reckoned when first asked for.
    #[must_use]
    pub fn shared() -> &'static ShareTable {
        static TABLE: LazyLock<ShareTable> = LazyLock::new(ShareTable::new);
        &TABLE
    }

    fn new() -> ShareTable {
        let nodes = chebyshev_nodes();
        let mut patches = Vec::with_capacity(OCTAVES * RADIAL * ANGULAR);
        for octave in 0..OCTAVES {
            for radial in 0..RADIAL {
                for angular in 0..ANGULAR {
                    let values = nodes.map(|r| {
                        nodes.map(|a| {
                            let within = (as_f64(radial) + r) / as_f64(RADIAL);
                            #[expect(
                                clippy::cast_possible_truncation,
                                clippy::cast_possible_wrap,
                                reason = "31 octaves"
                            )]
                            let scale = f64::from(2.0f32).powi(FIRST_OCTAVE + octave as i32);
                            let radius = (scale * (1.0 + within)).sqrt();
                            let slant = (as_f64(angular) + a) / as_f64(ANGULAR);
                            let length = slant.hypot(1.0 - slant);
                            let (u, v) = ((1.0 - slant) / length, slant / length);
                            half_road_share(radius * u, radius * v)
                        })
                    });
                    patches.push(coefficients(&values));
                }
            }
        }
        ShareTable { patches }
    }

    /// [`half_road_share`] from the table.
    ///
    /// # Units
    /// Both lengths are multiples of 1 / k; `across` is 0 or more.
    ///
    /// # Method
    /// Cubic in the squared radius within a quarter of an octave and in along / (along +
    /// across); off by less than 2e-5 where hardly anything lands any more, and by less
    /// than 2e-6 of what lands at the road's edge anywhere.
    #[must_use]
    #[inline]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_possible_wrap,
        reason = "bits of a number taken apart"
    )]
    pub fn half_road_share(&self, across: f64, along: f64) -> f64 {
        let (u, v) = (across, along.abs());
        let rho2 = u * u + v * v;
        let bits = rho2.to_bits();
        let octave = ((bits >> 52) as i32) - 1023 - FIRST_OCTAVE;
        if octave < 0 {
            return near_the_road(u, v, rho2).copysign(along);
        }
        if octave >= OCTAVES as i32 {
            // From there nothing comes across; along, all has come.
            return if v > u { 1f64.copysign(along) } else { 0.0 };
        }
        let mantissa = f64::from_bits((bits & 0x000f_ffff_ffff_ffff) | 0x3ff0_0000_0000_0000) - 1.0;
        let radial = mantissa * as_f64(RADIAL);
        let angular = v / (u + v) * as_f64(ANGULAR);
        let (row, col) = (
            (radial as usize).min(RADIAL - 1),
            (angular as usize).min(ANGULAR - 1),
        );
        let patch = &self.patches[(octave as usize * RADIAL + row) * ANGULAR + col];
        let (x, y) = (radial - as_f64(row), angular - as_f64(col));
        let line = |c: &[f64; 4]| c[0] + y * (c[1] + y * (c[2] + y * c[3]));
        let share = line(&patch[0]) + x * (line(&patch[1]) + x * (line(&patch[2]) + x * line(&patch[3])));
        share.copysign(along)
    }
}

/// The share where both lengths are under a thousandth: K0(z) is ln(2/z) - gamma there.
fn near_the_road(u: f64, v: f64, rho2: f64) -> f64 {
    if v == 0.0 {
        return 0.0;
    }
    let log = v * (std::f64::consts::LN_2 - EULER + 1.0) - 0.5 * v * rho2.ln();
    (log - u * v.atan2(u)) * u.exp() * std::f64::consts::FRAC_2_PI
}

fn chebyshev_nodes() -> [f64; 4] {
    [0, 1, 2, 3].map(|index| 0.5 - 0.5 * (std::f64::consts::PI * (f64::from(index) + 0.5) / 4.0).cos())
}

/// The polynomial through values at the nodes in both directions.
fn coefficients(values: &[[f64; 4]; 4]) -> Patch {
    let along_rows = values.map(through);
    let mut patch = [[0.0; 4]; 4];
    for power in 0..4 {
        let column = through([0, 1, 2, 3].map(|row| along_rows[row][power]));
        for row in 0..4 {
            patch[row][power] = column[row];
        }
    }
    patch
}

/// Coefficients by rising powers of the cubic through values at the nodes (Lagrange).
fn through(values: [f64; 4]) -> [f64; 4] {
    let nodes = chebyshev_nodes();
    let mut sum = [0.0; 4];
    for (index, value) in values.into_iter().enumerate() {
        let mut basis = [1.0, 0.0, 0.0, 0.0];
        let mut scale = value;
        for (other, node) in nodes.into_iter().enumerate() {
            if other != index {
                scale /= nodes[index] - node;
                for power in (0..4).rev() {
                    let lower = if power > 0 { basis[power - 1] } else { 0.0 };
                    basis[power] = lower - node * basis[power];
                }
            }
        }
        for (sum, basis) in sum.iter_mut().zip(basis) {
            *sum += scale * basis;
        }
    }
    sum
}

#[expect(clippy::cast_precision_loss, reason = "small counts")]
fn as_f64(count: usize) -> f64 {
    count as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_true_to_the_integral() {
        let table = ShareTable::shared();
        let (mut worst, mut worst_landed) = (0f64, 0f64);
        for row in 0..160 {
            let radius = 2f64.powf(-12.0 + f64::from(row) * 0.107_3);
            for col in 0..=60 {
                let angle = std::f64::consts::FRAC_PI_2 * f64::from(col) / 60.0;
                let (u, v) = (radius * angle.cos(), radius * angle.sin());
                let off = (table.half_road_share(u, v) - half_road_share(u, v)).abs();
                worst = worst.max(off);
                worst_landed = worst_landed.max(off * (-u).exp());
            }
        }
        assert!(worst < 2e-5, "{worst}");
        assert!(worst_landed < 2e-6, "{worst_landed}");
    }

    #[test]
    fn the_other_way_is_the_negative() {
        let table = ShareTable::shared();
        assert!((table.half_road_share(0.7, -1.3) + table.half_road_share(0.7, 1.3)).abs() < 1e-15);
        assert!((table.half_road_share(0.7, 300.0) - 1.0).abs() < 1e-15);
        assert!(table.half_road_share(1e-5, 0.0).abs() < 1e-15);
    }
}
