//! Factors of the ground's shape from files to values, and bad input.

use insta::assert_snapshot;

use crate::program::groundfit;
use crate::scenario::{PLANE, RasterPlan};
use crate::small_site::Site;

/// Heights with 200 m around the site.
const WIDE: RasterPlan = RasterPlan {
    west: -200.0,
    south: -200.0,
    east: 400.0,
    north: 300.0,
    cell: 10.0,
    epsg: PLANE,
    nodata: Some(-9999.0),
};

fn site(height: impl Fn(f64, f64) -> f32, factors: &[&str]) -> Site {
    let mut site = Site::sound();
    WIDE.write(&site.file("elevation.tif"), height);
    for factor in factors {
        let (name, more) = factor.split_once('\n').unwrap_or((factor, ""));
        let head = format!("[factors.{name}]\nelevation = \"elevation.tif\"\nvertical_unit = \"m\"\n");
        site.factors.extend([head.as_str(), more, "\n"]);
    }
    site
}

/// What `why` tells of the factors in the middle of the site.
fn ground(site: &Site) -> serde_json::Value {
    let project = site.project();
    let told = groundfit(["why", project.to_str().unwrap(), "430105", "4980055", "--json"]);
    told.expect(0).json()["ground"].clone()
}

fn value(ground: &serde_json::Value, factor: &str) -> Option<f64> {
    let row = ground
        .as_array()
        .unwrap()
        .iter()
        .find(|row| row["factor"] == factor);
    row.unwrap()["value"].as_f64()
}

#[expect(clippy::cast_possible_truncation, reason = "heights in single precision")]
fn falling(x: f64, y: f64) -> f32 {
    // Falls to the south and to the west alike, by 14 in 100 each.
    (300.0 + 0.14 * x + 0.14 * y) as f32
}

