//! Transforming points from one coordinate reference system to another, and
//! telling which way was taken. Ballpark ways, which leave out the shift between
//! two datums, are asked to be forbidden first.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use gdal::errors::GdalError;
use gdal::spatial_ref::{CoordTransform, CoordTransformOptions, SpatialRef};
use serde::Serialize;

use super::sent::Sent;
use super::{GisError, crs, messages};
use crate::grid::{Crs, Extent};

/// The accuracies asked for, in metres, to find out which is granted.
const ASKED_ACCURACY_M: [f64; 6] = [0.1, 1.0, 2.0, 5.0, 10.0, 25.0];

/// Points handed to PROJ at once.
const POINTS_AT_ONCE: usize = 1 << 20;

/// No place on Earth lies farther from the origin of a system, in any unit.
const FARTHEST: f64 = 1e10;

/// Which way coordinates go from one system to another.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TransformTold {
    /// The system the coordinates come from.
    pub from: String,
    /// The system they go to.
    pub to: String,
    /// Both are the same: nothing is changed.
    pub same: bool,
    /// The shift between the datums is left out, for want of a better way.
    pub ballpark: bool,
    /// The operation, where PROJ names it.
    pub operation: Option<String>,
    /// The accuracy that was asked for and granted where both systems are at
    /// home, in metres. Nothing when none was, or when no such place is known.
    pub accuracy_m: Option<f64>,
}

/// A way from one system to another, for one thread at a time.
#[derive(Debug)]
pub struct Transform {
    inner: Option<Sent>,
    told: TransformTold,
}

impl Transform {
    /// The best way there is.
    ///
    /// # Errors
    /// When there is none.
    pub fn new(from: &Crs, to: &Crs) -> Result<Transform, GisError> {
        Transform::best(from, to, true)
    }

    /// The same way as [`Transform::new`] where nobody is told of it: how accurate it is,
    /// which takes longest to find out, is not asked.
    ///
    /// # Errors
    /// When there is none.
    pub fn untold(from: &Crs, to: &Crs) -> Result<Transform, GisError> {
        Transform::best(from, to, false)
    }

    fn best(from: &Crs, to: &Crs, ask_accuracy: bool) -> Result<Transform, GisError> {
        let (source, target) = (crs::reference(from)?, crs::reference(to)?);
        let mut told = TransformTold {
            from: from.label(),
            to: to.label(),
            same: from.wkt == to.wkt || source == target,
            ballpark: false,
            operation: None,
            accuracy_m: None,
        };
        if told.same {
            return Ok(Transform { inner: None, told });
        }
        let mut last = None;
        // No accuracy is asked for here: PROJ would drop ways that are less
        // accurate, and with them perhaps the only one made for this place.
        for ballpark in [false, true] {
            messages::forget();
            match way(&source, &target, ballpark, None) {
                Ok(way) => {
                    told.ballpark = ballpark;
                    if ask_accuracy && !ballpark {
                        told.accuracy_m = accuracy_m(from, to, &source, &target);
                    }
                    messages::forget();
                    return Ok(Transform {
                        inner: Some(Sent::new(way)),
                        told,
                    });
                }
                Err(error) => last = Some(messages::reason(&error)),
            }
        }
        Err(GisError::NoTransform {
            from: told.from,
            to: told.to,
            reason: last.unwrap_or_default(),
        })
    }

    /// Which way it is.
    #[must_use]
    pub fn told(&self) -> &TransformTold {
        &self.told
    }

    /// Brings all points over, in place.
    ///
    /// # Errors
    /// When any point cannot be brought over; the points are then undefined.
    pub fn apply(&self, points: &mut [(f64, f64)]) -> Result<(), GisError> {
        if self.inner.is_none() {
            return Ok(());
        }
        let (mut failed, mut first) = (0, None);
        let of = points.len();
        for part in points.chunks_mut(POINTS_AT_ONCE) {
            let mut xs: Vec<f64> = part.iter().map(|point| point.0).collect();
            let mut ys: Vec<f64> = part.iter().map(|point| point.1).collect();
            self.apply_to(&mut xs, &mut ys);
            for (point, (x, y)) in part.iter_mut().zip(xs.into_iter().zip(ys)) {
                if x.is_finite() && y.is_finite() {
                    *point = (x, y);
                } else {
                    failed += 1;
                    first.get_or_insert(*point);
                }
            }
        }
        match first {
            None => Ok(()),
            Some((x, y)) => Err(GisError::TransformPoints {
                from: self.told.from.clone(),
                to: self.told.to.clone(),
                failed,
                of,
                x,
                y,
            }),
        }
    }

    /// Brings points over; those that fail come out infinite.
    pub(super) fn apply_to(&self, xs: &mut [f64], ys: &mut [f64]) {
        if let Some(inner) = &self.inner {
            // The result only says that some point failed; which one, the
            // infinite coordinates say.
            messages::unheard(|| {
                let _ = inner.transform_coords(xs, ys, &mut []);
            });
        }
    }

    /// The smallest extent that holds the transformed extent, its edges followed.
    pub(super) fn extent(&self, extent: &Extent) -> Option<Extent> {
        let Some(inner) = &self.inner else {
            return Some(*extent);
        };
        let corners = [extent.west, extent.south, extent.east, extent.north];
        // GDAL brings longitudes home in steps of 360 degrees, and never arrives from
        // infinity.
        if corners
            .iter()
            .any(|corner| corner.is_nan() || corner.abs() > FARTHEST)
        {
            return None;
        }
        let [west, south, east, north] = messages::unheard(|| inner.transform_bounds(&corners, 21)).ok()?;
        let found = Extent {
            west,
            south,
            east,
            north,
        };
        let whole = [west, south, east, north].iter().all(|edge| edge.is_finite());
        // A west edge past the east one crosses the date line.
        (whole && west <= east && south <= north).then_some(found)
    }
}

