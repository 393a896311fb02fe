//! Limits on plants through a small site: a line under which plants must stay low, and a
//! clear zone in which stems must stay thin. The mature plant is tested, and the cause is
//! told.

use crate::program::groundfit;
use crate::scenario::{EAST_M, Field, NORTH_M, PLANE, rectangle, write_layer};
use crate::small_site::{CANOPY, DRAINAGE, SOURCES, Site};

const SPECIES: &str = "\
id,scientific_name,common_name,form,height_m,height_m_source
quercus-bicolor,Quercus bicolor,swamp white oak,tree,18,made-up
cornus-racemosa,Cornus racemosa,gray dogwood,shrub,2-4,made-up
carex-stricta,Carex stricta,upright sedge,grass,,
";
const LIMITS: &str = "
[factors.under_lines]
limit = \"line.gpkg\"
setback_m = 16
highest_m = 7.6
[factors.clear_zone]
limit = \"zone.gpkg\"
thickest_stem_mm = 100
";

/// Dry ground for all; a line along x = 50 m, a clear zone from x = 120 m on.
fn limited() -> Site {
    let mut site = Site::sound();
    site.soils(&[("Well drained", rectangle(0.0, 0.0, 200.0, 100.0))]);
    let line = "LINESTRING (50 -50, 50 150)".to_owned();
    let row = vec![Field::Text("line")];
    write_layer(&site.file("line.gpkg"), PLANE, &["name"], &[(row, line)]);
    let row = vec![Field::Text("zone")];
    let zone = rectangle(120.0, 0.0, 200.0, 100.0);
    write_layer(&site.file("zone.gpkg"), PLANE, &["name"], &[(row, zone)]);
    let drains = "classes well drained=1; poorly drained=0.3";
    let rows = ["quercus-bicolor", "cornus-racemosa", "carex-stricta"];
    let rows: Vec<String> = rows
        .iter()
        .map(|id| format!("{id},drainage,,{drains},made-up,\n{id},canopy,,range - - 50 80,made-up,\n"))
        .collect();
    let tolerances = format!("species,factor,given,response,source,note\n{}", rows.concat());
    site.catalogue("species.csv", SPECIES.as_bytes());
    site.catalogue("tolerances.csv", tolerances.as_bytes());
    site.catalogue("sources.csv", SOURCES.as_bytes());
    site.factors = format!("{DRAINAGE}{CANOPY}{LIMITS}");
    site
}

/// A species' state at a place, with the factors that limit it.
fn state(site: &Site, x: f64, species: &str) -> (String, Vec<String>) {
    let project = site.project();
    let (x, y) = ((EAST_M + x).to_string(), (NORTH_M + 45.0).to_string());
    let run = groundfit([
        "why",
        project.to_str().unwrap(),
        &x,
        &y,
        "--species",
        species,
        "--json",
    ]);
    let told = run.expect(0).json();
    let here = &told["species"][0];
    let answers = here["answers"].as_array().unwrap().iter();
    let limits = answers.filter(|answer| answer["limits"] == true);
    let limits = limits.map(|answer| answer["factor"].as_str().unwrap().to_owned());
    (here["state"].as_str().unwrap().to_owned(), limits.collect())
}

#[test]
fn tall_plants_do_not_suit_under_a_line_nor_thick_stems_in_a_clear_zone() {
    let site = limited();
    let (line, open, zone) = (45.0, 95.0, 155.0);
    let suits = |x: f64, species: &str| state(&site, x, species).0;
    assert_eq!(suits(open, "quercus-bicolor"), "suits");
    assert_eq!(
        state(&site, line, "quercus-bicolor"),
        ("does not suit".to_owned(), vec!["under_lines".to_owned()])
    );
    assert_eq!(
        state(&site, zone, "quercus-bicolor"),
        ("does not suit".to_owned(), vec!["clear_zone".to_owned()])
    );
    // Low enough under the line; how thick its stems grow nobody says.
    assert_eq!(suits(line, "cornus-racemosa"), "suits");
    assert_eq!(suits(zone, "cornus-racemosa"), "not known");
    // Its height is not recorded; a sedge has no thick stems.
    assert_eq!(suits(line, "carex-stricta"), "not known");
    assert_eq!(suits(zone, "carex-stricta"), "suits");
    assert_eq!(suits(open, "carex-stricta"), "suits");
}

