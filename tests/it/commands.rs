//! The other commands on the sample site: `why`, `check`, `species`, `new`; exit
//! codes and JSON.

use gdal::Metadata;
use serde_json::Value;

use crate::program::{files_below, groundfit, map, sample, sample_copy};

fn project() -> String {
    sample().join("project.toml").display().to_string()
}

#[test]
fn why_tells_values_scores_and_what_is_needed_at_a_place() {
    let project = project();
    let told = groundfit(["why", &project, "431800", "4987700", "--json"])
        .expect(0)
        .json();
    assert_eq!(told["not_rated"], Value::Null);
    assert_eq!(told["ground"].as_array().unwrap().len(), 8);
    let species = told["species"].as_array().unwrap();
    assert_eq!(species.len(), 24);
    let states: Vec<&str> = species
        .iter()
        .map(|here| here["state"].as_str().unwrap())
        .collect();
    let ranks: Vec<usize> = states
        .iter()
        .map(|state| {
            ["suits", "does not suit", "not known"]
                .iter()
                .position(|one| one == state)
                .unwrap()
        })
        .collect();
    assert!(ranks.is_sorted());
    for here in species {
        let answers = here["answers"].as_array().unwrap();
        assert_eq!(answers.len(), 7);
        let scores: Vec<f64> = answers
            .iter()
            .filter_map(|answer| answer["score"].as_f64())
            .collect();
        let lowest = scores.iter().copied().fold(1.0, f64::min);
        if here["state"] == "suits" {
            assert!((here["rating"].as_f64().unwrap() - lowest).abs() < 1e-9);
            assert!(lowest >= 0.6);
        }
        for answer in answers.iter().filter(|answer| answer["limits"] == true) {
            assert!(answer["score"].as_f64().unwrap() < 0.6);
        }
    }
    // The same place in degrees.
    let (lon, lat) = (told["lon"].to_string(), told["lat"].to_string());
    let same = groundfit(["why", &project, &lon, &lat, "--json"])
        .expect(0)
        .json();
    assert_eq!((&same["row"], &same["col"]), (&told["row"], &told["col"]));
    assert_eq!(same["species"], told["species"]);
}

#[test]
fn why_agrees_with_the_bytes_of_the_ratings() {
    let project = project();
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    map(project.as_ref(), &out, &[]).expect(0);
    let ratings = gdal::Dataset::open(out.join("ratings.tif")).unwrap();
    let mut looked_at = 0;
    for (x, y) in [
        ("431802", "4987702"),
        ("431202", "4987402"),
        ("432102", "4987902"),
    ] {
        let told = groundfit(["why", &project, x, y, "--json"]).expect(0).json();
        let at = (told["col"].as_i64().unwrap(), told["row"].as_i64().unwrap());
        let at = (isize::try_from(at.0).unwrap(), isize::try_from(at.1).unwrap());
        for band in 1..=ratings.raster_count() {
            let band = ratings.rasterband(band).unwrap();
            let name = band.description().unwrap();
            let byte = band.read_as::<u8>(at, (1, 1), (1, 1), None).unwrap().data()[0];
            let here = told["species"]
                .as_array()
                .unwrap()
                .iter()
                .find(|here| name.contains(here["id"].as_str().unwrap()) || name == here["scientific_name"])
                .unwrap_or_else(|| panic!("no species for {name}"));
            let wanted = here["rating"]
                .as_f64()
                .map_or(255.0, |rating| (rating * 200.0 + 1e-9).floor());
            assert_eq!(f64::from(byte), wanted, "{name} at {x} {y}");
            looked_at += usize::from(byte != 255);
        }
    }
    assert!(looked_at > 30);
}

#[test]
fn why_outside_the_grid_or_for_no_species_is_wrong_usage() {
    let project = project();
    let run = groundfit(["why", &project, "400000", "4987700"]).expect(2);
    assert!(run.err.contains("outside the area's grid"), "{}", run.err);
    let run = groundfit(["why", &project, "431800", "4987700", "--species", "red mapel"]).expect(2);
    assert!(run.err.contains("acer-rubrum"), "{}", run.err);
}

