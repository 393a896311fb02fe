//! Horizons of one soil, and means of what they hold over a depth.

/// One layer of a soil, from its top to its bottom.
///
/// # Missing
/// What the survey does not tell of it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Horizon {
    /// Depth of its top, cm.
    pub top_cm: f64,
    /// Depth of its bottom, cm.
    pub bottom_cm: f64,
    /// Sand, per cent of the fine earth.
    pub sand_pct: Option<f64>,
    /// Silt, per cent of the fine earth.
    pub silt_pct: Option<f64>,
    /// Clay, per cent of the fine earth.
    pub clay_pct: Option<f64>,
    /// Organic matter, per cent.
    pub organic_matter_pct: Option<f64>,
    /// pH in water.
    pub ph: Option<f64>,
    /// Electrical conductivity of the saturation extract, dS/m.
    pub salinity_ds_m: Option<f64>,
    /// Carbonates, as per cent of `CaCO3`.
    pub carbonates_pct: Option<f64>,
    /// Water that plants can take up, cm of water in a cm of soil.
    pub available_water: Option<f64>,
}

/// A mean over a depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthMean {
    /// The mean over the thickness that is known.
    pub mean: f64,
    /// How thick that is, cm.
    pub known_cm: f64,
}

/// What is wrong with the horizons of a soil.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HorizonFault {
    /// A horizon ends where it begins or above.
    UpsideDown,
    /// Two horizons share some depth.
    Overlap,
    /// There is nothing between two horizons.
    Gap,
}

/// Depths that differ by less are the same.
const SAME_CM: f64 = 0.01;

impl Horizon {
    /// Sand, as told or as what silt and clay leave.
    #[must_use]
    pub fn sand(&self) -> Option<f64> {
        self.sand_pct
            .or_else(|| Some(100.0 - self.silt_pct? - self.clay_pct?))
    }

    /// Clay, as told or as what sand and silt leave.
    #[must_use]
    pub fn clay(&self) -> Option<f64> {
        self.clay_pct
            .or_else(|| Some(100.0 - self.silt_pct? - self.sand_pct?))
    }

    /// Whether sand, silt and clay, all told, make up all of it to a per cent or so.
    #[must_use]
    pub fn adds_up(&self) -> bool {
        match (self.sand_pct, self.silt_pct, self.clay_pct) {
            (Some(sand), Some(silt), Some(clay)) => (sand + silt + clay - 100.0).abs() <= 1.5,
            _ => true,
        }
    }

    /// How much of it lies above a depth; 0 for one that is upside down.
    fn thickness_above(&self, depth_cm: f64) -> f64 {
        (self.bottom_cm.min(depth_cm) - self.top_cm.max(0.0)).max(0.0)
    }
}

/// The mean of what horizons hold down to a depth, each weighted by its thickness
/// above that depth.
///
/// # Missing
/// Horizons without the value count neither way; nothing where none has it. How much
/// is known goes with the mean.
///
/// # Method
/// Sum of thickness times value over sum of thickness: common practice with soil
/// surveys. pH is averaged as it stands and not as hydrogen ions: common practice too.
///
/// # Examples
/// ```
/// use groundfit::soil::{Horizon, depth_mean};
/// let horizon = |top_cm, bottom_cm, ph| Horizon { top_cm, bottom_cm, ph: Some(ph), ..Horizon::default() };
/// let soil = [horizon(0.0, 20.0, 6.0), horizon(20.0, 80.0, 7.0)];
/// assert_eq!(depth_mean(&soil, 40.0, |horizon| horizon.ph).unwrap().mean, 6.5);
/// ```
#[must_use]
pub fn depth_mean(
    horizons: &[Horizon],
    depth_cm: f64,
    value: impl Fn(&Horizon) -> Option<f64>,
) -> Option<DepthMean> {
    let (mut sum, mut known_cm) = (0.0, 0.0);
    for horizon in horizons {
        let thickness = horizon.thickness_above(depth_cm);
        if let Some(value) = value(horizon).filter(|_| thickness > 0.0) {
            sum += thickness * value;
            known_cm += thickness;
        }
    }
    (known_cm > 0.0).then(|| DepthMean {
        mean: sum / known_cm,
        known_cm: known_cm.min(depth_cm),
    })
}

