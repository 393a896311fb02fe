//! GeoJSON as nobody would write it, in the place of boundary and roads: read or
//! refused, never a panic; and what is read keeps its promises.

use std::path::Path;

use geo::{BoundingRect, CoordsIter};
use groundfit::gis::{self, VectorQuery};
use groundfit::grid::Crs;
use groundfit::project::Project;
use groundfit::site::{Sections, Site};

use crate::mutation::{Seeded, corpus, rounds, spoil_bytes, spoil_text};
use crate::small_site::Site as SmallSite;

const ODD: [&str; 44] = [
    "",
    "null",
    "true",
    "[]",
    "{}",
    "[[]]",
    "[[[]]]",
    "\"\"",
    "0",
    "-1",
    "1e308",
    "1e400",
    "-1e400",
    "NaN",
    "Infinity",
    "180",
    "-180",
    "181",
    "90",
    "91",
    "1e-320",
    "93.5",
    "-93.9",
    "45.0",
    "Point",
    "MultiPoint",
    "LineString",
    "MultiLineString",
    "Polygon",
    "MultiPolygon",
    "GeometryCollection",
    "Feature",
    "FeatureCollection",
    "\"coordinates\":",
    "\"geometry\": null,",
    "\"type\": 5,",
    "[-93.9, 45.0],",
    "[-93.9],",
    "[-93.9, 45.0, 5, 6, 7],",
    "],",
    "}",
    "é",
    "\u{0}",
    "\"crs\": {\"type\": \"name\", \"properties\": {\"name\": \"EPSG:5070\"}},",
];

const SHAPES: &str = r#"{"type": "FeatureCollection", "features": [
{"type": "Feature", "properties": {"name": "a", "width_m": 8}, "geometry": {"type": "Polygon", "coordinates": [
[[-93.89, 44.97], [-93.88, 44.97], [-93.88, 44.98], [-93.89, 44.98], [-93.89, 44.97]],
[[-93.887, 44.972], [-93.882, 44.978], [-93.882, 44.972], [-93.887, 44.972]]]}},
{"type": "Feature", "properties": {"name": null, "width_m": "6"}, "geometry": {"type": "MultiPolygon", "coordinates": [
[[[-93.87, 44.97], [-93.86, 44.98], [-93.86, 44.97], [-93.87, 44.98], [-93.87, 44.97]]],
[[[-93.85, 44.97], [-93.84, 44.97], [-93.84, 44.98], [-93.85, 44.97]]]]}},
{"type": "Feature", "properties": {}, "geometry": {"type": "LineString", "coordinates": [
[-93.89, 44.97], [-93.88, 44.975], [-93.87, 44.97]]}},
{"type": "Feature", "properties": {"name": "c"}, "geometry": {"type": "GeometryCollection", "geometries": [
{"type": "Point", "coordinates": [-93.88, 44.975]},
{"type": "MultiLineString", "coordinates": [[[-93.88, 44.97], [-93.88, 44.98]], [[-93.87, 44.97], [-93.86, 44.98]]]}]}}
]}
"#;

/// What must hold whatever was read.
fn keeps_its_promises(path: &Path, to: &Crs) -> bool {
    let query = VectorQuery {
        path,
        layer: None,
        filter: None,
        fields: &[],
        crs_override: None,
        to,
        within: None,
    };
    match gis::read_features(&query) {
        Err(error) => {
            let told = error.to_string();
            assert!(told.contains("spoilt"), "names no file: {told:?}");
            false
        }
        Ok(features) => {
            for feature in &features.items {
                for point in feature.geometry.coords_iter() {
                    assert!(point.x.is_finite() && point.y.is_finite(), "{feature:?}");
                }
                assert!(feature.geometry.bounding_rect().is_some(), "{feature:?}");
            }
            for repair in &features.repaired {
                // What lies beyond any place has no area to compare with.
                assert!(repair.area_before >= 0.0 || repair.area_before.is_nan());
                assert!(
                    repair.area_after > 0.0 && repair.area_after.is_finite(),
                    "{repair:?}"
                );
            }
            true
        }
    }
}

