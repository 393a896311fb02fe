//! Points of known records of the catalogue's species, those of blurred species moved to
//! the middle of a square.

use geo::{Centroid, Geometry};
use rstar::primitives::GeomWithData;

use super::error::Found;
use super::layers::{Wanted, key_of};
use super::names::Names;
use super::zone_cells::Places;
use crate::grid::Grid;
use crate::plural::{counted, one_or_many};
use crate::project::RangeSection;
use crate::species::Catalogue;

const KEY: &str = "range.records";

/// Where the catalogue's species are recorded.
#[derive(Debug)]
pub(super) struct Records {
    /// For each species the places from which distances are told.
    pub places: Vec<Places>,
    /// For each species the places as recorded; none for those that are blurred.
    pub plain: Vec<Vec<[f64; 2]>>,
    /// Records of the catalogue's species within reach.
    pub used: usize,
    /// Different names that the catalogue lacks.
    pub unknown_names: usize,
}

/// `blurs` has for each species the side of its squares, where it is blurred.
pub(super) fn read(
    section: &RangeSection,
    catalogue: &Catalogue,
    blurs: &[Option<f64>],
    grid: &Grid,
    found: &mut Found,
) -> Option<Records> {
    let layer = section.records.as_ref()?;
    let wanted = Wanted {
        key: KEY,
        layer: &layer.layer,
        attribute: &layer.attribute,
    };
    // A blurred record is measured from its square, so one from farther off may count.
    let reach_m = section.reach_km * 1_000.0 + 2.0 * section.blur_m.unwrap_or(0.0);
    let features = wanted.read(grid.crs(), Some(grid.extent().grown(reach_m)), found)?;
    let mut names = Names::new(catalogue);
    let mut plain = vec![Vec::new(); catalogue.species.len()];
    let mut places: Vec<Vec<[f64; 2]>> = plain.clone();
    let (mut used, mut nameless, mut not_points) = (0, 0, 0);
    for feature in &features.items {
        let Some(name) = key_of(&feature.fields) else {
            nameless += 1;
            continue;
        };
        let Some(species) = names.find(&name) else {
            continue;
        };
        if !matches!(feature.geometry, Geometry::Point(_) | Geometry::MultiPoint(_)) {
            not_points += 1;
        }
        let Some(point) = feature.geometry.centroid() else {
            continue;
        };
        used += 1;
        let place = [point.x(), point.y()];
        if let Some(blur_m) = blurs[species] {
            places[species].push(hidden(place, blur_m));
        } else {
            places[species].push(place);
            plain[species].push(place);
        }
    }
    if nameless > 0 {
        let text = format!(
            "{} {} no `{}` and {} left out",
            counted(nameless, "feature"),
            one_or_many(nameless, "has", "have"),
            layer.attribute,
            one_or_many(nameless, "is", "are")
        );
        found.warn(KEY, &text);
    }
    if not_points > 0 {
        let text = format!(
            "{} {}",
            counted(not_points, "feature"),
            one_or_many(
                not_points,
                "is no point: its centre is taken",
                "are no points: their centres are taken"
            )
        );
        found.warn(KEY, &text);
    }
    names.tell(KEY, found);
    if used == 0 {
        let text = format!(
            "no record of a species of the catalogue lies within {} km",
            section.reach_km
        );
        found.warn(KEY, &text);
    }
    let filed = |mut places: Vec<[f64; 2]>| {
        places.sort_by(|one, other| one[0].total_cmp(&other[0]).then(one[1].total_cmp(&other[1])));
        places.dedup();
        let filed = places.into_iter().map(|place| GeomWithData::new(place, ()));
        Places::bulk_load(filed.collect())
    };
    Some(Records {
        places: places.into_iter().map(filed).collect(),
        plain,
        used,
        unknown_names: names.unknown(),
    })
}

/// The middle of the square of a side of `blur_m` in which a place lies. The squares lie
/// fast on the map: no other grid or area gives other ones.
fn hidden(place: [f64; 2], blur_m: f64) -> [f64; 2] {
    place.map(|at| ((at / blur_m).floor() + 0.5) * blur_m)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn all_places_of_a_square_are_told_alike(
            col in -9_i32..9, row in -9_i32..9, x in 0.0..1.0, y in 0.0..1.0, blur_m in 100.0..20_000.0,
        ) {
            let at = |x: f64, y: f64| [(f64::from(col) + x) * blur_m, (f64::from(row) + y) * blur_m];
            let [place, middle] = [at(x * 0.999 + 5e-4, y * 0.999 + 5e-4), at(0.5, 0.5)];
            let told = hidden(place, blur_m);
            prop_assert!((told[0] - middle[0]).hypot(told[1] - middle[1]) < 1e-6);
            // The way to any place of the square is no longer than what is told of the middle.
            let way = (told[0] - place[0]).hypot(told[1] - place[1]);
            prop_assert!(way <= crate::range::NearestRecord::blurred(0.0, blur_m).metres);
        }
    }
}
