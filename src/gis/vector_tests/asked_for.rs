//! What is asked for of a file: layers, fields, features, a system.

use super::*;

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
fn a_wrong_filter_is_told_in_the_users_words() {
    let folder = tempfile::tempdir().unwrap();
    let to = plane();
    for (driver, name) in [
        ("GPKG", "soils.gpkg"),
        ("GeoJSON", "soils.geojson"),
        ("ESRI Shapefile", "soils.shp"),
    ] {
        let path = folder.path().join(name);
        write(
            driver,
            &path,
            "soils",
            Some(26915),
            &[&square(500_000.0, 4_980_000.0, 100.0)],
        );
        for (filter, fault) in [
            (
                "depth = 3",
                "asks for the field `depth`, which the layer does not have",
            ),
            ("ph >", "ends before it is complete"),
            ("MUKEY = '001", "has a quote that is not closed"),
            ("where ph > 6", "cannot be understood from `where"),
            ("ph > 6 # 7", "cannot be understood from `#"),
            ("ph > 6;", "has a `;`, and one condition is needed"),
            (
                "acidity(ph) > 6",
                "asks for the function `acidity`, which is not known",
            ),
        ] {
            let wrong = VectorQuery {
                filter: Some(filter),
                ..query(&path, &to)
            };
            let told = read_features(&wrong).unwrap_err().to_string();
            let begin = format!(
                "the filter `{filter}` on layer `soils` of {} {fault}",
                path.display()
            );
            assert!(told.starts_with(&begin), "{begin}\n{told}");
            let end = "; needed is a condition on its fields (`MUKEY`, `ph`), with text in single quotes, such as `kind = 'planting'`";
            assert!(told.ends_with(end), "{told}");
            assert!(!told.contains("SELECT") && !told.contains("SQL"), "{told}");
        }
    }
}
