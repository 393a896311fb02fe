use std::fs;

use super::super::read_table::read_table;
use super::*;

const DATE: &str = "2026-01-31T12:00:00.000Z";

fn crs() -> Crs {
    Crs {
        wkt: SpatialRef::from_epsg(26915).unwrap().to_wkt().unwrap(),
        name: "NAD83 / UTM zone 15N".to_owned(),
        code: Some("EPSG:26915".to_owned()),
    }
}

fn text(name: &str) -> TableText<'_> {
    TableText {
        name,
        title: name,
        description: "what <it> holds; it's",
    }
}

const SQUARE: [(f64, f64); 5] = [
    (500_000.0, 4_800_000.0),
    (500_010.0, 4_800_000.0),
    (500_010.0, 4_800_010.0),
    (500_000.0, 4_800_010.0),
    (500_000.0, 4_800_000.0),
];

fn hole() -> Vec<(f64, f64)> {
    vec![
        (500_002.0, 4_800_002.0),
        (500_002.0, 4_800_004.0),
        (500_004.0, 4_800_004.0),
        (500_004.0, 4_800_002.0),
        (500_002.0, 4_800_002.0),
    ]
}

fn columns() -> [Column; 3] {
    [
        Column::new("name", ColumnKind::Text),
        Column::new("count", ColumnKind::Integer),
        Column::new("share", ColumnKind::Real),
    ]
}

fn write(path: &Path, rows: usize) {
    let holes = [hole()];
    let mut writer = GeoPackageWriter::create(path, "the site", DATE).unwrap();
    let polygons = (0..rows).map(|row| {
        let values = vec![
            Value::Text("a 'quoted' \"name\"\nin \u{4e2d}\0two <lines>".into()),
            Value::Integer(1 << 40),
            if row == 0 {
                Value::Real(0.25)
            } else {
                Value::Real(f64::INFINITY)
            },
        ];
        Row::polygon(&SQUARE, if row == 0 { &holes } else { &[] }, values)
    });
    writer.add_layer(text("zones"), &crs(), &columns()).unwrap();
    writer.add_table(text("plain"), &columns()).unwrap();
    // Rows of one table may come between those of another.
    let plain = |rows: usize| {
        let values = || vec![Value::Missing, Value::Integer(-1), Value::Real(0.1)];
        std::iter::repeat_with(values).take(rows).map(Row::plain)
    };
    assert_eq!(writer.append("plain", plain(rows)).unwrap(), rows as u64);
    assert_eq!(writer.append("zones", polygons).unwrap(), rows as u64);
    assert_eq!(writer.append("plain", plain(2 * rows)).unwrap(), 2 * rows as u64);
    writer.add_index("plain", "count").unwrap();
    writer
        .add_default_style("zones", "style", "<sld/>", DATE)
        .unwrap();
    writer.finish().unwrap();
}

#[test]
fn what_is_written_is_read_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("zones.gpkg");
    write(&path, 2);
    let zones = read_table(&path, "zones");
    assert_eq!(zones.epsg, Some(26915));
    assert_eq!(zones.columns, ["name", "count", "share"]);
    assert_eq!(
        zones.value(0, "name"),
        Some("a 'quoted' \"name\"\nin \u{4e2d}\u{fffd}two <lines>")
    );
    assert_eq!(zones.value(0, "count"), Some("1099511627776"));
    assert_eq!(zones.value(0, "share"), Some("0.25"));
    assert_eq!(zones.value(1, "share"), None, "infinity is no number of a file");
    assert_eq!(
        zones.geometries,
        [("POLYGON".to_owned(), 96.0), ("POLYGON".to_owned(), 100.0)]
    );
    let rows = count_rows(&path).unwrap();
    assert_eq!(
        rows,
        [
            ("zones".to_owned(), 2),
            ("plain".to_owned(), 6),
            ("layer_styles".to_owned(), 1)
        ]
    );
    let styles = read_table(&path, "layer_styles");
    assert_eq!(styles.value(0, "styleSLD"), Some("<sld/>"));
    assert_eq!(
        fs::read_dir(folder.path()).unwrap().count(),
        1,
        "nothing is left beside it"
    );
}

