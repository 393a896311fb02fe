//! Hours of direct sun from files to species: what is told, what shades, and bad input.

use insta::assert_snapshot;

use crate::program::{groundfit, map};
use crate::scenario::{Field, PLANE, RasterPlan, rectangle, write_layer};
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

const SUN: &str = "
[factors.sun_hours]
elevation = \"elevation.tif\"
vertical_unit = \"m\"
reach_m = 150
";

fn site(height: impl Fn(f64, f64) -> f32, more: &str) -> Site {
    let mut site = Site::sound();
    WIDE.write(&site.file("elevation.tif"), height);
    site.factors.push_str(SUN);
    site.factors.push_str(more);
    site
}

/// What `why` tells of a factor at a place in local metres.
fn hours_at(site: &Site, x: f64, y: f64) -> Option<f64> {
    let place = [430_000.0 + x, 4_980_000.0 + y].map(|metres| metres.to_string());
    let project = site.project();
    let project = project.to_str().unwrap();
    let told = groundfit(["why", project, &place[0], &place[1], "--json"])
        .expect(0)
        .json();
    let ground = told["ground"].as_array().unwrap();
    let sun = ground
        .iter()
        .find(|factor| factor["factor"] == "sun_hours")
        .unwrap();
    sun["value"].as_f64()
}

const COVER: &str = "canopy = { layer = \"canopy.tif\" }\n";