#[test]
fn the_cause_is_in_the_zones_and_the_area_in_the_record() {
    let mut site = limited();
    "[zones]\nsmallest_ha = 0.01\nfidelity = 1\n".clone_into(&mut site.more);
    let check = site.run("check").expect(0);
    assert!(
        check
            .out
            .contains("factors.under_lines: line.gpkg (vector, limit, 1 feature)")
    );
    site.run("map").expect(0);
    let rows = std::fs::read_to_string(site.file("out/zone_species.csv")).unwrap();
    let oak: Vec<&str> = rows
        .lines()
        .filter(|row| row.contains("quercus-bicolor"))
        .collect();
    assert!(oak.iter().any(|row| row.contains("under_lines")), "{oak:?}");
    assert!(oak.iter().any(|row| row.contains("clear_zone")), "{oak:?}");
    let record = std::fs::read_to_string(site.file("out/run.json")).unwrap();
    let record: serde_json::Value = serde_json::from_str(&record).unwrap();
    let limited = record["limited"].as_array().unwrap();
    let area = |name: &str| {
        let one = limited.iter().find(|one| one["cause"] == name).unwrap();
        one["area_m2"].as_f64().unwrap()
    };
    // Four columns of 10 m and eight, 100 m long; geodesic areas differ from the plane's by parts of a thousand.
    assert!((area("under_lines") / 4_000.0 - 1.0).abs() < 0.002, "{limited:?}");
    assert!((area("clear_zone") / 8_000.0 - 1.0).abs() < 0.002, "{limited:?}");
}

#[test]
fn limits_that_say_nothing_are_told() {
    let mut site = limited();
    site.factors = format!(
        "{DRAINAGE}{CANOPY}[factors.under_lines]\nlimit = \"line.gpkg\"\nkind = \"measured\"\n[factors.slope]\nlimit = \"line.gpkg\"\nhighest_m = -1\n"
    );
    let told = site.refusal(1);
    for part in [
        "factors.under_lines: missing; one of `highest_m`, `thickest_stem_mm` must be given",
        "found `kind` for a limit, needed none",
        "found a limit called `slope`, which is a standard factor",
        "factors.slope.highest_m: found -1, needed a number above 0",
    ] {
        assert!(told.contains(part), "{part} is not in {told}");
    }
    site.factors = format!("{DRAINAGE}{CANOPY}{}", LIMITS.replace("setback_m = 16\n", ""));
    let told = site.refusal(1);
    assert!(
        told.contains("factors.under_lines: 1 feature is a line or a point"),
        "{told}"
    );
}

#[test]
fn traits_tell_of_a_limit_and_few_of_them_are_warned_of() {
    let site = limited();
    let warnings = site.warnings();
    assert!(!warnings.contains("opinion on `under_lines`"), "{warnings}");
    assert!(!warnings.contains("factors.under_lines: only"), "{warnings}");
    let unmeasured = SPECIES.replace("18,made-up", ",").replace("2-4,made-up", ",");
    site.catalogue("species.csv", unmeasured.as_bytes());
    std::fs::remove_dir_all(site.file("out")).unwrap();
    let warnings = site.warnings();
    assert!(
        warnings.contains(
            "factors.under_lines: only 0 of 3 species have the traits that this limit asks for (`height_m`); the others are unknown on limited ground"
        ),
        "{warnings}"
    );
    assert!(!warnings.contains("factors.clear_zone: only"), "{warnings}");
}