#[test]
fn two_thousand_spoilt_geojson_files_are_read_or_refused() {
    let folder = tempfile::tempdir().unwrap();
    let to = gis::crs_from_text("EPSG:26915").unwrap();
    let path = folder.path().join("spoilt.geojson");
    let mut seeded = Seeded::new(31);
    let mut read = 0;
    for _ in rounds(2_000) {
        std::fs::write(&path, spoil_text(SHAPES, &ODD, &mut seeded)).unwrap();
        read += usize::from(keeps_its_promises(&path, &to));
    }
    // Neither all good nor all hopeless.
    let made = rounds(2_000).len();
    assert!((made / 10..made * 19 / 20).contains(&read), "{read} of {made}");
}

#[test]
fn spoilt_packages_are_read_or_refused() {
    let site = SmallSite::sound();
    let whole = std::fs::read(site.file("soils.gpkg")).unwrap();
    let to = gis::crs_from_text("EPSG:26915").unwrap();
    let path = site.file("spoilt.gpkg");
    let mut seeded = Seeded::new(32);
    for _ in rounds(300) {
        let mut bytes = whole.clone();
        for _ in 0..4 {
            spoil_bytes(&mut bytes, &mut seeded);
        }
        std::fs::write(&path, bytes).unwrap();
        keeps_its_promises(&path, &to);
    }
}

/// Opens a whole site whose boundary, soils, road and exclude come from the file.
fn opens_or_tells(site: &SmallSite) {
    let text = std::fs::read_to_string(site.project()).unwrap();
    let project = Project::parse(&text, &site.file("project.toml")).unwrap();
    let opened = Site::open(Sections {
        road_salt: None,
        area: &project.area,
        factors: &project.factors,
        exclude: &project.exclude,
        soil_survey: project.soil_survey.as_ref(),
    });
    match opened {
        Err(error) => assert!(!error.to_string().is_empty()),
        Ok(site) => {
            let grid = site.grid();
            assert!(grid.rows() > 0 && grid.cols() > 0);
            // One tile in a corner, and only where it is not vast.
            let first = grid.tiles().next().unwrap();
            let band = site.read_tile(first).unwrap();
            assert_eq!(band.status.values().len(), first.cells());
        }
    }
}

fn spoilt_site() -> SmallSite {
    let mut site = SmallSite::sound();
    site.area = String::from("boundary = \"spoilt.geojson\"\n");
    site.factors = String::from(
        "\
[factors.drainage]
layer = \"spoilt.geojson\"
attribute = \"name\"
words = { a = \"well drained\" }
[factors.spray_salt]
distance_to = \"spoilt.geojson\"
cuts = [ { to = 20, class = \"severe\" }, { class = \"none\" } ]
[[exclude]]
name = \"anything\"
layer = \"spoilt.geojson\"
width_attribute = \"width_m\"
setback_m = 3
",
    );
    site
}

#[test]
fn sites_on_spoilt_layers_open_or_tell_what_is_wrong() {
    let site = spoilt_site();
    let mut seeded = Seeded::new(33);
    for _ in rounds(150) {
        std::fs::write(site.file("spoilt.geojson"), spoil_text(SHAPES, &ODD, &mut seeded)).unwrap();
        opens_or_tells(&site);
    }
}

#[test]
fn the_corpus_is_read_or_refused() {
    let site = spoilt_site();
    let to = gis::crs_from_text("EPSG:26915").unwrap();
    for (_, bytes) in corpus("vectors") {
        let path = site.file("spoilt.geojson");
        std::fs::write(&path, bytes).unwrap();
        keeps_its_promises(&path, &to);
        opens_or_tells(&site);
    }
}
