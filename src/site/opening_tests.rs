//! Small sites of GeoJSON layers, opened whole.

use std::path::Path;

use tempfile::TempDir;

use super::{Met, Sections, Site, SiteError, TileValues};
use crate::project::Project;

const SOUTH: f64 = 44.9709;
const WEST: f64 = -93.887;

/// A square of 0.002 degrees with a property.
fn feature(properties: &str, west: f64, south: f64) -> String {
    let (east, north) = (west + 0.002, south + 0.002);
    format!(
        "{{\"type\":\"Feature\",\"properties\":{{{properties}}},\"geometry\":{{\"type\":\"Polygon\",\"coordinates\":[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]}}}}"
    )
}

fn layer(folder: &Path, name: &str, crs: &str, features: &[String]) {
    let text = format!(
        "{{\"type\":\"FeatureCollection\",{crs}\"features\":[{}]}}",
        features.join(",")
    );
    std::fs::write(folder.join(name), text).unwrap();
}

/// A folder with a boundary and soils of two polygons side by side.
fn folder(soils: [&str; 2]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    layer(
        folder.path(),
        "b.geojson",
        "",
        &[feature("", WEST + 0.001, SOUTH)],
    );
    let soils = [
        feature(soils[0], WEST, SOUTH),
        feature(soils[1], WEST + 0.002, SOUTH),
    ];
    layer(folder.path(), "soils.geojson", "", &soils);
    std::fs::write(folder.path().join("species.csv"), "").unwrap();
    std::fs::write(folder.path().join("tolerances.csv"), "").unwrap();
    std::fs::write(folder.path().join("sources.csv"), "").unwrap();
    folder
}

fn open(folder: &TempDir, area: &str, rest: &str) -> Result<Site, SiteError> {
    let text = format!(
        "[area]\nboundary = \"b.geojson\"\n{area}\n[catalogue]\nfolder = \".\"\n{rest}\n[outputs]\nfolder = \"out\"\n"
    );
    let project = Project::parse(&text, &folder.path().join("project.toml")).unwrap();
    Site::open(Sections {
        road_salt: None,
        area: &project.area,
        factors: &project.factors,
        exclude: &project.exclude,
        soil_survey: project.soil_survey.as_ref(),
    })
}

fn told(site: Result<Site, SiteError>) -> String {
    match site {
        Ok(site) => {
            let texts = site.findings().iter().map(|finding| finding.text.clone());
            let band = site.read_tile(site.grid().window()).unwrap();
            let met = site.met_texts(&band.met).into_iter().map(|(_, text)| text);
            texts.chain(met).collect::<Vec<_>>().join("\n")
        }
        Err(SiteError::Problems { findings }) => {
            let texts = findings
                .iter()
                .map(|finding| format!("{:?} {}", finding.severity, finding.text));
            texts.collect::<Vec<_>>().join("\n")
        }
        Err(other) => other.to_string(),
    }
}

const CELL: &str = "cell_m = 20\ngrid_crs = \"EPSG:26915\"";

#[test]
fn numbers_for_no_data_are_missing_in_text_and_number_fields() {
    for (soils, nodata, expected) in [
        (
            ["\"ph\":\"-9999\"", "\"ph\":\"6.5\""],
            "nodata = -9999",
            "1 polygon of soils.geojson has no `ph`: its ground",
        ),
        (
            ["\"ph\":\"-9999\"", "\"ph\":\"6.5\""],
            "",
            "-9999 is no value of `ph`",
        ),
        (["\"ph\":-9999", "\"ph\":6.5"], "", "-9999 is no value of `ph`"),
        (
            ["\"ph\":\"inf\"", "\"ph\":\"6.5\""],
            "",
            "inf is no value of `ph`",
        ),
        (
            ["\"ph\":65", "\"ph\":6.5"],
            "",
            "65 is no value of `ph` (it runs from 0 to 14), and 1 polygon has it",
        ),
    ] {
        let folder = folder(soils);
        let factor = format!("[factors.ph]\nlayer = \"soils.geojson\"\nattribute = \"ph\"\n{nodata}");
        let site = open(&folder, CELL, &factor).unwrap();
        let band = site.read_tile(site.grid().window()).unwrap();
        let values = band.factors[0].values();
        assert!(
            values.iter().all(|value| value.is_nan() || *value == 6.5),
            "{soils:?}"
        );
        assert!(values.contains(&6.5) && band.met == Met::default());
        let told = told(Ok(site));
        assert!(told.contains(expected), "{told}");
    }
}