/// The site lies 0.887 degrees west of the zone's middle, at 44.97 north: true north lies
/// 0.627 degrees to the east of the grid's.
#[test]
fn a_slope_faces_true_north_and_gets_its_heat() {
    let site = site(falling, &["aspect", "heat_load", "radiation\nequation = 3"]);
    let ground = ground(&site);
    let aspect = value(&ground, "aspect").unwrap();
    assert!((aspect - (225.0 - 0.627)).abs() < 0.02, "{aspect}");
    // By equations 1 and 3 of McCune and Keon 2002, reckoned apart from this code at 44.97
    // degrees, a slope of 11.2 degrees and this aspect.
    let (slope, latitude) = (0.14_f64.hypot(0.14).atan(), 44.971_f64.to_radians());
    let folded = f64::to_radians(180.0 - 0.627);
    let heat = (-1.467 + 1.582 * latitude.cos() * slope.cos()
        - 1.5 * folded.cos() * slope.sin() * latitude.sin()
        - 0.262 * latitude.sin() * slope.sin()
        + 0.607 * folded.sin() * slope.sin())
    .exp();
    let found = value(&ground, "heat_load").unwrap();
    assert!((found - heat).abs() < 1e-3, "{found} is not {heat}");
    let check = site.run("check").expect(0);
    let notes: Vec<&str> = check
        .out
        .lines()
        .filter(|line| line.contains("McCune") || line.contains("Horn"))
        .collect();
    assert_snapshot!(notes.join("\n"), @r#"
    aspect from true north, of Horn's gradient (1981)
    heat load: equation 1 of McCune and Keon 2002 (McCune 2007 has better estimates, from tables), mirrored south of the equator
    potential direct radiation, MJ/cm2 and year: equation 3 of McCune and Keon 2002 (McCune 2007 has better estimates, from tables), mirrored south of the equator
    "#);
}

#[test]
fn wetness_needs_the_whole_catchment_and_says_where_it_is_not_known() {
    // A ridge along the north of the site: south of it water comes from the ridge alone.
    let ridge = |x: f64, y: f64| {
        let height = 400.0 - 0.1 * (y - 60.0).abs() - 0.0001 * (x - 100.0) * (x - 100.0);
        height.to_string().parse().unwrap()
    };
    let known = site(ridge, &["wetness_index\ncatchment_m = 150"]);
    let index = value(&ground(&known), "wetness_index").unwrap();
    // One cell of 10 m, a slope of a tenth and a catchment of about its own.
    assert!((4.0..6.0).contains(&index), "{index}");

    let open = site(falling, &["wetness_index\ncatchment_m = 150"]);
    assert!(value(&ground(&open), "wetness_index").is_none());
    assert_snapshot!(open.warnings(), @"warning: factors.wetness_index: on 2.00 ha water may come from beyond the heights that were looked at, so the wetness index is missing there: it needs the whole catchment; give heights that reach to the watershed, or a larger `catchment_m`");
}

#[test]
fn bad_input_of_shapes_is_told() {
    let mut site = site(
        falling,
        &[
            "aspect\nequation = 2",
            "slope\ncatchment_m = 5",
            "ph\nequation = 9",
            "heat_load\nvertical_unti = \"ft\"",
        ],
    );
    assert_snapshot!(site.refusal(1), @r#"
    error: 5 problems in project file FOLDER/project.toml
      FOLDER/project.toml:17:12: factors.aspect.equation: found `equation` for `aspect`, needed none: those of heat load and radiation have numbers
      FOLDER/project.toml:21:15: factors.slope.catchment_m: found `catchment_m` with a slope computed from `elevation`, needed a shape of the ground computed from `elevation`
      FOLDER/project.toml:23:13: factors.ph.elevation: found `elevation` for `ph`, needed one of the factors that are computed from it: `slope`, `aspect`, `heat_load`, `radiation`, `wetness_index`, `sun_hours`, `spring_sun_hours`
      FOLDER/project.toml:25:12: factors.ph.equation: found `equation` with a slope computed from `elevation`, needed a shape of the ground computed from `elevation`
      FOLDER/project.toml:29:1: factors.heat_load.vertical_unti: no such key; nearest is `vertical_unit`
    try: mend the lines above; `groundfit new FOLDER` writes a project file that explains every key
    "#);
    site.factors = site.factors.split("[factors.aspect]").next().unwrap().to_owned();
    site.factors
        .push_str("[factors.wetness_index]\nelevation = \"elevation.tif\"\ncatchment_m = 99_000\n");
    site.factors
        .push_str("[factors.heat_load]\nelevation = \"elevation.tif\"\n");
    assert_snapshot!(site.refusal(1), @r#"
    error: factors.wetness_index: elevation.tif names no unit of its heights: say `vertical_unit = "m"` or `"ft"`, or what is computed from them would be wrong
    factors.heat_load: elevation.tif names no unit of its heights: say `vertical_unit = "m"` or `"ft"`, or what is computed from them would be wrong
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    "#);
}

/// Centimetres taken for metres, and level ground.
#[test]
fn ground_steeper_than_any_and_ground_without_a_slope_are_told() {
    let steep = site(
        |x, y| falling(x, y) * 10.0,
        &["slope", "aspect", "heat_load\nequation = 3"],
    );
    assert_snapshot!(steep.warnings(), @r#"
    warning: factors.slope: half of the ground and more is steeper than 45 degrees (200 of 200 cells): the heights may be in another unit, such as feet or centimetres; say the right `vertical_unit`
    warning: factors.aspect: half of the ground and more is steeper than 45 degrees (200 of 200 cells): the heights may be in another unit, such as feet or centimetres; say the right `vertical_unit`
    warning: factors.heat_load: half of the ground and more is steeper than 45 degrees (200 of 200 cells): the heights may be in another unit, such as feet or centimetres; say the right `vertical_unit`
    warning: factors.heat_load: 2.00 ha are steeper than the equation holds for, and have no value: `equation = 1` holds for all slopes
    "#);
    let level = site(|_, _| 250.0, &["aspect"]);
    assert_snapshot!(level.warnings(), @"warning: factors.aspect: 2.00 ha are level and face nowhere: the aspect there is missing");
}
