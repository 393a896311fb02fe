//! The regions near the area: their polygons by key, and which adjoin which.

use std::collections::{BTreeMap, BTreeSet};

use geo::{Contains, Geometry, MultiPolygon, Point};

use super::adjoining::{adjoin, extent_of};
use super::error::Found;
use super::layers::{Wanted, key_of};
use crate::grid::{Extent, Grid};
use crate::plural::{counted, one_or_many};

/// Regions closer than this adjoin each other: layers that were drawn apart leave slivers
/// between them.
pub(super) const SLIVER_M: f64 = 10.0;

/// One region: all polygons with one key.
#[derive(Debug)]
pub(super) struct Region {
    pub key: String,
    pub polygons: Vec<MultiPolygon<f64>>,
    pub extent: Extent,
}

impl Region {
    pub fn holds(&self, [x, y]: [f64; 2]) -> bool {
        let near = (self.extent.west..=self.extent.east).contains(&x)
            && (self.extent.south..=self.extent.north).contains(&y);
        near && self
            .polygons
            .iter()
            .any(|polygon| polygon.contains(&Point::new(x, y)))
    }
}

/// The regions of the area and those that adjoin them.
#[derive(Debug)]
pub(super) struct Regions {
    /// By key.
    pub list: Vec<Region>,
    /// How many of the first of them reach the area's extent.
    pub of_area: usize,
    /// For each region of the area the others that adjoin it.
    pub adjoining: Vec<Vec<usize>>,
    /// The keys of the whole layer.
    pub keys: BTreeSet<String>,
}

impl Regions {
    /// Reads the regions that reach the grid and their neighbours.
    pub fn read(wanted: Wanted, grid: &Grid, found: &mut Found) -> Option<Regions> {
        let keys = wanted.all_keys(found)?;
        let without = keys.iter().filter(|key| key.is_none()).count();
        if without > 0 {
            let text = format!(
                "{without} of {} {} no `{}` and {} left out",
                counted(keys.len(), "polygon"),
                one_or_many(without, "has", "have"),
                wanted.attribute,
                one_or_many(without, "is", "are")
            );
            found.warn(wanted.key, &text);
        }
        let extent = grid.extent();
        let near = gathered(wanted.read(grid.crs(), Some(extent), found)?.items);
        let of_area: BTreeSet<String> = near
            .values()
            .filter(|region| region.extent.intersection(&extent).is_some())
            .map(|region| region.key.clone())
            .collect();
        // Again, as far as these reach and a little more: the neighbours, and all parts.
        let reached = near.values().filter(|region| of_area.contains(&region.key));
        let around = reached.fold(extent, |around, region| around.union(&region.extent));
        let mut quiet = Found::default();
        let all = wanted.read(grid.crs(), Some(around.grown(2.0 * SLIVER_M)), &mut quiet)?;
        let (mut list, others): (Vec<Region>, Vec<Region>) = gathered(all.items)
            .into_values()
            .partition(|region| of_area.contains(&region.key));
        if list.is_empty() {
            let text = format!(
                "of {} with a `{}` none reaches the area",
                counted(keys.len() - without, "polygon"),
                wanted.attribute
            );
            found.problem(wanted.key, &text);
            return None;
        }
        let of_area = list.len();
        list.extend(others);
        let adjoining = (0..of_area)
            .map(|one| {
                let others = 0..list.len();
                others
                    .filter(|&other| other != one && adjoin(&list[one], &list[other], SLIVER_M))
                    .collect()
            })
            .collect();
        Some(Regions {
            list,
            of_area,
            adjoining,
            keys: keys.into_iter().flatten().collect(),
        })
    }

    pub fn index_of(&self) -> BTreeMap<&str, usize> {
        let keys = self.list.iter().enumerate();
        keys.map(|(index, region)| (region.key.as_str(), index)).collect()
    }
}

/// The polygons by key.
fn gathered(features: Vec<crate::gis::Feature>) -> BTreeMap<String, Region> {
    let mut regions: BTreeMap<String, Region> = BTreeMap::new();
    for feature in features {
        let Some(key) = key_of(&feature.fields) else {
            continue;
        };
        let polygon = match feature.geometry {
            Geometry::Polygon(polygon) => MultiPolygon::new(vec![polygon]),
            Geometry::MultiPolygon(polygons) => polygons,
            _ => continue,
        };
        let Some(extent) = extent_of(&polygon) else {
            continue;
        };
        if let Some(region) = regions.get_mut(&key) {
            region.extent = region.extent.union(&extent);
            region.polygons.push(polygon);
            continue;
        }
        let region = Region {
            key: key.clone(),
            polygons: vec![polygon],
            extent,
        };
        regions.insert(key, region);
    }
    regions
}