#[test]
fn a_layer_in_degrees_said_to_be_in_metres_stops_a_run_whatever_it_is_for() {
    let folder = folder(["\"ph\":7", "\"ph\":7"]);
    let factor = "[factors.ph]\nlayer = \"soils.geojson\"\nattribute = \"ph\"\n";
    for rest in [
        "[factors.ph]\nlayer = \"soils.geojson\"\nattribute = \"ph\"\ncrs = \"EPSG:26915\"".to_owned(),
        "[factors.distance]\ndistance_to = \"soils.geojson\"\nreach_m = 50\ncrs = \"EPSG:26915\"".to_owned(),
        format!("{factor}[[exclude]]\nname = \"x\"\nlayer = \"soils.geojson\"\ncrs = \"EPSG:26915\""),
    ] {
        let told = told(open(&folder, CELL, &rest));
        assert!(
            told.contains("Error") && told.contains("look like degrees"),
            "{told}"
        );
    }
    let named = "\"crs\":{\"type\":\"name\",\"properties\":{\"name\":\"EPSG:32616\"}},";
    layer(folder.path(), "b.geojson", named, &[feature("", WEST, SOUTH)]);
    let told = told(open(&folder, CELL, factor));
    assert!(told.contains("look like degrees"), "{told}");
}

#[test]
fn a_word_for_a_crs_that_goes_against_the_file_is_told() {
    let folder = folder(["\"ph\":7", "\"ph\":7"]);
    let factor = "[factors.ph]\nlayer = \"soils.geojson\"\nattribute = \"ph\"\ncrs = \"EPSG:4269\"";
    let told = told(open(&folder, CELL, factor));
    assert!(
        told.contains(
            "soils.geojson says it is in WGS 84 (EPSG:4326), the project's `crs` says NAD83 (EPSG:4269)"
        ),
        "{told}"
    );
}

#[test]
fn a_layer_that_misses_the_area_tells_where_it_lies_and_what_the_filter_left() {
    let folder = folder(["\"ph\":7", "\"ph\":7"]);
    let factor = "[factors.ph]\nlayer = \"soils.geojson\"\nattribute = \"ph\"\n";
    layer(
        folder.path(),
        "far.geojson",
        "",
        &[feature("", WEST + 1.0, SOUTH)],
    );
    let exclude =
        |layer: &str, more: &str| format!("{factor}[[exclude]]\nname = \"x\"\nlayer = \"{layer}\"\n{more}");
    let far = told(open(&folder, CELL, &exclude("far.geojson", "")));
    assert!(
        far.contains("all of it lies at x -92.887") && far.contains("nothing is excluded"),
        "{far}"
    );
    let none = told(open(
        &folder,
        CELL,
        &exclude("soils.geojson", "filter = \"ph > 8\""),
    ));
    assert!(none.contains("with the filter `ph > 8`"), "{none}");
}

#[test]
fn grids_that_are_not_true_to_scale_or_hold_no_cell_or_too_many_are_refused() {
    let folder = folder(["\"ph\":7", "\"ph\":7"]);
    let factor = "[factors.ph]\nlayer = \"soils.geojson\"\nattribute = \"ph\"\n";
    for (area, expected) in [
        (
            "cell_m = 20\ngrid_crs = \"EPSG:3857\"",
            "is 0.706 m on the ground",
        ),
        (
            "cell_m = 5000\ngrid_crs = \"EPSG:26915\"",
            "a `cell_m` under 5000 m is needed",
        ),
        (
            "cell_m = 0.0003\ngrid_crs = \"EPSG:26915\"",
            "a run takes at most 100000000000",
        ),
    ] {
        let told = told(open(&folder, area, factor));
        assert!(told.contains("Error") && told.contains(expected), "{told}");
    }
}

#[test]
fn no_tile_is_read_from_layers_that_were_let_go() {
    let folder = folder(["\"ph\":5.5", "\"ph\":6.5"]);
    let factor = "[factors.ph]\nlayer = \"soils.geojson\"\nattribute = \"ph\"";
    let mut site = open(&folder, CELL, factor).unwrap();
    let window = site.grid().window();
    let have_ground = |site: &Site| {
        [site.boundary(), &site.polygon_layers()[0].index].map(|index| {
            let mut runs = 0;
            index.each_run(window, |_, _, _| runs += 1);
            runs > 0
        })
    };
    assert!(site.read_tile(window).is_ok());
    assert_eq!(have_ground(&site), [true, true]);
    site.let_layers_go();
    assert!(matches!(site.read_tile(window), Err(SiteError::LayersGone)));
    assert_eq!(have_ground(&site), [false, false]);
}

#[test]
fn tiles_are_kept_once_asked_for_until_layers_are_let_go() {
    let folder = folder(["\"ph\":5.5", "\"ph\":6.5"]);
    let factor = "[factors.ph]\nlayer = \"soils.geojson\"\nattribute = \"ph\"";
    let mut site = open(&folder, CELL, factor).unwrap();
    let window = site.grid().window();
    let read = site.read_tile(window).unwrap();
    assert!(site.kept.tile(window).is_none());
    site.keep_tiles();
    site.read_tile(window).unwrap();
    let kept = site.kept.tile(window).unwrap();
    let bits = |tile: &TileValues| -> Vec<u32> {
        let values = tile.factors[0].values().iter();
        values.map(|value| value.to_bits()).collect()
    };
    assert_eq!(bits(&kept), bits(&read));
    site.let_layers_go();
    assert!(site.kept.tile(window).is_none());
}
