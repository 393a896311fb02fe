use super::*;
use crate::factor::Factor;
use crate::project::tests::{problems_of, site};
use crate::project::{FactorSource, Project};
use crate::soil::Told;

const HEAD: &str = r#"
[area]
boundary = "boundary.geojson"
[catalogue]
folder = "catalogue"
[factors.drainage]
layer = "soils.gpkg"
attribute = "d"
[factors.spray_salt]
from = "road_salt"
"#;
const ROADS: &str = r#"
[road_salt]
roads = "roads.geojson"
class_attribute = "class"
winter_wind_from = "NW"
"#;
const SALINITY: &str = "[factors.soil_salinity]\nfrom = \"road_salt\"\n";

fn read(text: &str) -> RoadSalt {
    let folder = site();
    let project = Project::parse(text, &folder.path().join("project.toml")).unwrap();
    assert!(
        project
            .factors
            .iter()
            .any(|section| section.source == FactorSource::RoadSalt)
    );
    project.road_salt.unwrap()
}

fn told(text: &str) -> Vec<String> {
    let folder = site();
    let problems = problems_of(text, folder.path());
    problems
        .iter()
        .map(|problem| format!("{}: {}", problem.key, problem.text))
        .collect()
}

#[test]
fn a_short_section_has_defaults_by_class() {
    let salt = read(&format!("{HEAD}{ROADS}"));
    assert_eq!(salt.wind_from_deg, Some(315.0));
    assert_eq!(salt.bands.from_g_m2, [1.0, 5.0, 25.0, 100.0]);
    let highway = salt.classes.iter().find(|class| class.name == "highway").unwrap();
    assert_eq!(highway.source, "from memory, unverified");
    assert_eq!(salt.root_zone.tells, Told::Mean);
}

#[test]
fn classes_are_changed_and_added() {
    let more = r#"
[road_salt.classes.Highway]
rate = 60
rate_unit = "ton/lane-mile"
source = "invented"
[road_salt.classes.track]
lanes = 1
speed_kmh = 20
rate = 1000
rate_unit = "L/lane-km"
salt = "MgCl2"
brine_percent = 30
"#;
    let salt = read(&format!("{HEAD}{ROADS}{more}"));
    let class = |name: &str| salt.classes.iter().find(|class| class.name == name).unwrap();
    assert!((class("Highway").grams_per_lane_metre - 60.0 * 563.698).abs() < 0.1);
    assert_eq!(
        (class("Highway").lanes, class("Highway").source.as_str()),
        (2.0, "invented")
    );
    let brine_kg = 1000.0 * (1.0 + 0.0093 * 30.0) * 0.3;
    let as_salt = brine_kg * Salt::MagnesiumChloride.as_sodium_chloride();
    assert!((class("track").grams_per_lane_metre - as_salt).abs() < 1e-6);
    assert_eq!(salt.classes.len(), RoadClass::usual().len() + 1);
}

#[test]
fn a_deposit_on_a_limit_belongs_beyond_it() {
    let bands = Bands {
        from_g_m2: [1.0, 5.0, 25.0, 100.0],
    };
    let classes = [0.0, 0.99, 1.0, 5.0, 99.0, 100.0, 5e4].map(|grams| bands.class_of(grams).unwrap());
    assert_eq!(classes, [0, 0, 1, 2, 3, 4, 4]);
    assert_eq!(bands.class_of(f64::NAN), None);
    let names = Factor::standard("spray_salt").unwrap();
    assert_eq!(names.kind.classes().unwrap().len(), 5);
}

