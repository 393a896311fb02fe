//! Salt of a road through a small site: what `check` and `why` tell, who gets more, and
//! what is said of roads that cannot be right. Common practice, no source: salt injury is
//! worse in the lee of the road and below its grade, and salt stays where ground does
//! not drain.

use crate::program::groundfit;
use crate::scenario::{EAST_M, Field, NORTH_M, PLANE, RasterPlan, write_layer};
use crate::small_site::{CANOPY, CANOPY_PLAN, DRAINAGE, Site};

const FACTORS: &str = "
[factors.spray_salt]
from = \"road_salt\"
[factors.spray_dose]
from = \"road_salt\"
[factors.soil_salinity]
from = \"road_salt\"
";
const ROADS: &str = "
[road_salt]
roads = \"roads.gpkg\"
class_attribute = \"class\"
rate_attribute = \"rate\"
rate_unit = \"kg/lane-km\"
lanes_attribute = \"lanes\"
winter_wind_from = \"N\"
[road_salt.root_zone]
water_surplus_mm = 250
water_surplus_source = \"made up for a test\"
";
const FIELDS: [&str; 3] = ["class", "rate", "lanes"];

fn road<'a>(class: &'a str, rate: f64, lanes: f64, wkt: &str) -> crate::scenario::Row<'a> {
    let values = vec![Field::Text(class), Field::Number(rate), Field::Number(lanes)];
    (values, wkt.to_owned())
}

/// The sound site, with a highway from west to east through its middle.
fn salted() -> Site {
    let mut site = Site::sound();
    let across = "LINESTRING (-500 50, 700 50)";
    write_layer(
        &site.file("roads.gpkg"),
        PLANE,
        &FIELDS,
        &[road("highway", 9000.0, 2.0, across)],
    );
    site.area = site.area.replace("cell_m = 10", "cell_m = 5");
    site.factors = format!("{DRAINAGE}{CANOPY}{FACTORS}");
    ROADS.clone_into(&mut site.more);
    site
}

/// A factor's raw value and what stands behind it, at a place in local metres.
fn found(site: &Site, x: f64, y: f64, factor: &str) -> (f64, String) {
    let project = site.project();
    let (x, y) = ((EAST_M + x).to_string(), (NORTH_M + y).to_string());
    let run = groundfit(["why", project.to_str().unwrap(), &x, &y, "--json"]).expect(0);
    let told = run.json();
    let ground = told["ground"].as_array().unwrap();
    let here = ground.iter().find(|here| here["factor"] == factor).unwrap();
    let behind = here["behind"].as_str().unwrap_or_default();
    (here["value"].as_f64().unwrap_or(f64::NAN), behind.to_owned())
}

#[test]
fn the_lee_has_more_spray_and_undrained_ground_more_salt_in_the_soil() {
    let site = salted();
    let dose = |y: f64| found(&site, 52.0, y, "spray_dose").0;
    // The wind comes from the north.
    assert!(dose(32.0) > 1.5 * dose(67.0));
    assert!(dose(32.0) > dose(12.0));
    let (sand, behind) = found(&site, 52.0, 37.0, "soil_salinity");
    let (clay, _) = found(&site, 152.0, 37.0, "soil_salinity");
    assert!(1.5 * sand < clay, "{sand} {clay}");
    assert!(clay < 40.0, "{clay}");
    assert!(behind.starts_with("screening estimate: mean "), "{behind}");
    assert!(
        behind.contains("spring peak") && behind.contains("what stays"),
        "{behind}"
    );
    let (band, behind) = found(&site, 52.0, 37.0, "spray_salt");
    assert!(band >= 3.0, "{band}");
    assert!(behind.ends_with(" g NaCl per m2 and winter"), "{behind}");
}

#[test]
fn ground_below_the_pavement_has_more_salt_than_ground_above() {
    let mut site = salted();
    // Heights in cells of 10 m: the road's row at 100 m, the west lower, the east higher.
    let plan = RasterPlan {
        west: -100.0,
        south: -100.0,
        east: 300.0,
        north: 200.0,
        nodata: Some(-9999.0),
        ..CANOPY_PLAN
    };
    plan.write(&site.file("heights.tif"), |x, y| {
        if (40.0..60.0).contains(&y) {
            100.0_f32
        } else if x < 100.0 {
            99.0
        } else {
            101.0
        }
    });
    site.more += "elevation = \"heights.tif\"\nvertical_unit = \"m\"\n";
    site.soils(&[("Well drained", crate::scenario::rectangle(0.0, 0.0, 200.0, 100.0))]);
    let ece = |x: f64| found(&site, x, 37.0, "soil_salinity").0;
    assert!(ece(52.0) > 1.3 * ece(152.0), "{} {}", ece(52.0), ece(152.0));
}

