//! The soils of map units with their values, side by side: for those who look at each
//! soil by itself.

use super::WetnessNudge;
use super::salt::SaltOfSoils;

/// One soil of a unit, with what it has for the factors that are drawn from the survey.
#[derive(Debug, Clone, PartialEq)]
pub struct SoilPart {
    /// Its name.
    pub name: String,
    /// Share of the unit, 0 to 1.
    pub share: f64,
    /// Its value for each drawn factor, in their order; not a number where missing.
    pub values: Vec<f32>,
}

/// What the wetness of terrain does to moisture, cell by cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoistureNudge {
    /// Position of the factor `moisture`.
    pub moisture: usize,
    /// Position of the factor `wetness_index`.
    pub wetness_index: usize,
    /// What it does.
    pub nudge: WetnessNudge,
}

/// The soils of all map units of a site.
#[derive(Debug, Clone, PartialEq)]
pub struct SoilMixes {
    /// Position of the factor whose classes are the map units.
    pub map_unit: usize,
    /// Positions of the factors that are drawn from the survey.
    pub drawn: Vec<usize>,
    /// The soils of each unit; their shares come to 1 or less.
    pub units: Vec<Vec<SoilPart>>,
    /// What terrain does to moisture.
    pub nudge: Option<MoistureNudge>,
    /// What the salt of roads does to each soil.
    pub salt: Option<SaltOfSoils>,
    /// The share of a unit that must suit, 0 to 1.
    pub suits_share: f64,
}

/// One soil of a cell.
#[derive(Debug, Clone, PartialEq)]
pub struct SoilOfCell<'a> {
    /// Its name; nothing for the part of a unit of which no soil is told.
    pub name: Option<&'a str>,
    /// Share of the unit, 0 to 1.
    pub share: f64,
    /// The values of all factors, as they would be if all of the cell were this soil.
    pub values: Vec<f32>,
}

/// Shares that differ by less are the same.
const SAME_SHARE: f64 = 1e-9;

impl SoilMixes {
    /// The soils of a cell, their shares adding up to 1: what is not told of a unit is
    /// a soil without values, and so is all of a cell without a unit. `values` holds
    /// those of all factors.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "class factors hold small whole indices"
    )]
    pub fn soils(&self, values: &[f32]) -> Vec<SoilOfCell<'_>> {
        let unit = values[self.map_unit];
        let parts = if unit.is_nan() {
            None
        } else {
            self.units.get(unit as usize)
        };
        let parts = parts.map_or(&[][..], |parts| &parts[..]);
        let told: f64 = parts.iter().map(|part| part.share).sum();
        let mut soils: Vec<SoilOfCell> = parts
            .iter()
            .map(|part| SoilOfCell {
                name: Some(&part.name),
                share: part.share,
                values: self.with(values, &part.values),
            })
            .collect();
        if told < 1.0 - SAME_SHARE {
            soils.push(SoilOfCell {
                name: None,
                share: 1.0 - told,
                values: self.with(values, &vec![f32::NAN; self.drawn.len()]),
            });
        }
        soils
    }

    fn with(&self, values: &[f32], of_soil: &[f32]) -> Vec<f32> {
        let mut values = values.to_vec();
        for (&factor, &value) in self.drawn.iter().zip(of_soil) {
            values[factor] = value;
        }
        if let Some(MoistureNudge {
            moisture,
            wetness_index,
            nudge,
        }) = self.nudge
        {
            values[moisture] = nudge.nudged(values[moisture], values[wetness_index]);
        }
        if let Some(salt) = &self.salt {
            values[salt.salinity] = salt.ds_m(&values, values[salt.drainage]);
        }
        values
    }

    /// Whether each soil of a unit has its own value for a factor.
    #[must_use]
    pub fn is_of_soil(&self, factor: usize) -> bool {
        self.drawn.contains(&factor) || self.salt.is_some_and(|salt| salt.salinity == factor)
    }

    /// Whether a factor is there only for what it does to the soils, and asked of none.
    #[must_use]
    pub fn is_behind(&self, factor: usize) -> bool {
        factor == self.map_unit || self.salt.is_some_and(|salt| salt.is_behind(factor))
    }

    /// The factors of a cell that change what its soils have.
    pub fn behind(&self) -> impl Iterator<Item = usize> + use<> {
        let nudge = self.nudge.map(|nudge| nudge.wetness_index);
        let salt = self.salt.map(|salt| salt.behind());
        nudge.into_iter().chain(salt.into_iter().flatten())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_told_of_a_unit_is_a_soil_without_values() {
        let part = |share, drainage| SoilPart {
            name: "soil".to_owned(),
            share,
            values: vec![drainage],
        };
        let mixes = SoilMixes {
            map_unit: 2,
            drawn: vec![0],
            units: vec![vec![part(0.6, 1.0), part(0.3, 5.0)], vec![part(1.0, 2.0)]],
            nudge: None,
            salt: None,
            suits_share: 0.5,
        };
        let soils = |unit| -> Vec<(f64, f32, f32)> {
            let soils = mixes.soils(&[9.0, 7.0, unit]);
            soils
                .iter()
                .map(|soil| ((soil.share * 10.0).round(), soil.values[0], soil.values[1]))
                .collect()
        };
        let mixed = soils(0.0);
        assert_eq!(mixed[..2], [(6.0, 1.0, 7.0), (3.0, 5.0, 7.0)]);
        assert!(mixed[2].0 == 1.0 && mixed[2].1.is_nan() && mixed[2].2 == 7.0);
        assert_eq!(soils(1.0), [(10.0, 2.0, 7.0)]);
        let nowhere = soils(f32::NAN);
        assert!(nowhere.len() == 1 && nowhere[0].1.is_nan());
    }
}
