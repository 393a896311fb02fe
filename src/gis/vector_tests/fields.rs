//! Values of fields, and text in old encodings.

use super::*;

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