#[test]
fn check_writes_nothing() {
    let (folder, project) = sample_copy();
    let project = project.display().to_string();
    let before = files_below(folder.path());
    let told = groundfit(["check", &project]).expect(0);
    assert!(told.out.ends_with("nothing was written\n"), "{}", told.out);
    for word in [
        "canopy.tif",
        "EPSG:5070",
        "covers 100 %",
        "bilinear",
        "arisaema-triphyllum",
        "regions",
    ] {
        assert!(told.out.contains(word), "{word} is not in {}", told.out);
    }
    let told = groundfit(["check", &project, "--json"]).expect(0).json();
    assert_eq!(told["rows"], 226);
    groundfit(["why", &project, "431800", "4987700"]).expect(0);
    groundfit(["species", "check", "--project", &project]).expect(0);
    assert_eq!(files_below(folder.path()), before);
}

#[test]
fn the_catalogue_is_listed_shown_and_checked() {
    let catalogue = sample().join("catalogue").display().to_string();
    let all = groundfit(["species", "list", "--catalogue", &catalogue, "--json"])
        .expect(0)
        .json();
    assert!(all.to_string().contains("quercus-macrocarpa"));
    let ferns = groundfit(["species", "list", "--catalogue", &catalogue, "--form", "fern"]).expect(0);
    assert!(ferns.out.contains("adiantum-pedatum") && !ferns.out.contains("acer-rubrum"));
    let wet = groundfit([
        "species",
        "list",
        "--catalogue",
        &catalogue,
        "--stands",
        "drainage=very poorly drained",
    ])
    .expect(0);
    assert!(wet.out.contains("carex-stricta") && !wet.out.contains("rhus-typhina"));
    let shown = groundfit(["species", "show", "shrubby cinquefoil", "--catalogue", &catalogue]).expect(0);
    assert!(shown.out.contains("Dasiphora") && shown.out.contains("moderately well drained"));
    groundfit([
        "species",
        "show",
        "dasiphora-fruticosa",
        "--catalogue",
        &catalogue,
        "--json",
    ])
    .expect(0)
    .json();
    groundfit(["species", "show", "no such plant", "--catalogue", &catalogue]).expect(2);
    groundfit(["species", "check", "--catalogue", &catalogue]).expect(0);
    groundfit(["species", "check", "--catalogue", &catalogue, "--json"])
        .expect(0)
        .json();
}

#[test]
fn a_new_project_tells_which_files_it_still_lacks() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site");
    let project = site.join("project.toml").display().to_string();
    groundfit(["new".as_ref(), site.as_os_str()]).expect(0);
    let run = groundfit(["check", &project]).expect(1);
    assert_eq!(run.err.matches("no such file").count(), 7, "{}", run.err);
    assert!(run.err.contains("try: "), "{}", run.err);
    let again = groundfit(["new".as_ref(), site.as_os_str()]).expect(3);
    assert!(again.err.contains("nothing was written"), "{}", again.err);
}

#[test]
fn the_exit_code_tells_what_kind_of_trouble_it_is() {
    groundfit(["--help"]).expect(0);
    groundfit(["map", "--help"]).expect(0);
    groundfit(["--version"]).expect(0);
    groundfit::<&str>([]).expect(2);
    groundfit(["map"]).expect(2);
    groundfit(["map", &project(), "--threads", "0"]).expect(2);
    groundfit(["zones", &project(), "--number", "0", "--output", "x"]).expect(2);
    let folder = tempfile::tempdir().unwrap();
    let absent = folder.path().join("absent.toml").display().to_string();
    groundfit(["map", &absent]).expect(3);
    let broken = folder.path().join("broken.toml");
    std::fs::write(&broken, "[area\n").unwrap();
    groundfit(["check".as_ref(), broken.as_os_str()]).expect(1);
}

#[test]
fn the_help_of_every_command_has_examples_and_no_colour() {
    for command in ["", "map", "check", "why", "zones", "species", "new"] {
        let arguments: Vec<&str> = [command, "--help"]
            .into_iter()
            .filter(|word| !word.is_empty())
            .collect();
        let run = groundfit(arguments).expect(0);
        assert!(run.out.contains("Example"), "{}", run.out);
        assert!(!run.out.contains('\u{1b}'), "{}", run.out);
    }
}
