//! Where species are documented, on a made-up site: four made-up regions in a row, of which
//! the site touches the second and third; a table with faults; a few records.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::output_files::OutputFiles;
use crate::program::{self, groundfit};
use crate::scenario::{Field, PLANE, Row, rectangle, write_layer, write_project};

const IN_WEST: (f64, f64) = (100.0, 100.0);
const IN_EAST: (f64, f64) = (700.0, 100.0);

const PROJECT: &str = r#"
[area]
boundary = "boundary.gpkg"
grid_crs = "EPSG:26915"
cell_m = 10
[catalogue]
folder = "CATALOGUE"
[factors.drainage]
layer = "soils.gpkg"
attribute = "drain"
"#;

const RANGE: &str = r#"
[range]
regions = "regions.gpkg"
key = "code"
table = "range.csv"
table_region = "county"
reach_km = 20
blurred = ["quercus-macrocarpa"]
blur_m = 5000
records = { layer = "records.gpkg", attribute = "name" }
"#;

/// Acer rubrum in the west of the site, Asclepias incarnata in the region beyond it, Carex
/// stricta in one that touches neither side. Rows with faults follow.
const TABLE: &str = "species,county,seen
Acer rubrum,020,1990
acer-rubrum,020,1991
Asclepias incarnata,010,1992
Carex stricta,050,1993
Schizachyrium scoparum,020,1994
Nobody knows,030,1995
Acer rubrum,20,1996
";

fn write_site(folder: &Path, more: &str) -> PathBuf {
    write_layer(
        &folder.join("boundary.gpkg"),
        PLANE,
        &["name"],
        &[(vec![Field::Text("site")], rectangle(0.0, 0.0, 800.0, 200.0))],
    );
    let soil = |words, west: f64| {
        let shape = rectangle(west, 0.0, west + 400.0, 200.0);
        (vec![Field::Text(words)], shape)
    };
    let soils = [
        soil("Somewhat excessively drained", 0.0),
        soil("Very poorly drained", 400.0),
    ];
    write_layer(&folder.join("soils.gpkg"), PLANE, &["drain"], &soils);
    let region = |key, west: f64, east: f64| {
        let shape = rectangle(west, -3_000.0, east, 3_000.0);
        (vec![Field::Text(key)], shape)
    };
    let regions: [Row; 4] = [
        region("010", -9_000.0, -2_000.0),
        region("020", -2_000.0, 400.0),
        region("030", 400.0, 2_000.0),
        region("050", 4_000.0, 9_000.0),
    ];
    write_layer(&folder.join("regions.gpkg"), PLANE, &["code"], &regions);
    let record = |name, x: f64, y: f64| (vec![Field::Text(name)], format!("POINT ({x} {y})"));
    let records = [
        record("Acer rubrum", 50.0, 50.0),
        record("Asclepias incarnata", 1_800.0, 100.0),
        record("Quercus macrocarpa", 300.0, 100.0),
        record("Nobody knows", 1.0, 1.0),
    ];
    write_layer(&folder.join("records.gpkg"), PLANE, &["name"], &records);
    std::fs::write(folder.join("range.csv"), TABLE).unwrap();
    write_project(folder, &format!("{PROJECT}{more}"))
}

fn map(folder: &Path, more: &str, output: &str) -> OutputFiles {
    let project = write_site(folder, more);
    let output = folder.join(output);
    program::map(&project, &output, &[]).expect(0);
    OutputFiles::at(&output)
}

/// A row of the table by its columns.
fn row_of(output: &OutputFiles, (x, y): (f64, f64), species: &str) -> BTreeMap<String, String> {
    let zone = output.zone_at(430_000.0 + x, 4_980_000.0 + y).number.to_string();
    let mut reader = csv::Reader::from_path(output.file("zone_species.csv")).unwrap();
    let mut rows = reader
        .deserialize()
        .map(Result::<BTreeMap<String, String>, _>::unwrap);
    rows.find(|row| row["zone"] == zone && row["species_id"] == species)
        .unwrap()
}

