//! Statements of the trade (common practice, no source) on a made-up site: sand,
//! a poorly drained flat, a gravel ridge and a marsh side by side, a salted road
//! along the south, a wood across the north.

use std::path::Path;
use std::sync::OnceLock;

use serde_json::Value;

use crate::output_files::{OutputFiles, is_listed};
use crate::program::{groundfit, map};
use crate::scenario::{
    EAST_M, Field, NORTH_M, PLANE, RasterPlan, Row, rectangle, write_layer, write_project,
};

const STRIPS: [(&str, &str, f64); 4] = [
    ("sand", "Somewhat excessively drained", 100.0),
    ("flat", "Poorly drained", 300.0),
    ("ridge", "Excessively drained", 500.0),
    ("marsh", "Very poorly drained", 700.0),
];
const ROAD_Y: f64 = 20.0;
/// In heavy spray and salted soil.
const BESIDE_ROAD: f64 = 35.0;
/// Slight spray, no salt in the soil.
const OPEN: f64 = 110.0;
const WOOD: f64 = 260.0;

const DRY_SUN: [&str; 4] = [
    "schizachyrium-scoparium",
    "bouteloua-curtipendula",
    "asclepias-tuberosa",
    "rhus-typhina",
];
const WET: [&str; 4] = [
    "carex-stricta",
    "asclepias-incarnata",
    "eutrochium-maculatum",
    "cephalanthus-occidentalis",
];

fn write_site(folder: &Path) -> std::path::PathBuf {
    write_layer(
        &folder.join("boundary.gpkg"),
        PLANE,
        &["name"],
        &[(vec![Field::Text("site")], rectangle(0.0, 0.0, 800.0, 320.0))],
    );
    let soils: Vec<Row> = STRIPS
        .iter()
        .map(|&(_, words, x)| {
            (
                vec![Field::Text(words), Field::Number(6.3)],
                rectangle(x - 100.0, 0.0, x + 100.0, 320.0),
            )
        })
        .collect();
    write_layer(&folder.join("soils.gpkg"), PLANE, &["drain", "ph"], &soils);
    write_layer(
        &folder.join("roads.gpkg"),
        PLANE,
        &["class"],
        &[(
            vec![Field::Text("highway")],
            format!("LINESTRING (1 {ROAD_Y}, 799 {ROAD_Y})"),
        )],
    );
    let raster = RasterPlan {
        west: 0.0,
        south: 0.0,
        east: 800.0,
        north: 320.0,
        cell: 5.0,
        epsg: PLANE,
        nodata: Some(-1.0),
    };
    raster.write(
        &folder.join("canopy.tif"),
        |_, y| if y > 200.0 { 95.0_f32 } else { 3.0 },
    );
    raster.write(&folder.join("salinity.tif"), |_, y| {
        if (y - ROAD_Y).abs() < 25.0 { 6.0_f32 } else { 0.5 }
    });
    write_project(
        folder,
        r#"
[area]
boundary = "boundary.gpkg"
grid_crs = "EPSG:26915"
cell_m = 5
[catalogue]
folder = "CATALOGUE"
[factors.drainage]
layer = "soils.gpkg"
attribute = "drain"
[factors.ph]
layer = "soils.gpkg"
attribute = "ph"
[factors.canopy]
layer = "canopy.tif"
[factors.soil_salinity]
layer = "salinity.tif"
[factors.spray_salt]
distance_to = "roads.gpkg"
reach_m = 150
cuts = [
  { to = 8, class = "severe" },
  { to = 25, class = "heavy" },
  { to = 150, class = "slight" },
  { class = "none" },
]
[[exclude]]
name = "pavement"
layer = "roads.gpkg"
width_m = 8
"#,
    )
}

struct Mapped {
    folder: tempfile::TempDir,
    project: std::path::PathBuf,
    output: OutputFiles,
}