#[test]
fn check_tells_what_was_used_and_maps_are_made() {
    let site = salted();
    let check = site.run("check").expect(0);
    for part in [
        "road_salt.roads: roads.gpkg (vector, salted, 1 feature)",
        "\nroad salt\n  class highway: 1 road; 1 takes the class's 2 lanes or 90 km/h (from memory, unverified)\n",
        "45.0 % comes down within 100 m (Lundmark and Olofsson 2007: about 45 %)",
        "of the airborne salt falls beyond it and is not counted",
        "winter wind from 0 degrees: straight across a road it throws 65 % to the lee side",
        "leached by 250 mm a year (made up for a test)",
        "a screening estimate of order and range, not a measurement",
    ] {
        assert!(check.out.contains(part), "{part} is not in {}", check.out);
    }
    site.run("map").expect(0);
    let record = std::fs::read_to_string(site.file("out/run.json")).unwrap();
    assert!(record.contains("Lundmark and Olofsson 2007") && record.contains("screening estimate"));
    let zones = std::fs::read_to_string(site.file("out/zones.geojson")).unwrap();
    assert!(zones.contains("\"ground_spray_dose\":"));
}

#[test]
fn ground_beyond_the_reach_has_no_salt_whatever_its_drainage() {
    let mut site = salted();
    let far = "LINESTRING (-500 900, 700 900)";
    write_layer(
        &site.file("roads.gpkg"),
        PLANE,
        &FIELDS,
        &[road("highway", 9000.0, 2.0, far)],
    );
    site.soils(&[("Well drained", crate::scenario::rectangle(0.0, 0.0, 60.0, 100.0))]);
    let at = |site: &Site, x: f64| found(site, x, 37.0, "soil_salinity").0;
    assert_eq!((at(&site, 52.0), at(&site, 152.0)), (0.0, 0.0));
    // Near the road ground without a drainage class has no salinity either: it is unknown.
    ROADS.clone_into(&mut site.more);
    let near = "LINESTRING (-500 50, 700 50)";
    write_layer(
        &site.file("roads.gpkg"),
        PLANE,
        &FIELDS,
        &[road("highway", 9000.0, 2.0, near)],
    );
    assert!(at(&site, 52.0) > 0.0);
    assert!(at(&site, 152.0).is_nan());
}

#[test]
fn roads_that_cannot_be_right_are_told_all_at_once() {
    let site = salted();
    let line = "LINESTRING (0 50, 200 50)";
    let rows = [
        road("highway", 9000.0, 2.0, line),
        road("", 9000.0, 2.0, line),
        road("higway", 9000.0, 2.0, line),
        road("highway", 250_000.0, 2.0, line),
        road("highway", -3.0, 2.0, line),
        road("local", 900.0, 40.0, line),
        road("local", 900.0, 2.0, "POINT (30 30)"),
    ];
    write_layer(&site.file("roads.gpkg"), PLANE, &FIELDS, &rows);
    let told = site.refusal(1);
    for part in [
        "road_salt.roads: 1 road of roads.gpkg (the first is feature 2) has no `class`: each road needs its class",
        "is of the class `higway`, needed one of `motorway`, `highway`, `arterial`, `collector`, `local`; nearest is `highway`",
        "has `rate` 250000, which is 250000 kg NaCl on a kilometre of lane in a winter; needed at most 60000",
        "has `rate` -3, needed a rate of 0 or more",
        "has `lanes` 40, needed 1 to 16 lanes",
        "is not made of lines",
    ] {
        assert!(told.contains(part), "{part} is not in {told}");
    }
}

#[test]
fn roads_without_length_are_counted() {
    let site = salted();
    let (line, point) = ("LINESTRING (-500 50, 700 50)", "LINESTRING (60 50, 60 50)");
    let rows = [line, point, point].map(|wkt| road("highway", 9000.0, 2.0, wkt));
    write_layer(&site.file("roads.gpkg"), PLANE, &FIELDS, &rows);
    let told = site.run("check").expect(0).out;
    let warning = "warning: road_salt.roads: 2 roads of roads.gpkg (the first is feature 2) have no length: no salt comes from them";
    assert!(told.contains(warning), "{told}");
}

#[test]
fn without_rates_the_class_s_own_are_taken_and_warned_of() {
    let mut site = salted();
    site.more = site
        .more
        .replace("rate_attribute = \"rate\"\nrate_unit = \"kg/lane-km\"\n", "");
    let told = site.run("check").expect(0).out;
    let warning = "warning: road_salt.roads: 1 road of class highway has no rate of its own: 9000 kg NaCl a lane-km and winter is taken, from memory, unverified";
    assert!(told.contains(warning), "{told}");
}

#[test]
fn more_salt_than_water_can_hold_is_told_and_no_value() {
    let mut site = salted();
    site.more = site
        .more
        .replace("water_surplus_mm = 250", "water_surplus_mm = 0.25");
    let (salinity, _) = found(&site, 100.0, 42.5, "soil_salinity");
    assert!(salinity.is_nan(), "{salinity}");
    let check = site.run("check").expect(0);
    assert!(
        check.err.contains(
            "more salt than soil water can hold: they are missing; are the water surplus (mm a year)"
        ) || check.out.contains("more salt than soil water can hold"),
        "{}{}",
        check.out,
        check.err
    );
}
