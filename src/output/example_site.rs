//! Small made-up results for the tests of the writers.

use std::sync::Arc;

use super::{Outlines, SiteResult, ZoneSpeciesText};
use crate::factor::{Factor, Units};
use crate::grid::{Crs, Extent, Grid};
use crate::score::Class;
use crate::species::{Form, Species};
use crate::zones::outlines::GeographicOutline;
use crate::zones::{GroundValue, Listing, Outline, Reasons, Zone, ZoneSpecies};

/// UTM zone 15 N on NAD83, in the old well-known text.
const UTM_15N: &str = r#"PROJCS["NAD83 / UTM zone 15N",GEOGCS["NAD83",DATUM["North_American_Datum_1983",SPHEROID["GRS 1980",6378137,298.257222101,AUTHORITY["EPSG","7019"]],AUTHORITY["EPSG","6269"]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433],AUTHORITY["EPSG","4269"]],PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",-93],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],PARAMETER["false_northing",0],UNIT["metre",1],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","26915"]]"#;

/// A whole result that owns what [`SiteResult`] borrows.
pub(super) struct Example {
    pub(super) title: String,
    pub(super) grid: Grid,
    pub(super) factors: Vec<Factor>,
    pub(super) species: Vec<Species>,
    pub(super) zones: Vec<Zone>,
    pub(super) outlines: Vec<Outline>,
    pub(super) geographic: Vec<GeographicOutline>,
}

fn texts(_: usize, entry: &ZoneSpecies) -> ZoneSpeciesText {
    match entry.reasons.limited_by.first() {
        None => ZoneSpeciesText::default(),
        Some(factor) => ZoneSpeciesText {
            found: format!("found for factor {factor}"),
            needed: format!("needed for factor {factor}"),
        },
    }
}

fn plant(id: &str, scientific: &str, common: &str, form: Form) -> Species {
    Species {
        id: id.to_owned(),
        scientific_name: scientific.to_owned(),
        common_name: common.to_owned(),
        form,
        traits: vec![],
        opinions: vec![],
    }
}

fn square(west: f64, south: f64, side: f64) -> Vec<(f64, f64)> {
    let (east, north) = (west + side, south + side);
    vec![
        (west, south),
        (east, south),
        (east, north),
        (west, north),
        (west, south),
    ]
}

fn geographic_square(west: i32, south: i32, side: i32) -> Vec<[i32; 2]> {
    let (east, north) = (west + side, south + side);
    vec![
        [west, south],
        [east, south],
        [east, north],
        [west, north],
        [west, south],
    ]
}

fn reversed<T>(mut ring: Vec<T>) -> Vec<T> {
    ring.reverse();
    ring
}

fn entry(species: usize, listing: Listing, class: Option<Class>, rating: Option<f64>) -> ZoneSpecies {
    ZoneSpecies {
        species: u32::try_from(species).unwrap(),
        listing,
        share: match listing {
            Listing::Throughout => 0.95,
            Listing::Mostly | Listing::NotDocumented => 0.6,
            Listing::InParts => 0.3,
            Listing::NotListed | Listing::NotKnown => 0.0,
        },
        known_share: if listing == Listing::NotKnown { 0.0 } else { 1.0 },
        class,
        rating: rating.into(),
        soil_share: (listing == Listing::Mostly).then_some(0.6).into(),
        reasons: reasons(vec![], vec![]),
    }
}

fn reasons(limited_by: Vec<usize>, lacking: Vec<usize>) -> Arc<Reasons> {
    Arc::new(Reasons {
        rests_on: 2,
        limited_by,
        lacking,
        no_opinion_on: vec![],
    })
}

fn zones(wet: Vec<GroundValue>, dry: Vec<GroundValue>) -> Vec<Zone> {
    vec![
        Zone {
            number: 1,
            stable_id: "z-500000-4800000".to_owned(),
            cells: 100,
            area_m2: 2_500.123_4,
            best_class: Some(Class::S1),
            unknown_share: 0.0,
            limited_by: vec![0],
            ground: wet,
            species: vec![
                entry(2, Listing::Throughout, Some(Class::S1), Some(0.912_34)),
                ZoneSpecies {
                    reasons: reasons(vec![1, 0], vec![]),
                    ..entry(0, Listing::Mostly, Some(Class::S2), Some(0.849_99))
                },
                ZoneSpecies {
                    reasons: reasons(vec![0], vec![]),
                    ..entry(1, Listing::InParts, Some(Class::S2), Some(0.7))
                },
            ],
            below_support_of: None,
        },
        Zone {
            number: 2,
            stable_id: "z-500050-4800000".to_owned(),
            cells: 96,
            area_m2: 2_400.0,
            best_class: None,
            unknown_share: 1.0 / 3.0,
            limited_by: vec![],
            ground: dry,
            species: vec![
                ZoneSpecies {
                    reasons: reasons(vec![0], vec![]),
                    ..entry(0, Listing::NotListed, Some(Class::N1), None)
                },
                entry(2, Listing::NotListed, Some(Class::N2), None),
                ZoneSpecies {
                    reasons: reasons(vec![], vec![1]),
                    ..entry(1, Listing::NotKnown, None, None)
                },
            ],
            below_support_of: Some(1),
        },
    ]
}