fn mapped() -> &'static Mapped {
    static MAPPED: OnceLock<Mapped> = OnceLock::new();
    MAPPED.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let project = write_site(folder.path());
        let out = folder.path().join("out");
        map(&project, &out, &[]).expect(0);
        Mapped {
            project,
            output: OutputFiles::at(&out),
            folder,
        }
    })
}

fn x_of(strip: &str) -> f64 {
    STRIPS.iter().find(|(name, ..)| *name == strip).unwrap().2
}

/// How a species stands in the zone at a place.
fn listing(strip: &str, y: f64, species: &str) -> String {
    let mapped = mapped();
    let zone = mapped
        .output
        .zone_at(EAST_M + x_of(strip) + 2.0, NORTH_M + y + 2.0);
    mapped.output.listings_of(zone.number)[species].clone()
}

/// What `why` says of a species at a place.
fn state(strip: &str, y: f64, species: &str) -> Value {
    let mapped = mapped();
    assert!(mapped.folder.path().exists());
    let project = mapped.project.display().to_string();
    let x = (EAST_M + x_of(strip) + 2.0).to_string();
    let y = (NORTH_M + y + 2.0).to_string();
    let run = groundfit(["why", &project, &x, &y, "--species", species, "--json"]).expect(0);
    run.json()["species"][0].clone()
}

fn suits(strip: &str, y: f64, species: &str) -> bool {
    let listed = is_listed(&listing(strip, y, species));
    let here = state(strip, y, species);
    assert_eq!(
        listed,
        here["state"] == "suits",
        "{strip} {y} {species}: {here:#}"
    );
    listed
}

#[test]
fn a_shrub_that_stands_salt_only_where_ground_drains_is_listed_on_sand_beside_the_road_and_not_on_the_flat() {
    let shrub = "dasiphora-fruticosa";
    assert!(suits("sand", BESIDE_ROAD, shrub));
    assert!(!suits("flat", BESIDE_ROAD, shrub));
    // The flat itself does suit it, away from the road.
    assert!(suits("flat", OPEN, shrub));
    let here = state("flat", BESIDE_ROAD, shrub);
    let limits: Vec<&str> = here["answers"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|answer| answer["limits"] == true)
        .map(|answer| answer["factor"].as_str().unwrap())
        .collect();
    assert_eq!(limits, ["soil_salinity", "spray_salt"]);
}

#[test]
fn dry_site_plants_of_full_sun_grow_neither_under_closed_canopy_nor_in_a_marsh() {
    for species in DRY_SUN {
        assert!(suits("sand", OPEN, species), "{species}");
        assert!(!suits("sand", WOOD, species), "{species}");
        assert!(!suits("marsh", OPEN, species), "{species}");
        assert!(!suits("marsh", WOOD, species), "{species}");
    }
}

#[test]
fn forest_herbs_grow_under_the_canopy_and_not_in_the_open() {
    for species in ["adiantum-pedatum", "eurybia-macrophylla", "viburnum-acerifolium"] {
        assert!(suits("sand", WOOD, species), "{species}");
        assert!(!suits("sand", OPEN, species), "{species}");
    }
}

#[test]
fn wet_site_plants_do_not_grow_on_a_gravel_ridge() {
    for species in WET {
        assert!(suits("marsh", OPEN, species), "{species}");
        assert!(!suits("ridge", OPEN, species), "{species}");
        assert!(!suits("ridge", WOOD, species), "{species}");
    }
}

#[test]
fn a_plant_without_an_opinion_on_salt_is_not_known_at_the_roads_edge() {
    // It has one on salt in the soil, but none on spray.
    let species = "bouteloua-curtipendula";
    assert!(suits("sand", OPEN, species));
    assert_eq!(listing("sand", BESIDE_ROAD, species), "not known");
    assert_eq!(state("sand", BESIDE_ROAD, species)["state"], "not known");
    // On the flat its drainage settles the matter, known salt or not.
    assert_eq!(listing("flat", BESIDE_ROAD, species), "not listed");
}