#[test]
fn open_ground_is_full_sun_and_everything_used_is_told() {
    let site = site(|_, _| 250.0, COVER);
    let check = site.run("check").expect(0);
    let told: Vec<&str> = check.out.lines().filter(|line| line.contains("sun")).collect();
    assert_snapshot!(told.join("\n"), @r#"
    factors.sun_hours.canopy: canopy.tif (raster, measured, bilinear, shows 10.0 m)
    factors.sun_hours: elevation.tif (elevation, hours of sun, bilinear, shows 10.0 m)
      direct sun from 1 May to 30 September (the usual season here) at 44.97 N, from 120 W/m2 and 5 degrees of height on: open level ground has 13.3 h/day
      canopy of canopy.tif: gaps from the cover, of which 100 % counts in the season, fewer toward a low sun
    sun_hours (decisive): 10.0 h/day (full sun) to 10.0 h/day (full sun); 0.0 % without a value
    "#);
    let project = site.project();
    let why = groundfit([
        "why",
        project.to_str().unwrap(),
        "430100",
        "4980050",
        "--species",
        "switchgrass",
    ]);
    let lines: Vec<&str> = why.out.lines().skip(2).take(8).collect();
    assert_snapshot!(lines.join("\n"), @r#"
    the ground here
      drainage   well drained
      canopy     12 %
      sun_hours  10.0 h/day (full sun)
                   direct sun from 1 May to 30 September (the usual season here) at 44.97 N, from 120 W/m2 and 5 degrees of height on: open level ground has 13.3 h/day
                   horizons in 32 directions out to 150 m, of the ground alone; unknown heights there: hours missing
                   canopy of canopy.tif: gaps from the cover, of which 100 % counts in the season, fewer toward a low sun
    "#);
}

/// A wall along the south edge of the site, in the elevation, as a surface, and as heights
/// above the ground: the same shade.
#[test]
fn a_wall_in_the_south_takes_hours_however_it_is_given() {
    let wall = |_: f64, y: f64| if y < 0.0 { 40.0 } else { 0.0 };
    let in_ground = site(move |x, y| 250.0 + wall(x, y), "");
    let flat = |_: f64, _: f64| 250.0;
    let surface = site(flat, "surface = { layer = \"things.tif\" }\n");
    WIDE.write(&surface.file("things.tif"), move |x, y| 250.0 + wall(x, y));
    let above = site(flat, "obstacles = { layer = \"things.tif\", unit = \"ft\" }\n");
    WIDE.write(&above.file("things.tif"), move |x, y| wall(x, y) / 0.3048);
    let near = hours_at(&in_ground, 105.0, 5.0).unwrap();
    let far = hours_at(&in_ground, 105.0, 95.0).unwrap();
    assert!(near + 1.0 < far, "{near} near the wall, {far} farther off");
    for other in [surface, above] {
        for (y, wanted) in [(5.0, near), (95.0, far)] {
            let found = hours_at(&other, 105.0, y).unwrap();
            assert!((found - wanted).abs() < 1e-3, "{found} is not {wanted}");
        }
    }
}

#[test]
fn canopy_overhead_takes_hours_and_leaves_are_not_there_in_spring() {
    let open = hours_at(&site(|_, _| 250.0, ""), 100.0, 50.0).unwrap();
    let under = hours_at(&site(|_, _| 250.0, COVER), 100.0, 50.0).unwrap();
    assert!(under < open - 1.0 && under > open * 0.6, "{under} of {open}");
    let leaves = "leaf_area = { layer = \"canopy.tif\" }\nextinction = 0.01\nlow_sun = \"same gaps\"\n";
    let by_leaves = hours_at(&site(|_, _| 250.0, leaves), 100.0, 50.0).unwrap();
    // exp(-0.01 x 12): the layer holds 12 everywhere.
    assert!(
        (by_leaves / open - 0.886_92).abs() < 1e-3,
        "{by_leaves} of {open}"
    );

    let mut spring = site(|_, _| 250.0, "");
    spring.factors = spring
        .factors
        .replace("factors.sun_hours", "factors.spring_sun_hours");
    spring.factors.push_str(COVER);
    let check = spring.run("check").expect(0);
    let told = check
        .out
        .lines()
        .find(|line| line.contains("canopy of canopy.tif"));
    assert_snapshot!(told.unwrap(), @"    canopy of canopy.tif: gaps from the cover, of which 40 % counts in the season, fewer toward a low sun");
}

#[test]
fn heights_that_do_not_reach_far_enough_are_told() {
    let mut site = site(|_, _| 250.0, COVER);
    site.factors = site.factors.replace("reach_m = 150", "reach_m = 220");
    assert!(hours_at(&site, 100.0, 95.0).is_some());
    assert!(hours_at(&site, 100.0, 5.0).is_none());
    assert_snapshot!(site.warnings(), @r#"warning: factors.sun_hours: on 0.72 ha heights within 220 m toward the sun are unknown, and its hours are missing: give heights that reach farther, a shorter `reach_m`, or `unknown_heights = "open"` to take that ground for open"#);
    site.factors.push_str("unknown_heights = \"open\"\n");
    assert!(hours_at(&site, 100.0, 5.0).is_some());
    std::fs::remove_dir_all(site.file("out")).unwrap();
    assert_snapshot!(site.warnings(), @r#"warning: factors.sun_hours: on 0.72 ha heights within 220 m toward the sun are unknown, and that ground is taken for open, so the hours there are the most there can be: give heights that reach farther, a shorter `reach_m`, or `unknown_heights = "missing"` to have them missing"#);
}

#[test]
fn bad_settings_are_refused_each_with_its_way_out() {
    let mut site = site(
        |_, _| 250.0,
        "season_from = \"11-01\"\nseason_to = \"03-31\"\ndirections = 8\nleast_irradiance = -1\nshade_below = 7\n\
         surface = { layer = \"elevation.tif\" }\nobstacles = { layer = \"elevation.tif\", bnad = 2 }\nextinction = 0.5\n",
    );
    assert_snapshot!(site.refusal(1), @r#"
    error: 7 problems in project file FOLDER/project.toml
      FOLDER/project.toml:20:13: factors.sun_hours.season_to: found a season that ends (31 March) before it begins (1 November), needed a later end; a season over the new year takes whole dates, such as 2026-11-01 and 2027-03-31
      FOLDER/project.toml:21:14: factors.sun_hours.directions: found 8, needed a whole number from 16 to 360
      FOLDER/project.toml:22:20: factors.sun_hours.least_irradiance: found -1, needed W/m2 from 0 to 800
      FOLDER/project.toml:23:15: factors.sun_hours.shade_below: found full sun from 6 hours and shade below 7, needed full sun to begin no lower than shade ends
      FOLDER/project.toml:25:13: factors.sun_hours.obstacles: found `obstacles` beside `surface`, needed one of them
      FOLDER/project.toml:25:40: factors.sun_hours.obstacles.bnad: no such key; nearest is `band`
      FOLDER/project.toml:26:14: factors.sun_hours.extinction: found `extinction` without `leaf_area`, needed the leaf area that it belongs to
    try: mend the lines above; `groundfit new FOLDER` writes a project file that explains every key
    "#);
    site.factors = site
        .factors
        .split("[factors.sun_hours]")
        .next()
        .unwrap()
        .to_owned();
    site.factors.push_str(
        &SUN.replace("vertical_unit = \"m\"\n", "")
            .replace("150", "90_000"),
    );
    assert_snapshot!(site.refusal(1), @r#"
    error: factors.sun_hours: elevation.tif names no unit of its heights: say `vertical_unit = "m"` or `"ft"`, or what is computed from them would be wrong
    factors.sun_hours: `reach_m` is 90000 m, which is 9000 cells: at most 2000 can be held in memory around each tile, so a reach of 20000 m or a larger `cell_m` is needed
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    "#);
}

#[test]
fn a_sun_that_ignores_a_known_canopy_is_told() {
    let site = site(|_, _| 250.0, "");
    assert_snapshot!(site.warnings(), @r#"warning: factors.sun_hours: the project has a canopy, but this factor does not name it: its hours are those above the trees; say `canopy = { layer = "..." }`"#);
}

#[test]
fn hours_do_not_hang_on_the_number_of_threads() {
    let hills = |x: f64, y: f64| {
        if (x / 40.0).sin() * (y / 2.0).cos() > 0.3 {
            255.0
        } else {
            250.0
        }
    };
    let mut site = site(hills, COVER);
    // A strip of three tiles.
    let strip = [(vec![Field::Text("site")], rectangle(0.0, 50.0, 200.0, 52.0))];
    write_layer(&site.file("site.gpkg"), PLANE, &["name"], &strip);
    site.area = site.area.replace("cell_m = 10", "cell_m = 0.19");
    site.factors = site.factors.replace("reach_m = 150", "reach_m = 3");
    site.more = "[outputs]\nfolder = \"out\"\nratings = true\n[zones]\nvote = 0\n".to_owned();
    let catalogue =
        crate::small_site::TOLERANCES.replace(",canopy,,range - - 30.5 60", ",sun_hours,,range 8 12 - -");
    site.catalogue("tolerances.csv", catalogue.as_bytes());
    let bytes = |threads: &str| {
        let out = site.file(&format!("out{threads}"));
        map(&site.project(), &out, &["--threads", threads]).expect(0);
        std::fs::read(out.join("ratings.tif")).unwrap()
    };
    assert_eq!(bytes("1"), bytes("3"));
}

#[test]
fn only_ground_to_rate_counts_where_heights_are_unknown() {
    let mut site = site(|_, _| 250.0, COVER);
    site.factors = site.factors.replace("reach_m = 150", "reach_m = 220");
    let row = vec![Field::Text("west")];
    let west = rectangle(0.0, 0.0, 100.0, 100.0);
    write_layer(&site.file("west.gpkg"), PLANE, &["name"], &[(row, west)]);
    site.more
        .push_str("[[exclude]]\nname = \"west\"\nlayer = \"west.gpkg\"\n");
    let warnings = site.warnings();
    assert!(warnings.contains("on 0.36 ha heights within 220 m"), "{warnings}");
}

#[test]
fn ground_of_unknown_height_has_no_hours_even_under_open_horizons() {
    let hole = |x: f64, y: f64| {
        let inside = (80.0..120.0).contains(&x) && (30.0..60.0).contains(&y);
        if inside { -9999.0 } else { 250.0 }
    };
    let site = site(hole, "unknown_heights = \"open\"\n");
    assert_eq!(hours_at(&site, 95.0, 45.0), None);
    assert!(hours_at(&site, 45.0, 45.0).is_some());
}

/// Ground around a tile is held in memory as far as the reach: 1,000 cells on all sides of 10
/// rows and 20 columns, 24 bytes each, are 97 MB.
#[test]
fn a_long_reach_counts_in_the_memory_a_run_needs() {
    let memory = |reach_m: &str| {
        let mut site = site(|_, _| 300.0, "unknown_heights = \"open\"\n");
        site.factors = site.factors.replace("reach_m = 150", reach_m);
        let project = site.project();
        let told = groundfit(["check", project.to_str().unwrap(), "--json"]);
        told.expect(0).json()["memory_bytes"].as_u64().unwrap()
    };
    let more = memory("reach_m = 10_000") - memory("reach_m = 150");
    assert!((80_000_000..120_000_000).contains(&more), "{more}");
}
