//! Small vector files read through the door.

use std::path::{Path, PathBuf};

use gdal::DriverManager;
use gdal::spatial_ref::SpatialRef;
use gdal::vector::{Geometry, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType};
use geo::Area;
use tempfile::TempDir;

use super::*;
use crate::grid::{Crs, Extent};

fn plane() -> Crs {
    crs_from_text("EPSG:26915").unwrap()
}

fn query<'a>(path: &'a Path, to: &'a Crs) -> VectorQuery<'a> {
    VectorQuery {
        path,
        layer: None,
        filter: None,
        fields: &[],
        crs_override: None,
        to,
        within: None,
    }
}

fn file(name: &str, text: &[u8]) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, text).unwrap();
    (folder, path)
}

fn geojson(features: &str) -> (TempDir, PathBuf) {
    let text = format!("{{\"type\":\"FeatureCollection\",\"features\":[{features}]}}");
    file("soils.geojson", text.as_bytes())
}

fn square(west: f64, south: f64, side: f64) -> String {
    let (east, north) = (west + side, south + side);
    format!("POLYGON (({west} {south}, {east} {south}, {east} {north}, {west} {north}, {west} {south}))")
}

/// Writes a layer of geometries in EPSG:26915 with a text and a number field.
fn write(driver: &str, path: &Path, layer: &str, srs: Option<u32>, shapes: &[&str]) {
    super::messages::start_once();
    // A file geodatabase has one kind of geometry a layer.
    let ty = match driver {
        "OpenFileGDB" => OGRwkbGeometryType::wkbPolygon,
        _ => OGRwkbGeometryType::wkbUnknown,
    };
    let driver = DriverManager::get_driver_by_name(driver).unwrap();
    let mut dataset = driver.create_vector_only(path).unwrap();
    let srs = srs.map(|code| SpatialRef::from_epsg(code).unwrap());
    let layer = dataset
        .create_layer(LayerOptions {
            name: layer,
            srs: srs.as_ref(),
            ty,
            options: None,
        })
        .unwrap();
    layer
        .create_defn_fields(&[("MUKEY", OGRFieldType::OFTString), ("ph", OGRFieldType::OFTReal)])
        .unwrap();
    for (number, shape) in shapes.iter().enumerate() {
        let mut feature = gdal::vector::Feature::new(layer.defn()).unwrap();
        feature.set_geometry(Geometry::from_wkt(shape).unwrap()).unwrap();
        feature.set_field_string(0, &format!("00{number}")).unwrap();
        feature.set_field_double(1, 6.5).unwrap();
        feature.create(&layer).unwrap();
    }
}

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
fn layers_and_fields_are_chosen_and_their_lack_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.gpkg");
    write(
        "GPKG",
        &path,
        "soils",
        Some(26915),
        &[&square(500_000.0, 4_980_000.0, 100.0)],
    );
    let facts = inspect_vector(&path).unwrap();
    let layer = &facts.layers[0];
    assert_eq!(
        (facts.driver.as_str(), layer.name.as_str(), layer.feature_count),
        ("GPKG", "soils", 1)
    );
    assert_eq!(layer.extent.unwrap().east, 500_100.0);
    let fields: Vec<_> = layer
        .fields
        .iter()
        .map(|field| (field.name.as_str(), field.is_text))
        .collect();
    assert_eq!(fields, [("MUKEY", true), ("ph", false)]);
    let to = plane();
    let found = read_features(&VectorQuery {
        layer: Some("soils"),
        fields: &["ph", "mukey"],
        ..query(&path, &to)
    })
    .unwrap();
    let text = FieldValue::Text("000".to_owned());
    assert_eq!(found.items[0].fields, [FieldValue::Number(6.5), text]);
    assert!(found.transform.same);
    let error = |query: VectorQuery| read_features(&query).unwrap_err().to_string();
    let none = error(VectorQuery {
        layer: Some("soil"),
        ..query(&path, &to)
    });
    assert!(none.contains("no layer `soil`; it has `soils`"), "{none}");
    let none = error(VectorQuery {
        fields: &["drainage"],
        ..query(&path, &to)
    });
    assert!(
        none.contains("no field `drainage`; it has `MUKEY`, `ph`"),
        "{none}"
    );
    for filter in ["ph >", "nothing = 3", "'"] {
        let wrong = error(VectorQuery {
            filter: Some(filter),
            ..query(&path, &to)
        });
        assert!(wrong.contains(&format!("`{filter}`")), "{wrong}");
    }
}

#[test]
fn filters_and_extents_leave_features_out() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.gpkg");
    let shapes = [
        square(500_000.0, 4_980_000.0, 10.0),
        square(510_000.0, 4_980_000.0, 10.0),
    ];
    write("GPKG", &path, "soils", Some(26915), &[&shapes[0], &shapes[1]]);
    let to = plane();
    let filtered = read_features(&VectorQuery {
        filter: Some("MUKEY = '001'"),
        ..query(&path, &to)
    })
    .unwrap();
    assert_eq!(filtered.items.len(), 1);
    let globe = lon_lat().unwrap();
    let near = Extent {
        west: -93.01,
        south: 44.9,
        east: -92.99,
        north: 45.1,
    };
    let near = read_features(&VectorQuery {
        within: Some((near, &globe)),
        ..query(&path, &to)
    })
    .unwrap();
    assert_eq!(
        (near.items.len(), near.items[0].fid),
        (1, filtered.items[0].fid - 1)
    );
}

