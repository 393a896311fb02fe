//! A site of several tiles beside one another.

use std::fs;
use std::path::Path;

use super::*;
use crate::project::Project;
use crate::run::{BLOCK_ROWS, Silent, Stop, map};

const SPECIES: &str =
    "id,scientific_name,common_name,form\npanicum-virgatum,Panicum virgatum,switchgrass,grass\n";
const SOURCES: &str =
    "id,kind,title,author,year,publisher,note\ncommon-practice,common practice,invented,,,,\n";
const TOLERANCES: &str = "species,factor,given,response,source,note\n\
    panicum-virgatum,ph,,range 4 5 7 8,common-practice,\n";
const PROJECT: &str = r#"
[area]
boundary = "site.geojson"
grid_crs = "EPSG:26915"
cell_m = 1
[catalogue]
folder = "."
[factors.ph]
layer = "ph.geojson"
attribute = "ph"
[zones]
fidelity = 1
"#;

/// Strips of 20 m from north to south, in metres of UTM zone 15 N, each with one property.
fn strips_of_ground(strips: &[(u32, u32, &str)]) -> String {
    let feature = |&(west, east, property): &(u32, u32, &str)| {
        let (west, east) = (500_000 + west, 500_000 + east);
        let (south, north) = (4_990_000, 4_990_020);
        format!(
            r#"{{"type":"Feature","properties":{{{property}}},"geometry":{{"type":"Polygon","coordinates":[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]}}}}"#
        )
    };
    let features: Vec<String> = strips.iter().map(feature).collect();
    let crs = r#"{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::26915"}}"#;
    format!(
        r#"{{"type":"FeatureCollection","crs":{crs},"features":[{}]}}"#,
        features.join(",")
    )
}

const PH: [(u32, u32, &str); 4] = [
    (0, 200, r#""ph":6"#),
    (200, 900, r#""ph":9"#),
    (900, 1300, r#""ph":6"#),
    (1300, 1700, r#""ph":9"#),
];

fn site(folder: &Path) -> Project {
    for (name, text) in [
        ("species.csv", SPECIES),
        ("sources.csv", SOURCES),
        ("tolerances.csv", TOLERANCES),
        ("site.toml", PROJECT),
        ("site.geojson", &strips_of_ground(&[(0, 1700, "")])),
        ("ph.geojson", &strips_of_ground(&PH)),
    ] {
        fs::write(folder.join(name), text).unwrap();
    }
    Project::read(&folder.join("site.toml")).unwrap()
}

fn options<'o>(folder: &'o Path, stop: &'o Stop) -> Options<'o> {
    Options {
        folder,
        overwrite: false,
        block_rows: BLOCK_ROWS,
        progress: &Silent,
        stop,
    }
}

#[test]
fn regions_lie_where_their_ground_does_across_tiles() {
    let folder = tempfile::tempdir().unwrap();
    let project = site(folder.path());
    let prepared = Prepared::open(&project).unwrap();
    assert!(prepared.site.grid().tiles().count() > 3);
    let rater = prepared.rater().unwrap();
    let settings = ZoneSettings::new(&project, &prepared).unwrap();
    let stop = Stop::new();
    let regions = find_regions(&prepared, &rater, &settings, &options(folder.path(), &stop)).unwrap();
    for row in 0..prepared.site.grid().rows() {
        let ends: Vec<u32> = regions.rows.row(row).iter().map(|&(end, _)| end).collect();
        assert_eq!(ends, PH.map(|(_, east, _)| east), "row {row}");
    }
}

#[test]
fn zones_have_the_cells_of_their_own_ground_across_tiles() {
    let folder = tempfile::tempdir().unwrap();
    let stop = Stop::new();
    let out = folder.path().join("out");
    let mapped = map(&site(folder.path()), &options(&out, &stop)).unwrap();
    let told = mapped
        .zones
        .iter()
        .map(|zone| (zone.cells, zone.species[0].share));
    let mut told: Vec<(u64, f64)> = told.collect();
    told.sort_by(|one, other| one.partial_cmp(other).unwrap());
    assert_eq!(told, [(4_000, 1.0), (8_000, 0.0), (8_000, 1.0), (14_000, 0.0)]);
}
