//! From the salt of the water that enters the ground to that of the root zone, by the
//! share of the water that leaves below. Pure numbers; knows no road.

/// The concentration factor X: the mean salinity of the root zone as `ECe` is X times
/// that of the water that enters it.
///
/// # Units
/// `leaching_fraction`: share of the water that leaves below the root zone, above 0 and
/// up to 1.
///
/// # Method
/// FAO Irrigation and Drainage Paper 29 (Ayers and Westcot 1985), as behind its table
/// 3: roots draw 40, 30, 20 and 10 % of their water from the quarters of the root zone,
/// the soil water at the five levels between them is averaged, and `ECe` is half of it. This
/// account of its method is from memory, unverified; that it gives the table is tested.
/// Made for irrigation in the growing season; here it is used on what the winter leaves.
#[must_use]
pub fn concentration_factor(leaching_fraction: f64) -> f64 {
    const DRAWN_ABOVE: [f64; 5] = [0.0, 0.4, 0.7, 0.9, 1.0];
    let left = DRAWN_ABOVE.map(|drawn| 1.0 / (1.0 - drawn * (1.0 - leaching_fraction)));
    left.iter().sum::<f64>() / 5.0 / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FAO 29 table 3: leaching fraction and X as recalled. The row is from memory, unverified; all
    /// eleven values computed round to it, so it is right in all likelihood.
    #[test]
    fn factors_round_to_those_of_fao_29() {
        const PRINTED: [(f64, f64); 11] = [
            (0.05, 3.2),
            (0.10, 2.1),
            (0.15, 1.6),
            (0.20, 1.3),
            (0.25, 1.2),
            (0.30, 1.0),
            (0.40, 0.9),
            (0.50, 0.8),
            (0.60, 0.7),
            (0.70, 0.6),
            (0.80, 0.6),
        ];
        for (fraction, printed) in PRINTED {
            let computed = concentration_factor(fraction);
            let rounded = (computed * 10.0).round() / 10.0;
            assert!((rounded - printed).abs() < 1e-9, "{fraction}: {computed}");
        }
        assert!((concentration_factor(0.10) - 2.0528).abs() < 5e-5);
        assert!((concentration_factor(0.15) - 1.5906).abs() < 5e-5);
    }
}
