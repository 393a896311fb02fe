//! Where features come out: longitude first, in the system asked for, or not at all.

use super::*;

#[test]
fn geojson_is_longitude_first() {
    let (_folder, path) = geojson(
        r#"{"type":"Feature","properties":{"name":"Fen"},
            "geometry":{"type":"Point","coordinates":[-93.0,45.0]}}"#,
    );
    let to = plane();
    let found = read_features(&query(&path, &to)).unwrap();
    let geo::Geometry::Point(point) = &found.items[0].geometry else {
        panic!("{found:?}");
    };
    assert!(
        (point.x() - 500_000.0).abs() < 0.01 && (point.y() - 4_982_950.4).abs() < 1.0,
        "{point:?}"
    );
    assert!(!found.transform.same && found.repaired.is_empty());
}

#[test]
fn formats_that_keep_latitude_first_come_out_longitude_first() {
    let gml = br#"<?xml version="1.0" encoding="utf-8"?>
<ogr:FeatureCollection xmlns:ogr="http://ogr.maptools.org/" xmlns:gml="http://www.opengis.net/gml/3.2">
<ogr:featureMember><ogr:place gml:id="p.0"><ogr:geom>
<gml:Point srsName="urn:ogc:def:crs:EPSG::4326" gml:id="g.0"><gml:pos>45.0 -93.0</gml:pos></gml:Point>
</ogr:geom></ogr:place></ogr:featureMember></ogr:FeatureCollection>"#;
    let (folder, gml) = file("place.gml", gml);
    let package = folder.path().join("place.gpkg");
    write("GPKG", &package, "place", Some(4326), &["POINT (-93 45)"]);
    let to = lon_lat().unwrap();
    for path in [&gml, &package] {
        let found = read_features(&query(path, &to)).unwrap();
        assert_eq!(
            found.items[0].geometry,
            geo::Point::new(-93.0, 45.0).into(),
            "{path:?}"
        );
        assert!(found.transform.same);
    }
    let beside = std::fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(beside, 2, "nothing may be written beside the data");
}

#[test]
fn points_outside_the_globe_are_an_error() {
    let (_folder, path) = geojson(
        r#"{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[500000,4980000]}}"#,
    );
    assert!(
        inspect_vector(&path).unwrap().layers[0]
            .doubt
            .as_ref()
            .unwrap()
            .contains("cannot be degrees")
    );
    let to = plane();
    let error = read_features(&query(&path, &to)).unwrap_err();
    assert!(
        matches!(&error, GisError::Doubt { path, .. } if path.contains("soils.geojson")),
        "{error}"
    );
    // One stray point among others is no matter of the system.
    let (_folder, path) = geojson(
        r#"{"type":"Feature","properties":{},"geometry":{"type":"MultiPoint","coordinates":[[-93,45],[500000,4980000]]}}"#,
    );
    let error = read_features(&query(&path, &to)).unwrap_err();
    let GisError::InFile { path, problem } = error else {
        panic!("{error}");
    };
    assert!(path.contains("soils.geojson"), "{path}");
    assert!(
        matches!(*problem, GisError::TransformPoints { failed: 1, of: 2, .. }),
        "{problem}"
    );
}