#[test]
fn the_file_has_its_indices_and_metadata() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("zones.gpkg");
    write(&path, 2);
    let dataset = Dataset::open(&path).unwrap();
    let ask = |sql: &str| {
        let mut answer = dataset.execute_sql(sql, None, Dialect::DEFAULT).unwrap().unwrap();
        answer
            .features()
            .filter_map(|row| row.field_as_string(0).unwrap())
            .collect::<Vec<_>>()
    };
    assert_eq!(
        ask("SELECT name FROM sqlite_master WHERE name = 'plain_count'").len(),
        1
    );
    assert_eq!(
        ask("SELECT table_name FROM gpkg_extensions WHERE extension_name = 'gpkg_rtree_index'"),
        ["zones"]
    );
    let described = "SELECT description FROM gpkg_contents WHERE table_name = 'zones'";
    assert_eq!(ask(described), ["what <it> holds; it's"]);
    let dates = ask("SELECT DISTINCT last_change FROM gpkg_contents");
    assert_eq!(dates.len(), 1, "{dates:?}");
    assert!(dates[0].replace('/', "-").starts_with("2026-01-31"), "{dates:?}");
    assert_eq!(dataset.metadata_item("TITLE", "").as_deref(), Some("the site"));
}

#[test]
fn the_same_rows_give_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let (one, other) = (folder.path().join("1.gpkg"), folder.path().join("2.gpkg"));
    write(&one, 50);
    // The clock must not show in the file.
    std::thread::sleep(std::time::Duration::from_millis(1_100));
    write(&other, 50);
    assert!(fs::read(one).unwrap() == fs::read(other).unwrap());
}

#[test]
fn no_rows_still_give_layers() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("zones.gpkg");
    write(&path, 0);
    assert_eq!(read_table(&path, "zones").columns, ["name", "count", "share"]);
    assert_eq!(read_table(&path, "zones").epsg, Some(26915));
    assert!(read_table(&path, "plain").rows.is_empty());
}

#[test]
fn more_rows_than_one_transaction_takes_are_all_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("zones.gpkg");
    let mut writer = GeoPackageWriter::create(&path, "", DATE).unwrap();
    let columns = [Column::new("number", ColumnKind::Integer)];
    for (name, rows) in [("even", 100_000), ("odd", 100_001)] {
        let values = (0..rows).map(|number| Row::plain(vec![Value::Integer(number)]));
        writer.add_table(text(name), &columns).unwrap();
        writer.append(name, values).unwrap();
    }
    writer.finish().unwrap();
    assert_eq!(
        count_rows(&path).unwrap(),
        [("even".to_owned(), 100_000), ("odd".to_owned(), 100_001)]
    );
}

#[test]
fn what_cannot_be_written_gives_one_clear_error() {
    let folder = tempfile::tempdir().unwrap();
    let nowhere = folder.path().join("missing").join("zones.gpkg");
    let error = GeoPackageWriter::create(&nowhere, "", DATE)
        .and_then(|mut writer| {
            writer.add_table(text("plain"), &columns())?;
            writer.finish()
        })
        .unwrap_err();
    assert!(error.to_string().contains("zones.gpkg"), "{error}");
    let path = folder.path().join("zones.gpkg");
    let mut writer = GeoPackageWriter::create(&path, "", DATE).unwrap();
    let bad = Crs {
        wkt: "nonsense".to_owned(),
        name: "nonsense".to_owned(),
        code: None,
    };
    let error = writer.add_layer(text("zones"), &bad, &columns()).unwrap_err();
    assert!(error.to_string().contains("reading the CRS nonsense"), "{error}");
    fs::write(&path, "no database at all").unwrap();
    assert!(matches!(count_rows(&path), Err(WriteError::ReadBack { .. })));
}