#[test]
fn soil_salinity_needs_its_water_and_drainage() {
    let water = "[road_salt.root_zone]\nwater_surplus_mm = 240\nwater_surplus_source = \"a survey\"\nleaching = { \"well drained\" = 0.45 }\n";
    let salt = read(&format!("{HEAD}{SALINITY}{ROADS}{water}"));
    assert_eq!(
        salt.root_zone.water,
        Some(WaterSurplus::Everywhere {
            mm: 240.0,
            source: "a survey".to_owned()
        })
    );
    assert_eq!(salt.root_zone.leaching, [0.7, 0.6, 0.45, 0.4, 0.25, 0.15, 0.1]);
    let surplus = "[factors.water_surplus]\nlayer = \"canopy.tif\"\n";
    let salt = read(&format!("{HEAD}{SALINITY}{surplus}{ROADS}"));
    assert_eq!(salt.root_zone.water, Some(WaterSurplus::Factor));

    let without = told(&format!("{HEAD}{SALINITY}{ROADS}"));
    assert_eq!(without.len(), 1, "{without:?}");
    assert!(without[0].contains("no water surplus"), "{without:?}");
    let no_drainage = HEAD.replace(
        "[factors.drainage]",
        "[factors.texture]\nwords = { \"1\" = \"sand\" }",
    );
    let without = told(&format!("{no_drainage}{SALINITY}{ROADS}{water}"));
    assert!(
        without.iter().any(|text| text.contains("no factor `drainage`")),
        "{without:?}"
    );
}

#[test]
fn every_problem_of_a_section_is_told_at_once() {
    let text = r#"
[factors.slope]
from = "road_salt"
[road_salt]
roads = "no-roads.gpkg"
rate_attribute = "rate"
rate_unit = "kg/km"
speed_attribute = "v"
salt = "salt"
brine_percent = 40
lee_share = 0.4
near_decay_per_m = -1
runoff_share = 0.9
airborne_share = 0.4
bands = { slight = 5, moderate = 2 }
[road_salt.classes.highway]
rate = 900000
rate_unit = "lb/lane-mile"
lanes = 40
[road_salt.classes.drive]
lanes = 1
[road_salt.root_zone]
water_surplus_mm = 200
hollow_m = 2
leaching = { "wel drained" = 0.5, "poorly drained" = 2 }
tells = "worst"
"#;
    let told = told(&format!("{HEAD}{text}"));
    for part in [
        "factors.slope.from: found `road_salt` for `slope`",
        "road_salt.roads: no such file",
        "road_salt.class_attribute: missing",
        "road_salt.rate_unit: found `kg/km`, needed one of `kg/lane-km`",
        "road_salt.speed_unit: missing",
        "road_salt.salt: found `salt`, needed one of `NaCl`",
        "road_salt.brine_percent: found 40, needed at most 27",
        "road_salt.lee_share: found 0.4, needed a number from 0.5 to 1",
        "winter_wind_from",
        "road_salt.near_decay_per_m: found -1",
        "road_salt.runoff_share: found 0.9, which with `airborne_share` makes",
        "road_salt.bands: found the limits [5.0, 2.0, 25.0, 100.0]",
        "road_salt.classes.highway.rate: found 900000, which is 253664 kg NaCl",
        "road_salt.classes.highway.lanes: found 40, needed a number of lanes from 1 to 16",
        "road_salt.classes.drive.speed_kmh: missing",
        "road_salt.classes.drive.rate: missing",
        "road_salt.root_zone.water_surplus_mm: found a water surplus, needed `water_surplus_source`",
        "road_salt.root_zone.hollow_m: found `hollow_m`, needed `elevation`",
        "found the class `wel drained`, needed a class of `drainage`; nearest is `well drained`",
        "needed a number above 0, at most 1",
        "road_salt.root_zone.tells: found `worst`",
    ] {
        assert!(told.iter().any(|text| text.contains(part)), "{part}: {told:#?}");
    }
}

#[test]
fn roads_that_nothing_uses_and_factors_without_roads_are_told() {
    let unused = HEAD.replace(
        "from = \"road_salt\"",
        "distance_to = \"roads.geojson\"\ncuts = [{ to = 9, class = \"severe\" }, { class = \"none\" }]",
    );
    let unused = told(&format!("{unused}{ROADS}"));
    assert!(
        unused[0].contains("roads that no factor is computed from"),
        "{unused:?}"
    );
    let without = told(HEAD);
    assert!(
        without[0].contains("needed a section `[road_salt]`"),
        "{without:?}"
    );
    let beside = HEAD.replace(
        "from = ",
        "filter = \"x\"\ncuts = [{ to = 9, class = \"severe\" }, { class = \"none\" }]\nfrom = ",
    );
    let beside = told(&format!("{beside}{ROADS}"));
    assert_eq!(beside.len(), 2, "{beside:?}");
}
