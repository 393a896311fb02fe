//! Causes drawn by hand, and a small site whose soil polygons overlap.

use std::fs;
use std::path::Path;

use super::*;
use crate::factor::Factor;
use crate::project::Project;
use crate::rating::RatedFactor;
use crate::run::not_rated_picture::NotRatedPicture;
use crate::run::picture_so_far::PictureSoFar;
use crate::run::write::read_back;
use crate::run::{BLOCK_ROWS, Options, Silent, Stop, map, record, recut};
use crate::species::{Form, Opinion, Response, Species};

/// Slope is helpful and comes first; canopy stands in for sun.
fn questions(ph: Missing, speaks_of: &[&str]) -> Questions {
    let rated = |id: &str, missing| RatedFactor {
        factor: Factor::standard(id).unwrap(),
        missing,
        weight: 1.0,
        from_raster: false,
    };
    let opinion = |id: &&str| Opinion {
        factor: (*id).to_owned(),
        given: None,
        response: Response::range(Some(0.0), Some(1.0), None, None).unwrap(),
        source: "made up".to_owned(),
        note: String::new(),
        set_aside: Vec::new(),
    };
    let plant = Species {
        id: "made-up".to_owned(),
        scientific_name: String::new(),
        common_name: String::new(),
        form: Form::Forb,
        traits: vec![],
        opinions: speaks_of.iter().map(opinion).collect(),
    };
    let factors = vec![
        rated("slope", Missing::Unknown),
        rated("sun_hours", Missing::Unknown),
        rated("canopy", Missing::Unknown),
        rated("ph", ph),
    ];
    Questions::new(factors, &[plant])
}

fn blamed(questions: &Questions, missing: [bool; 4]) -> Option<&str> {
    let factor = lacking(questions, |factor| missing[factor])?;
    Some(&questions.factors()[factor].factor.id)
}

#[test]
fn a_decisive_question_without_a_value_is_blamed_before_a_helpful_factor() {
    let all = questions(Missing::Unknown, &["slope", "sun_hours", "canopy", "ph"]);
    assert_eq!(blamed(&all, [true, false, true, true]), Some("ph"));
    assert_eq!(blamed(&all, [true, true, true, true]), Some("sun_hours"));
    assert_eq!(blamed(&all, [true, false, true, false]), Some("slope"));
    assert_eq!(blamed(&all, [false, true, false, false]), Some("sun_hours"));
    assert_eq!(blamed(&all, [false; 4]), None);
}

#[test]
fn what_is_ignored_or_asked_by_nobody_is_not_blamed() {
    let ignored = questions(Missing::Ignore, &["slope"]);
    assert_eq!(blamed(&ignored, [false, false, false, true]), None);
    assert_eq!(blamed(&ignored, [true, false, false, true]), Some("slope"));
    let silent = questions(Missing::Unknown, &["ph"]);
    assert_eq!(blamed(&silent, [true, false, false, false]), None);
}

#[test]
fn stretches_cover_all_columns_once() {
    let keys = [1, 1, 2, 2, 2, 1];
    let mut told = Vec::new();
    each_stretch(
        keys.len(),
        |col| keys[col],
        |key, from, to| told.push((key, from, to)),
    );
    assert_eq!(told, [(1, 0, 2), (2, 2, 5), (1, 5, 6)]);
    each_stretch(0, |_| 0, |_, _, _| panic!("no column, no stretch"));
}

/// Squares in metres of UTM zone 15 N, each with one property.
fn polygons(file: &Path, squares: &[(f64, f64, &str)]) {
    let feature = |&(west, east, property): &(f64, f64, &str)| {
        let (west, east) = (500_000.0 + west, 500_000.0 + east);
        let (south, north) = (4_990_000.0, 4_990_100.0);
        format!(
            r#"{{"type":"Feature","properties":{{{property}}},"geometry":{{"type":"Polygon","coordinates":[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]}}}}"#
        )
    };
    let features: Vec<String> = squares.iter().map(feature).collect();
    let crs = r#"{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::26915"}}"#;
    let text = format!(
        r#"{{"type":"FeatureCollection","crs":{crs},"features":[{}]}}"#,
        features.join(",")
    );
    fs::write(file, text).unwrap();
}