#[test]
fn several_layers_need_a_choice() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["roads", "soils"] {
        let path = folder.path().join(format!("{name}.shp"));
        write(
            "ESRI Shapefile",
            &path,
            name,
            Some(26915),
            &[&square(0.0, 0.0, 1.0)],
        );
    }
    let to = plane();
    let error = read_features(&query(folder.path(), &to)).unwrap_err();
    assert!(
        matches!(&error, GisError::SeveralLayers { have, .. } if have.len() == 2),
        "{error}"
    );
}

#[test]
fn a_shapefile_without_prj_needs_a_system_said() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("soils.shp");
    write(
        "ESRI Shapefile",
        &path,
        "soils",
        None,
        &[&square(500_000.0, 4_980_000.0, 100.0)],
    );
    let to = plane();
    let error = read_features(&query(&path, &to)).unwrap_err().to_string();
    assert!(
        error.contains("soils.shp has no coordinate reference system"),
        "{error}"
    );
    let found = read_features(&VectorQuery {
        crs_override: Some(&to),
        fields: &["MUKEY"],
        ..query(&path, &to)
    })
    .unwrap();
    assert_eq!(found.items[0].fields, [FieldValue::Text("000".to_owned())]);
    assert_eq!(found.items[0].geometry.unsigned_area(), 10_000.0);
}

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
fn fields_that_are_not_there_are_missing_and_not_zero() {
    let (_folder, path) = geojson(
        r#"{"type":"Feature","properties":{"ph":6.5,"key":"007","big":9007199254740995},"geometry":{"type":"Point","coordinates":[0,0]}},
           {"type":"Feature","properties":{"key":"  "},"geometry":{"type":"Point","coordinates":[0,0]}},
           {"type":"Feature","properties":{"ph":null},"geometry":null}"#,
    );
    let to = lon_lat().unwrap();
    let found = read_features(&VectorQuery {
        fields: &["ph", "key", "big"],
        ..query(&path, &to)
    })
    .unwrap();
    let text = |text: &str| FieldValue::Text(text.to_owned());
    assert_eq!(
        found.items[0].fields,
        [FieldValue::Number(6.5), text("007"), text("9007199254740995")]
    );
    assert_eq!(found.items[1].fields, vec![FieldValue::Missing; 3]);
    assert_eq!((found.items.len(), found.without_geometry), (2, 1));
}

#[test]
fn text_in_an_old_encoding_comes_out_readable() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("soils.shp");
    write(
        "ESRI Shapefile",
        &path,
        "soils",
        Some(26915),
        &[&square(0.0, 0.0, 9.0)],
    );
    // The table's text is made Latin-1, and what said UTF-8 keeps saying so.
    let table = path.with_extension("dbf");
    let mut bytes = std::fs::read(&table).unwrap();
    let at = bytes.windows(3).position(|three| three == b"000").unwrap();
    bytes[at..at + 3].copy_from_slice(b"M\xe4r");
    std::fs::write(&table, bytes).unwrap();
    let to = plane();
    for encoding in ["UTF-8", "ISO-8859-1"] {
        std::fs::write(path.with_extension("cpg"), encoding).unwrap();
        let found = read_features(&VectorQuery {
            fields: &["MUKEY"],
            ..query(&path, &to)
        })
        .unwrap();
        assert_eq!(
            found.items[0].fields,
            [FieldValue::Text("M\u{e4}r".to_owned())],
            "{encoding}"
        );
        assert_eq!(
            found.doubts.len(),
            usize::from(encoding == "UTF-8"),
            "{:?}",
            found.doubts
        );
    }
}

#[test]
fn a_file_geodatabase_is_read_around_an_area() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("soils.gdb");
    let squares = [
        square(500_000.0, 4_980_000.0, 100.0),
        square(500_100.0, 4_980_000.0, 100.0),
        square(600_000.0, 4_980_000.0, 100.0),
    ];
    let squares = squares.each_ref().map(String::as_str);
    write("OpenFileGDB", &path, "soils", Some(26915), &squares);
    let to = plane();
    let near = Extent {
        west: 499_990.0,
        south: 4_979_990.0,
        east: 500_210.0,
        north: 4_980_110.0,
    };
    let found = read_features(&VectorQuery {
        within: Some((near, &to)),
        ..query(&path, &to)
    });
    assert_eq!(found.unwrap().items.len(), 2);
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

#[test]
fn what_is_not_there_no_vector_or_cut_off_is_said_so() {
    let to = plane();
    let error = read_features(&query(Path::new("nowhere/soils.gpkg"), &to)).unwrap_err();
    assert!(matches!(error, GisError::NotFound { .. }), "{error}");
    let (_folder, path) = file("soils.gpkg", b"no package");
    let error = inspect_vector(&path).unwrap_err();
    assert!(
        matches!(error, GisError::NotVector { .. }) && error.to_string().contains("soils.gpkg"),
        "{error}"
    );
    let folder = tempfile::tempdir().unwrap();
    for (driver, name) in [
        ("GPKG", "a.gpkg"),
        ("ESRI Shapefile", "a.shp"),
        ("GeoJSON", "a.geojson"),
    ] {
        let path = folder.path().join(name);
        let shapes: Vec<String> = (0..300).map(|at| square(f64::from(at), 0.0, 1.0)).collect();
        let shapes: Vec<&str> = shapes.iter().map(String::as_str).collect();
        write(driver, &path, "a", Some(4326), &shapes);
        let whole = std::fs::read(&path).unwrap();
        for share in 0..20 {
            std::fs::write(&path, &whole[..whole.len() * share / 20]).unwrap();
            // Never a panic; where something is read although the file is cut
            // off, it is told.
            match read_features(&query(&path, &to)) {
                Err(error) => assert!(error.to_string().contains(name), "{error}"),
                Ok(found) => assert!(
                    found.items.len() == 300 || found.without_geometry > 0,
                    "{name} {share}"
                ),
            }
        }
    }
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
