//! Files of other kinds, and those that cannot be read.

use super::*;

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