impl Example {
    /// Two zones of three factors and three species, the second zone with a hole in
    /// which nothing is rated.
    pub(super) fn two_zones() -> Example {
        let factors: Vec<Factor> = ["drainage", "ph", "spray_salt", "distance"]
            .iter()
            .map(|id| Factor::standard(id).unwrap())
            .collect();
        let species = vec![
            plant("carex-stricta", "Carex stricta", "tussock sedge", Form::Grass),
            plant(
                "cornus-sericea",
                "Cornus sericea",
                "red-osier dogwood",
                Form::Shrub,
            ),
            plant(
                "quercus-bicolor",
                "Quercus bicolor",
                "swamp white oak",
                Form::Tree,
            ),
        ];
        let wet = vec![
            GroundValue::Class { class: 5, share: 0.8 },
            GroundValue::Measured {
                mean: 6.123_456,
                least: 5.8,
                greatest: 6.4,
            },
            GroundValue::Class { class: 0, share: 1.0 },
            GroundValue::Measured {
                mean: 12.5,
                least: 5.0,
                greatest: 20.0,
            },
        ];
        let dry = vec![
            GroundValue::Class {
                class: 2,
                share: 0.999,
            },
            GroundValue::Missing,
            GroundValue::Class { class: 2, share: 0.6 },
            GroundValue::Measured {
                mean: f64::INFINITY,
                least: 5.0,
                greatest: f32::INFINITY,
            },
        ];
        let zones = zones(wet, dry);
        let extent = Extent {
            west: 500_000.0,
            south: 4_800_000.0,
            east: 500_100.0,
            north: 4_800_050.0,
        };
        let crs = Crs {
            wkt: UTM_15N.to_owned(),
            name: "NAD83 / UTM zone 15N".to_owned(),
            code: Some("EPSG:26915".to_owned()),
        };
        Example {
            title: "Two zones".to_owned(),
            grid: Grid::covering(&extent, 5.0, crs).unwrap(),
            factors,
            species,
            zones,
            outlines: vec![
                Outline {
                    exterior: square(500_000.0, 4_800_000.0, 50.0),
                    holes: vec![],
                },
                Outline {
                    exterior: square(500_050.0, 4_800_000.0, 50.0),
                    holes: vec![reversed(square(500_060.0, 4_800_010.0, 10.0))],
                },
            ],
            geographic: vec![
                GeographicOutline {
                    exterior: geographic_square(-930_000_000, 433_500_000, 6_170),
                    holes: vec![],
                },
                // Turned the wrong way round, both.
                GeographicOutline {
                    exterior: reversed(geographic_square(-929_993_830, 433_500_000, 6_170)),
                    holes: vec![geographic_square(-929_992_000, 433_501_000, 1_001)],
                },
            ],
        }
    }

    /// The same site without a single zone.
    pub(super) fn empty() -> Example {
        Example {
            zones: vec![],
            outlines: vec![],
            geographic: vec![],
            ..Example::two_zones()
        }
    }

    pub(super) fn site(&self) -> SiteResult<'_> {
        SiteResult {
            title: &self.title,
            units: Units::Metric,
            grid: &self.grid,
            factors: &self.factors,
            species: &self.species,
            zones: &self.zones,
            outlines: self,
            texts: &texts,
            ranges: None,
        }
    }
}

impl Outlines for Example {
    fn count(&self) -> usize {
        self.outlines.len()
    }

    fn on_map(&self, zone: usize, _: &Grid) -> Outline {
        self.outlines[zone].clone()
    }

    fn geographic(&self, zone: usize) -> GeographicOutline {
        self.geographic[zone].clone()
    }

    fn bounds(&self) -> Option<[i32; 4]> {
        let points = || self.geographic.iter().flat_map(|outline| &outline.exterior);
        let lon = || points().map(|point| point[0]);
        let lat = || points().map(|point| point[1]);
        Some([lon().min()?, lat().min()?, lon().max()?, lat().max()?])
    }
}

/// The two zones with names that trip up careless writers.
pub(super) fn awkward() -> Example {
    let mut example = Example::two_zones();
    example.title = "A \"site\" <&> \u{e9}\u{4e2d}\u{1f33f}\nwith two lines\\".to_owned();
    example.species[0].common_name = "sedge, \"tussock\"\r\nsecond line; 'x'".to_owned();
    example.species[1].common_name = "<b>dogwood</b> & \u{1}\t".to_owned();
    example.species[2].common_name = "\u{6a31}\u{2028}\u{1f333}".to_owned();
    example.factors[1].id = "PH".to_owned();
    example.factors[0].id = "ph".to_owned();
    example
}
