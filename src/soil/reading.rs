//! How the soils of a map unit become what the unit is. In come the soils' shares and
//! values; out goes the unit's value with the share it holds for.

use super::Component;

/// How a project reads map units of several soils.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reading {
    /// `main component`: the soil with the largest share stands for the unit.
    MainComponent,
    /// `largest class`: factor by factor the class with the largest share.
    LargestClass,
    /// `each component`: each soil is rated by itself, and shares are added up. What the
    /// unit shows as its ground is that of its largest soil.
    EachComponent,
}

impl Reading {
    /// The word in the project file.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Reading::MainComponent => "main component",
            Reading::LargestClass => "largest class",
            Reading::EachComponent => "each component",
        }
    }
}

/// What a unit has, and on how much of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnitValue {
    /// The value: a number or a class.
    pub value: f64,
    /// Share of the unit that has it, per cent.
    pub share_pct: f64,
}

/// The soil with the largest share; of equals the one whose key comes first.
#[must_use]
pub fn main_component(components: &[Component]) -> Option<&Component> {
    components.iter().reduce(|best, other| {
        let larger = other.share_pct.total_cmp(&best.share_pct);
        let first = best.key.cmp(&other.key);
        if larger.then(first).is_gt() { other } else { best }
    })
}

/// What a unit has for a factor.
///
/// # Missing
/// With `main component` where the main soil has none; with `largest class` where no
/// soil has one. A unit is never given a mean of its soils: half marsh and half dune
/// is not middling ground.
///
/// # Method
/// `largest class` adds the shares of soils of one class; of equal classes the one
/// with the larger soil wins, then the one whose key comes first. A number that is
/// measured has no classes: there the largest soil that has one stands for the unit.
/// The shares of soils without a value belong to no class.
#[must_use]
pub fn read_unit(
    components: &[Component],
    value: impl Fn(&Component) -> Option<f64>,
    is_class: bool,
    reading: Reading,
) -> Option<UnitValue> {
    let share_of = |wanted: f64| -> f64 {
        let alike = components
            .iter()
            .filter(|component| value(component) == Some(wanted));
        alike.map(|component| component.share_pct).sum()
    };
    let told = |value: f64| UnitValue {
        value,
        share_pct: share_of(value),
    };
    let main = main_component(components)?;
    if reading != Reading::LargestClass {
        return value(main).map(told);
    }
    let mut known: Vec<&Component> = components.iter().collect();
    known.sort_by(|one, other| {
        let larger = other.share_pct.total_cmp(&one.share_pct);
        larger.then_with(|| one.key.cmp(&other.key))
    });
    let values = known.into_iter().filter_map(&value);
    if !is_class {
        return values.take(1).map(told).next();
    }
    values.map(told).reduce(|best, other| {
        if other.share_pct > best.share_pct {
            other
        } else {
            best
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn soils(of: &[(&str, f64, Option<u16>)]) -> Vec<Component> {
        let soil = |&(key, share_pct, drainage): &(&str, f64, Option<u16>)| Component {
            key: key.to_owned(),
            share_pct,
            drainage,
            ..Component::default()
        };
        of.iter().map(soil).collect()
    }

    fn read(of: &[(&str, f64, Option<u16>)], is_class: bool, reading: Reading) -> Option<(f64, f64)> {
        let drainage = |component: &Component| component.drainage.map(f64::from);
        read_unit(&soils(of), drainage, is_class, reading).map(|found| (found.value, found.share_pct))
    }

    #[test]
    fn the_main_soil_and_the_largest_class_may_differ() {
        let unit = [("a", 40.0, Some(1)), ("b", 30.0, Some(5)), ("c", 30.0, Some(5))];
        assert_eq!(read(&unit, true, Reading::MainComponent), Some((1.0, 40.0)));
        assert_eq!(read(&unit, true, Reading::LargestClass), Some((5.0, 60.0)));
        // A measured value is that of a soil, and never a mean.
        assert_eq!(read(&unit, false, Reading::LargestClass), Some((1.0, 40.0)));
    }

    #[test]
    fn half_marsh_and_half_dune_is_one_of_them() {
        let unit = [("9", 50.0, Some(6)), ("10", 50.0, Some(0))];
        for reading in [Reading::MainComponent, Reading::LargestClass] {
            assert_eq!(read(&unit, true, reading), Some((0.0, 50.0)));
        }
    }

    #[test]
    fn a_main_soil_without_a_value_leaves_the_unit_without_one() {
        let unit = [("a", 60.0, None), ("b", 30.0, Some(2))];
        assert_eq!(read(&unit, true, Reading::MainComponent), None);
        assert_eq!(read(&unit, true, Reading::LargestClass), Some((2.0, 30.0)));
        assert_eq!(read(&[], true, Reading::LargestClass), None);
        assert_eq!(read(&[("a", 60.0, None)], true, Reading::LargestClass), None);
    }
}