/// What is wrong with the horizons of one soil, each fault once.
#[must_use]
pub fn horizon_faults(horizons: &[Horizon]) -> Vec<HorizonFault> {
    let mut faults = Vec::new();
    let mut ordered: Vec<&Horizon> = horizons.iter().collect();
    ordered.sort_by(|one, other| one.top_cm.total_cmp(&other.top_cm));
    if ordered.iter().any(|horizon| horizon.bottom_cm <= horizon.top_cm) {
        faults.push(HorizonFault::UpsideDown);
    }
    ordered.retain(|horizon| horizon.bottom_cm > horizon.top_cm);
    let between = |fault, wrong: fn(f64) -> bool| {
        let found = ordered
            .windows(2)
            .any(|pair| wrong(pair[1].top_cm - pair[0].bottom_cm));
        found.then_some(fault)
    };
    faults.extend(between(HorizonFault::Overlap, |step| step < -SAME_CM));
    faults.extend(between(HorizonFault::Gap, |step| step > SAME_CM));
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    fn horizon(top_cm: f64, bottom_cm: f64, ph: Option<f64>) -> Horizon {
        Horizon {
            top_cm,
            bottom_cm,
            ph,
            ..Horizon::default()
        }
    }

    fn ph(horizons: &[Horizon], depth_cm: f64) -> Option<(f64, f64)> {
        depth_mean(horizons, depth_cm, |horizon| horizon.ph).map(|found| (found.mean, found.known_cm))
    }

    #[test]
    fn thickness_weighs_and_what_lies_deeper_does_not_count() {
        let soil = [
            horizon(0.0, 10.0, Some(5.0)),
            horizon(10.0, 40.0, Some(6.0)),
            horizon(40.0, 150.0, Some(8.0)),
        ];
        assert_eq!(ph(&soil, 10.0), Some((5.0, 10.0)));
        assert_eq!(ph(&soil, 40.0), Some((5.75, 40.0)));
        // (50 + 180 + 80) / 50
        assert_eq!(ph(&soil, 50.0), Some((6.2, 50.0)));
        assert_eq!(ph(&soil, 0.0), None);
    }

    #[test]
    fn horizons_without_a_value_count_neither_way() {
        let soil = [horizon(0.0, 10.0, None), horizon(10.0, 40.0, Some(6.0))];
        assert_eq!(ph(&soil, 20.0), Some((6.0, 10.0)));
        assert_eq!(ph(&soil, 10.0), None);
        assert_eq!(ph(&[], 10.0), None);
    }

    #[test]
    fn faults_are_told_once_each() {
        let sound = [horizon(0.0, 10.0, None), horizon(10.0, 40.0, None)];
        assert!(horizon_faults(&sound).is_empty());
        let bad = [
            horizon(5.0, 0.0, None),
            horizon(0.0, 12.0, None),
            horizon(10.0, 40.0, None),
            horizon(50.0, 60.0, None),
            horizon(70.0, 80.0, None),
        ];
        assert_eq!(
            horizon_faults(&bad),
            [HorizonFault::UpsideDown, HorizonFault::Overlap, HorizonFault::Gap]
        );
    }

    #[test]
    fn the_third_share_follows_from_two() {
        let told = Horizon {
            silt_pct: Some(40.0),
            clay_pct: Some(20.0),
            ..Horizon::default()
        };
        assert_eq!((told.sand(), told.clay()), (Some(40.0), Some(20.0)));
        assert!(told.adds_up());
        let odd = Horizon {
            sand_pct: Some(50.0),
            ..told
        };
        assert!(!odd.adds_up());
        assert_eq!(Horizon::default().sand(), None);
    }
}