#[test]
fn every_species_is_documented_here_next_door_or_not() {
    let folder = tempfile::tempdir().unwrap();
    let output = map(folder.path(), RANGE, "out");
    let told = |place, species| {
        let row = row_of(&output, place, species);
        let columns = ["documented", "nearest_record", "nearest_record_m"];
        columns.map(|column| row[column].clone())
    };
    let words = |texts: [&str; 3]| texts.map(str::to_owned);
    let adjoining = "documented in an adjoining region";
    assert_eq!(
        told(IN_WEST, "acer-rubrum"),
        words(["documented here", "in the zone", "0"])
    );
    assert_eq!(told(IN_EAST, "acer-rubrum"), words([adjoining, "350 m", "350"]));
    // By the table it is only beyond the western region; a record puts it in the eastern one.
    assert_eq!(
        told(IN_WEST, "asclepias-incarnata"),
        words([adjoining, "1.4 km", "1400"])
    );
    assert_eq!(
        told(IN_EAST, "asclepias-incarnata"),
        words(["documented here", "1 km", "1000"])
    );
    assert_eq!(
        told(IN_EAST, "carex-stricta"),
        words(["not documented", "none within 20 km", ""])
    );
    // In the zone, but nobody learns more than the square it lies in.
    assert_eq!(
        told(IN_WEST, "quercus-macrocarpa"),
        words(["not documented", "within 10 km", "10000"])
    );
    let record = output.record();
    let range = &record["range"];
    assert_eq!(range["regions_of_area"], 2);
    assert_eq!(range["adjoining_regions"], 1);
    assert_eq!(range["table_rows"], 7);
    assert_eq!(range["doubles"], 1);
    assert_eq!(range["unmatched_keys"], 1);
    assert_eq!(range["unknown_names"], 2);
    assert_eq!(range["by_record_alone"], 1);
    let warnings = record["warnings"].to_string();
    for part in [
        "Schizachyrium scoparum",
        "schizachyrium-scoparium",
        "but for zeros in front",
        "1 row says the same",
    ] {
        assert!(warnings.contains(part), "{part}: {warnings}");
    }
    let feature = &output.features()[0];
    let species = feature.property("species").unwrap().as_array().unwrap();
    assert!(
        species
            .iter()
            .all(|entry| entry["documented"].is_string() && entry["nearest_record"].is_string())
    );
}

#[test]
fn ranges_change_no_rating_and_no_zone() {
    let folder = tempfile::tempdir().unwrap();
    let with = map(folder.path(), RANGE, "with");
    let without = map(folder.path(), "", "without");
    assert_eq!(with.listings(), without.listings());
    assert!(!without.listings().is_empty());
    let shapes = |output: &OutputFiles| -> Vec<_> {
        let zones = output.zones().into_iter();
        zones.map(|zone| (zone.id, zone.rings)).collect()
    };
    assert_eq!(shapes(&with), shapes(&without));
}

#[test]
fn documented_only_leaves_out_with_the_cause_and_keeps_the_rating() {
    let folder = tempfile::tempdir().unwrap();
    let all = map(folder.path(), RANGE, "all");
    let asked = RANGE.replace("[range]", "[range]\ndocumented_only = true");
    let only = map(folder.path(), &asked, "only");
    let mut left_out = 0;
    for ((key, before), after) in all.listings().into_iter().zip(only.listings().into_values()) {
        if before == after {
            continue;
        }
        assert_eq!(after, "suits, not documented", "{key:?} was {before}");
        left_out += 1;
    }
    assert!(left_out > 0);
    assert_eq!(only.record()["range"]["left_out"], left_out);
    let before = row_of(&all, IN_EAST, "carex-stricta");
    let after = row_of(&only, IN_EAST, "carex-stricta");
    assert!(
        ["throughout", "mostly"].contains(&before["listing"].as_str()),
        "{before:?}"
    );
    assert_eq!(after["listing"], "suits, not documented");
    for column in ["share", "rating", "class"] {
        assert_eq!(before[column], after[column], "{column}");
    }
    let told = only.features().iter().any(|feature| {
        let cautions = feature.property("cautions").unwrap().as_str().unwrap();
        cautions.contains("left off the list because they are not documented here")
    });
    assert!(told);
}

#[test]
fn all_faults_are_told_at_once_and_why_tells_the_range() {
    let folder = tempfile::tempdir().unwrap();
    let wrong = RANGE
        .replace("quercus-macrocarpa", "quercus-macrocarp")
        .replace("table_region = \"county\"", "table_region = \"state\"")
        .replace("attribute = \"name\"", "attribute = \"nom\"");
    let project = write_site(folder.path(), &wrong);
    let told = groundfit(["check", project.to_str().unwrap()]).expect(1);
    for part in [
        "range.blurred",
        "quercus-macrocarpa",
        "`state`",
        "range.records",
        "nom",
    ] {
        assert!(told.err.contains(part), "{part}: {}", told.err);
    }
    let project = write_site(folder.path(), RANGE);
    let told = groundfit([
        "why",
        project.to_str().unwrap(),
        "430700",
        "4980100",
        "--species",
        "acer-rubrum",
    ]);
    assert!(
        told.out
            .contains("documented in an adjoining region; nearest record: 650 m"),
        "{}",
        told.out
    );
    let told = groundfit(["check", project.to_str().unwrap()]);
    assert!(
        told.out
            .contains("2 regions reach the area's extent (020, 030), 1 adjoin"),
        "{}",
        told.out
    );
}