/// 200 x 100 m in cells of 10 m: soils that overlap from 100 to 120 m and lack beyond
/// 180 m, pH of the western half alone.
fn site(folder: &Path) -> Project {
    polygons(&folder.join("site.geojson"), &[(0.0, 200.0, "")]);
    let soils = [
        (0.0, 120.0, r#""drain":"Well drained""#),
        (100.0, 180.0, r#""drain":"Well drained""#),
    ];
    polygons(&folder.join("soils.geojson"), &soils);
    polygons(&folder.join("ph.geojson"), &[(0.0, 50.0, r#""ph":6"#)]);
    let species =
        "id,scientific_name,common_name,form\npanicum-virgatum,Panicum virgatum,switchgrass,grass\n";
    let sources = "id,kind,title,author,year,publisher,note\ncommon-practice,common practice,invented,,,,\n";
    let tolerances = "species,factor,given,response,source,note\n\
        panicum-virgatum,drainage,,classes excessively drained=0; somewhat excessively drained=0; well drained=1; \
        moderately well drained=1; somewhat poorly drained=1; poorly drained=0; very poorly drained=0,common-practice,\n\
        panicum-virgatum,ph,,range 4 5 7 8,common-practice,\n";
    let project = r#"
[area]
boundary = "site.geojson"
grid_crs = "EPSG:26915"
cell_m = 10
[catalogue]
folder = "."
[factors.drainage]
layer = "soils.geojson"
attribute = "drain"
[factors.ph]
layer = "ph.geojson"
attribute = "ph"
missing = "ignore"
"#;
    for (name, text) in [
        ("species.csv", species),
        ("sources.csv", sources),
        ("tolerances.csv", tolerances),
        ("site.toml", project),
    ] {
        fs::write(folder.join(name), text).unwrap();
    }
    Project::read(&folder.join("site.toml")).unwrap()
}

#[test]
fn overlaps_gaps_and_ignored_factors_are_told_by_area() {
    let folder = tempfile::tempdir().unwrap();
    let project = site(folder.path());
    let prepared = Prepared::open(&project).unwrap();
    let rater = prepared.rater().unwrap();
    let window = prepared.site.grid().window();
    let band = prepared.site.read_tile(window).unwrap();
    let mut counted = NotRated::default();
    let mut places = CauseCounts::new(1, window);
    let mut cells = AsRated::default();
    for row in 0..window.rows {
        let factors = band.row(row);
        rater.rate_whole(&factors, window.cols, &mut cells);
        counted.count_row(
            &prepared,
            &TileRow {
                values: &band,
                row,
                factors: &factors,
                statuses: band.status.row(row),
                cells: &cells,
            },
            Some(&mut places),
        );
    }
    let cells = |by_cause: &BTreeMap<String, CellsAndArea>| -> Vec<(String, u64)> {
        let cells = by_cause.iter();
        cells.map(|(cause, sums)| (cause.clone(), sums.cells)).collect()
    };
    let told = |cause: &str, cells| (cause.to_owned(), cells);
    assert_eq!(counted.rated.cells, 160);
    assert_eq!(
        cells(&counted.causes),
        [
            told("no value of drainage", 20),
            told("polygons of drainage overlap", 20)
        ]
    );
    // 110 of the 160 rated cells have no pH.
    assert_eq!(cells(&counted.ignored), [told("ph", 110)]);
    let mut picture = PictureSoFar::new(1, window.rows, window.cols);
    picture.add(window, &places.finish());
    let picture = picture.finish(counted.causes.keys().cloned().collect());
    assert_eq!(picture, picture_of_site());
    // Cells of 100 m2 on the plane, a few parts in ten thousand larger on the ground.
    let area_m2 = counted.ignored["ph"].area_mm2 / 1_000_000;
    assert!((11_000..11_020).contains(&area_m2), "{area_m2}");
}

/// Columns 10 and 11 of each row overlap, 18 and 19 lack soils.
fn picture_of_site() -> NotRatedPicture {
    let values_of_row = [&[0; 10][..], &[2; 2], &[0; 6], &[1; 2]].concat();
    NotRatedPicture {
        cell: 1,
        rows: 10,
        cols: 20,
        causes: vec![
            "no value of drainage".to_owned(),
            "polygons of drainage overlap".to_owned(),
        ],
        values: values_of_row.repeat(10),
    }
}

#[test]
fn the_picture_is_stored_for_later_cuts() {
    let folder = tempfile::tempdir().unwrap();
    let project = site(folder.path());
    let prepared = Prepared::open(&project).unwrap();
    let (out, cut) = (folder.path().join("out"), folder.path().join("cut"));
    let stop = Stop::new();
    let options = |folder| Options {
        folder,
        overwrite: false,
        block_rows: BLOCK_ROWS,
        progress: &Silent,
        stop: &stop,
    };
    map(&project, &options(&out)).unwrap();
    recut(&project, &out, 2, &options(&cut)).unwrap();
    let inputs = record::inputs(&project).unwrap();
    let picture = |folder: &Path| {
        let (facts, _) = read_back(&prepared, folder, &inputs).map_err(|error| error.to_string())?;
        Ok::<_, String>(facts.not_rated_picture)
    };
    for folder in [&out, &cut] {
        assert_eq!(picture(folder).unwrap(), Some(picture_of_site()));
    }
    let sums = out.join("zones.sums");
    let text = fs::read_to_string(&sums).unwrap();
    let (first, rest) = text.split_once('\n').unwrap();
    let mut facts: serde_json::Value = serde_json::from_str(first).unwrap();
    let stored = &mut facts["not_rated_picture"];
    (stored["cell"], stored["rows"], stored["cols"]) = (2.into(), 5.into(), 10.into());
    stored["runs"] = serde_json::json!([[0, 50]]);
    fs::write(&sums, format!("{facts}\n{rest}")).unwrap();
    let error = picture(&out).unwrap_err();
    assert!(
        error.contains("its picture of what is not rated is of another size"),
        "{error}"
    );
    // As outputs were before.
    facts
        .as_object_mut()
        .unwrap()
        .remove("not_rated_picture")
        .unwrap();
    fs::write(&sums, format!("{facts}\n{rest}")).unwrap();
    assert_eq!(picture(&out).unwrap(), None);
}