/// An accuracy and where it is asked for.
type Asked = (f64, Extent);

fn way(
    source: &SpatialRef,
    target: &SpatialRef,
    ballpark: bool,
    asked: Option<Asked>,
) -> Result<CoordTransform, GdalError> {
    let mut options = CoordTransformOptions::new()?;
    options.set_ballpark_allowed(ballpark)?;
    if let Some((accuracy_m, area)) = asked {
        options.desired_accuracy(accuracy_m)?;
        options.set_area_of_interest(area.west, area.south, area.east, area.north)?;
    }
    CoordTransform::new_with_options(source, target, &options)
}

/// The least of the accuracies asked for that is granted where both systems are
/// at home. Asking takes PROJ up to a second, so answers are kept.
fn accuracy_m(from: &Crs, to: &Crs, source: &SpatialRef, target: &SpatialRef) -> Option<f64> {
    static KNOWN: Mutex<BTreeMap<(String, String), Option<f64>>> = Mutex::new(BTreeMap::new());
    let key = (from.wkt.clone(), to.wkt.clone());
    // What is kept is whole even when another thread broke off.
    let known = || KNOWN.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(accuracy) = known().get(&key) {
        return *accuracy;
    }
    let home = |crs: &Crs| crs::crs_facts(crs).ok()?.area_of_use;
    let (from_parts, to_parts) = (parts(home(from)), parts(home(to)));
    let mut pairs = from_parts
        .iter()
        .flat_map(|a| to_parts.iter().map(move |b| (a, b)));
    let shared = pairs.find_map(|(a, b)| a.intersection(b));
    let accuracy = shared.and_then(|area| {
        let granted = |accuracy: &f64| way(source, target, false, Some((*accuracy, area))).is_ok();
        ASKED_ACCURACY_M.into_iter().find(granted)
    });
    known().insert(key, accuracy);
    accuracy
}

/// An area of use in one piece, or in two where it crosses the date line, the one
/// in the western hemisphere first.
fn parts(area: Option<Extent>) -> Vec<Extent> {
    match area {
        Some(area) if area.west > area.east => {
            vec![Extent { west: -180.0, ..area }, Extent { east: 180.0, ..area }]
        }
        Some(area) => vec![area],
        None => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gis::{crs_from_text, lon_lat};

    fn between(from: &str, to: &str) -> Transform {
        Transform::new(&crs_from_text(from).unwrap(), &crs_from_text(to).unwrap()).unwrap()
    }

    #[test]
    fn longitude_comes_first_whatever_the_registry_says() {
        let to_plane = between("EPSG:4326", "EPSG:32615");
        let mut points = [(-93.0, 45.0), (-93.2, 45.0)];
        to_plane.apply(&mut points).unwrap();
        assert!((points[0].0 - 500_000.0).abs() < 1e-6, "{points:?}");
        assert!((points[0].1 - 4_982_950.4).abs() < 0.1, "{points:?}");
        assert!(points[1].0 < points[0].0);
        between("EPSG:32615", "EPSG:4326").apply(&mut points).unwrap();
        assert!((points[1].0 + 93.2).abs() < 1e-9 && (points[1].1 - 45.0).abs() < 1e-9);
    }

    #[test]
    fn the_way_is_told() {
        let same = between("EPSG:26915", "EPSG:26915");
        assert!(same.told().same);
        let near = between("EPSG:4269", "EPSG:26915");
        assert_eq!((near.told().same, near.told().ballpark), (false, false));
        assert_eq!(near.told().accuracy_m, Some(0.1));
        let datum = between("EPSG:4269", "EPSG:32615");
        assert!(!datum.told().ballpark);
        assert_eq!(datum.told().accuracy_m, Some(5.0));
    }

    #[test]
    fn the_shift_between_datums_is_made_where_the_grids_are_there() {
        // About 16 m east in Minnesota between NAD27 and NAD83.
        let shift = between("EPSG:4267", "EPSG:26915");
        let mut points = [(-93.2, 45.0)];
        shift.apply(&mut points).unwrap();
        let mut plain = [(-93.2, 45.0)];
        between("EPSG:4269", "EPSG:26915").apply(&mut plain).unwrap();
        let moved = (points[0].0 - plain[0].0).hypot(points[0].1 - plain[0].1);
        assert!(shift.told().ballpark || (5.0..50.0).contains(&moved), "{moved}");
    }

    #[test]
    fn an_extent_without_an_end_has_no_counterpart() {
        let to_globe = between("EPSG:3857", "EPSG:4326");
        for far in [f64::INFINITY, f64::NAN, 1e300] {
            let extent = Extent {
                west: -far,
                south: -far,
                east: far,
                north: far,
            };
            assert_eq!(to_globe.extent(&extent), None);
        }
    }

    #[test]
    fn points_that_fail_are_an_error() {
        let to_plane = Transform::new(&lon_lat().unwrap(), &crs_from_text("EPSG:32615").unwrap()).unwrap();
        let mut points = [(-93.0, 45.0), (500_000.0, 4_982_950.0)];
        let error = to_plane.apply(&mut points).unwrap_err();
        assert!(
            matches!(error, GisError::TransformPoints { failed: 1, of: 2, x, .. } if x == 500_000.0),
            "{error}"
        );
        assert!(to_plane.apply(&mut [(f64::NAN, 1.0)]).is_err());
        to_plane.apply(&mut []).unwrap();
    }
}
