//! Geometries: repaired where they can be, straightened, or left out.

use super::*;

#[test]
fn invalid_polygons_are_repaired_and_the_area_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("soils.gpkg");
    let bowtie = "POLYGON ((500000 4980000, 500100 4980100, 500100 4980000, 500000 4980100, 500000 4980000))";
    // Two parts that lie over each other: one area, not a hole.
    let over = "MULTIPOLYGON (((0 0, 10 0, 10 10, 0 10, 0 0)), ((5 0, 15 0, 15 10, 5 10, 5 0)))";
    write(
        "GPKG",
        &path,
        "soils",
        Some(26915),
        &[bowtie, over, &square(0.0, 0.0, 3.0)],
    );
    let to = plane();
    let found = read_features(&query(&path, &to)).unwrap();
    assert_eq!((found.items.len(), found.repaired.len()), (3, 2));
    let told: Vec<_> = found
        .repaired
        .iter()
        .map(|r| (r.area_before, r.area_after))
        .collect();
    assert_eq!(told[0].0, 0.0);
    assert!(
        (told[0].1 - 5000.0).abs() < 1e-6 && (told[1].1 - 150.0).abs() < 1e-6,
        "{told:?}"
    );
    assert!((told[1].0 - 200.0).abs() < 1e-6, "{told:?}");
    let away = lon_lat().unwrap();
    assert_eq!(
        read_features(&VectorQuery {
            filter: Some("MUKEY = '000'"),
            ..query(&path, &away)
        })
        .unwrap()
        .repaired
        .len(),
        1
    );
}

#[test]
fn geometries_of_every_kind() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("mixed.gpkg");
    write(
        "GPKG",
        &path,
        "mixed",
        Some(26915),
        &[
            "POINT Z (1 2 3)",
            "LINESTRING Z (0 0 1, 5 5 2)",
            "MULTILINESTRING ((0 0, 1 1), (2 2, 3 3))",
            "GEOMETRYCOLLECTION (POINT (0 0), POLYGON ((0 0, 1 0, 1 1, 0 0)), LINESTRING (0 0, 9 9))",
            "CURVEPOLYGON (CIRCULARSTRING (0 0, 1 1, 2 0, 1 -1, 0 0))",
            "POLYGON EMPTY",
            "MULTIPOLYGON (((0 0, 1 0, 1 1, 0 0)), ((5 5, 500000 4980000, 6 6, 5 5)))",
        ],
    );
    let to = plane();
    let found = read_features(&query(&path, &to)).unwrap();
    let kinds: Vec<&str> = found
        .items
        .iter()
        .map(|feature| match &feature.geometry {
            geo::Geometry::Point(_) => "point",
            geo::Geometry::LineString(_) => "line",
            geo::Geometry::MultiLineString(_) => "lines",
            geo::Geometry::Polygon(_) => "polygon",
            geo::Geometry::MultiPolygon(_) => "polygons",
            _ => "other",
        })
        .collect();
    assert_eq!(
        kinds,
        ["point", "line", "lines", "polygon", "polygon", "polygons"]
    );
    assert_eq!(found.without_geometry, 1);
    let disc = found.items[4].geometry.unsigned_area();
    assert!((disc - std::f64::consts::PI).abs() < 0.01, "{disc}");
}

#[test]
fn a_corner_that_is_no_place_is_told_and_not_repaired_away() {
    let (_folder, path) = geojson(
        r#"{"type":"Feature","properties":{},"geometry":{"type":"Polygon",
            "coordinates":[[[-93,45],[1e400,45],[-92.9,45.1],[-93,45.1],[-93,45]]]}},
           {"type":"Feature","properties":{},"geometry":{"type":"LineString",
            "coordinates":[[-93,45],[-93,-1e400]]}},
           {"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[-93,45]}}"#,
    );
    let to = lon_lat().unwrap();
    let found = read_features(&query(&path, &to)).unwrap();
    assert_eq!((found.items.len(), found.repaired.len()), (1, 0));
    let told: Vec<&str> = found.broken.iter().map(|(_, reason)| reason.as_str()).collect();
    assert_eq!(
        told,
        ["its corner inf 45 is no place", "its corner -93 -inf is no place"]
    );
}
