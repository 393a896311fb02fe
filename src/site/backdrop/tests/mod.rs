//! A small site on a tilted plane, with roads, a creek and a pond beside it.

#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "counts are small"
)]

mod heights;
mod lines;

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use tempfile::TempDir;

use super::*;
use crate::project::Project;
use crate::site::Site;

const WEST: f64 = 500_000.0;
const SOUTH: f64 = 4_990_000.0;

/// A height in metres of the plane, by metres from the corner of the site.
fn plane(x: f64, y: f64) -> f64 {
    100.0 + 0.1 * x + 0.05 * y
}

/// A raster that reaches 100 m beyond the site on all sides; `value` is asked at the
/// centres of cells.
fn raster(file: &Path, cell_m: f64, value: impl Fn(f64, f64) -> f64) {
    let (cols, rows) = ((600.0 / cell_m).round(), (500.0 / cell_m).round());
    let mut text = format!(
        "ncols {cols}\nnrows {rows}\nxllcorner {}\nyllcorner {}\ncellsize {cell_m}\nNODATA_value -1000.5\n",
        WEST - 100.0,
        SOUTH - 100.0
    );
    for row in 0..rows as usize {
        for col in 0..cols as usize {
            let (x, y) = (
                (col as f64 + 0.5) * cell_m - 100.0,
                400.0 - (row as f64 + 0.5) * cell_m,
            );
            write!(text, "{:.5} ", value(x, y)).unwrap();
        }
        text.push('\n');
    }
    fs::write(file, text).unwrap();
}

/// A layer in metres from the corner of the site: `LineString` or `Polygon` and points.
fn layer(file: &Path, features: &[(&str, &[(f64, f64)])]) {
    let feature = |&(kind, points): &(&str, &[(f64, f64)])| {
        let points: Vec<String> = points
            .iter()
            .map(|(x, y)| format!("[{},{}]", WEST + x, SOUTH + y))
            .collect();
        let points = match kind {
            "Polygon" => format!("[[{}]]", points.join(",")),
            _ => format!("[{}]", points.join(",")),
        };
        format!(
            r#"{{"type":"Feature","properties":{{"class":"local"}},"geometry":{{"type":"{kind}","coordinates":{points}}}}}"#
        )
    };
    let features: Vec<String> = features.iter().map(feature).collect();
    let crs = r#"{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::26915"}}"#;
    let text = format!(
        r#"{{"type":"FeatureCollection","crs":{crs},"features":[{}]}}"#,
        features.join(",")
    );
    fs::write(file, text).unwrap();
}

/// 400 x 300 m in cells of 10 m.
fn folder() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let site = [(0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0), (0.0, 0.0)];
    layer(&folder.path().join("site.geojson"), &[("Polygon", &site)]);
    for name in ["species.csv", "tolerances.csv", "sources.csv"] {
        fs::write(folder.path().join(name), "").unwrap();
    }
    folder
}

fn read(folder: &TempDir, rest: &str, wanted: BackdropWanted) -> Result<Backdrop, SiteError> {
    let text = format!(
        "[area]\nboundary = \"site.geojson\"\ngrid_crs = \"EPSG:26915\"\ncell_m = 10\n[catalogue]\nfolder = \".\"\n{rest}"
    );
    let project = Project::parse(&text, &folder.path().join("project.toml")).unwrap();
    let sections = Sections {
        area: &project.area,
        factors: &project.factors,
        road_salt: project.road_salt.as_ref(),
        exclude: &project.exclude,
        soil_survey: project.soil_survey.as_ref(),
    };
    let site = Site::open(sections)?;
    Backdrop::read(sections, site.grid(), &wanted)
}

const WANTED: BackdropWanted = BackdropWanted {
    tolerance_m: 2.0,
    most_cells: 6,
};

const SLOPE: &str = "[factors.slope]\nelevation = \"dem.asc\"\ncrs = \"EPSG:26915\"\n";

#[test]
fn a_layer_that_went_away_is_told_by_name() {
    let folder = folder();
    raster(&folder.path().join("dem.asc"), 10.0, plane);
    let text = format!(
        "[area]\nboundary = \"site.geojson\"\ngrid_crs = \"EPSG:26915\"\ncell_m = 10\n[catalogue]\nfolder = \".\"\n{SLOPE}vertical_unit = \"m\""
    );
    let project = Project::parse(&text, &folder.path().join("project.toml")).unwrap();
    let sections = Sections {
        area: &project.area,
        factors: &project.factors,
        road_salt: None,
        exclude: &[],
        soil_survey: None,
    };
    let site = Site::open(sections).unwrap();
    for gone in ["dem.asc", "site.geojson"] {
        fs::remove_file(folder.path().join(gone)).unwrap();
        let error = Backdrop::read(sections, site.grid(), &WANTED).unwrap_err();
        assert!(error.to_string().contains(gone), "{error}");
    }
}
