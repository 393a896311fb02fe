use super::*;

fn record(outputs: &[&str]) -> String {
    let outputs: Vec<_> = outputs
        .iter()
        .map(|file| serde_json::json!({ "file": file }))
        .collect();
    serde_json::json!({ "schema_version": 1, "outputs": outputs }).to_string()
}

fn write_run(folder: &mut PartialFolder, text: &str) {
    fs::write(folder.file("zone_species.csv"), text).unwrap();
    let rows = text.lines().count() as u64 - 1;
    folder.expect("zone_species.csv", Expected::Csv { rows });
    fs::write(folder.file("run.json"), record(&["zone_species.csv"])).unwrap();
    folder.expect("run.json", Expected::Json);
}

fn names(folder: &Path) -> Vec<String> {
    names_in(folder).unwrap().into_iter().collect()
}

#[test]
fn a_finished_folder_holds_the_files_and_nothing_else() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("new").join("out");
    let mut folder = PartialFolder::create(&target, false, Some(1_000)).unwrap();
    assert!(folder.told().is_empty());
    assert!(folder.path().ends_with("out.partial"));
    write_run(&mut folder, "zone\r\n1\r\n");
    let outputs = folder.outputs().unwrap();
    assert_eq!((outputs.len(), outputs[0].bytes), (1, 9));
    let finished = folder.finish().unwrap();
    assert_eq!(finished.left_over, None);
    assert_eq!(names(&target), ["run.json", "zone_species.csv"]);
    assert_eq!(names(&place.path().join("new")), ["out"]);
}

#[test]
fn a_run_that_is_dropped_leaves_nothing() {
    let place = tempfile::tempdir().unwrap();
    let mut folder = PartialFolder::create(&place.path().join("new").join("out"), false, None).unwrap();
    write_run(&mut folder, "zone\n1\n");
    drop(folder);
    assert!(names(place.path()).is_empty());
}

#[test]
fn a_finished_output_is_not_overwritten_unless_asked() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    let mut first = PartialFolder::create(&target, false, None).unwrap();
    write_run(&mut first, "zone\n1\n");
    first.finish().unwrap();
    let error = PartialFolder::create(&target, false, None).unwrap_err();
    assert!(matches!(error, OutputError::Exists { .. }), "{error}");

    let mut second = PartialFolder::create(&target, true, None).unwrap();
    write_run(&mut second, "zone\n1\n2\n");
    assert_eq!(
        fs::read_to_string(target.join("zone_species.csv")).unwrap(),
        "zone\n1\n"
    );
    second.finish().unwrap();
    assert_eq!(
        fs::read_to_string(target.join("zone_species.csv")).unwrap(),
        "zone\n1\n2\n"
    );
    assert_eq!(names(place.path()), ["out"]);
}

#[test]
fn a_failure_at_the_end_keeps_the_earlier_output() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    let mut first = PartialFolder::create(&target, false, None).unwrap();
    write_run(&mut first, "zone\n1\n");
    first.finish().unwrap();
    let mut second = PartialFolder::create(&target, true, None).unwrap();
    write_run(&mut second, "zone\n1\n2\n");
    second.expect("zone_species.csv", Expected::Csv { rows: 3 });
    let error = second.finish().unwrap_err();
    assert!(
        error.to_string().ends_with("holds 2 rows instead of 3 rows"),
        "{error}"
    );
    assert_eq!(
        fs::read_to_string(target.join("zone_species.csv")).unwrap(),
        "zone\n1\n"
    );
    assert_eq!(names(place.path()), ["out"]);
}

#[test]
fn a_folder_with_files_of_somebody_else_is_never_removed() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    fs::create_dir(&target).unwrap();
    fs::write(target.join("letter.txt"), "dear").unwrap();
    let error = PartialFolder::create(&target, true, None).unwrap_err();
    assert!(error.to_string().contains("letter.txt"), "{error}");

    fs::write(target.join("run.json"), record(&["zones.gpkg"])).unwrap();
    fs::write(target.join("zones.gpkg"), "x").unwrap();
    fs::write(target.join("zones.gpkg-wal"), "x").unwrap();
    let error = PartialFolder::create(&target, true, None).unwrap_err();
    assert!(
        matches!(&error, OutputError::NotOurs { files, .. } if files == &["letter.txt"]),
        "{error}"
    );
    fs::remove_file(target.join("letter.txt")).unwrap();
    assert!(PartialFolder::create(&target, true, None).is_ok());

    let partial = place.path().join("other.partial");
    fs::create_dir(&partial).unwrap();
    fs::write(partial.join("letter.txt"), "dear").unwrap();
    assert!(PartialFolder::create(&place.path().join("other"), true, None).is_err());
    assert!(partial.join("letter.txt").exists());
}

#[test]
fn what_a_cut_off_run_left_is_named_and_removed() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    let partial = place.path().join("out.partial");
    fs::create_dir(&partial).unwrap();
    fs::write(partial.join(MARK), "").unwrap();
    fs::write(partial.join("zones.gpkg"), "half").unwrap();
    let folder = PartialFolder::create(&target, false, None).unwrap();
    assert_eq!(folder.told().len(), 1);
    assert!(folder.told()[0].contains("out.partial") && folder.told()[0].contains("(1 file)"));
    assert_eq!(names(&partial), [MARK]);
}

#[test]
fn an_output_moved_aside_is_put_back() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    let aside = place.path().join("out.replaced");
    fs::create_dir(&aside).unwrap();
    fs::write(aside.join("run.json"), record(&[])).unwrap();
    let error = PartialFolder::create(&target, false, None).unwrap_err();
    assert!(matches!(error, OutputError::Exists { .. }), "it is there again");
    assert_eq!(names(place.path()), ["out"]);
}

#[test]
fn two_runs_do_not_share_a_folder() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    let first = PartialFolder::create(&target, false, None).unwrap();
    let error = PartialFolder::create(&target, false, None).unwrap_err();
    assert!(matches!(error, OutputError::Busy { .. }), "{error}");
    assert!(first.path().exists());
}

#[test]
fn places_that_cannot_be_written_are_told_at_the_start() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("file");
    fs::write(&file, "").unwrap();
    let error = PartialFolder::create(&file, true, None).unwrap_err();
    assert!(matches!(error, OutputError::NotAFolder { .. }), "{error}");
    let error = PartialFolder::create(&file.join("out"), false, None).unwrap_err();
    assert!(error.to_string().starts_with("could not write "), "{error}");
    // Not even root can make a folder here.
    let error = PartialFolder::create(Path::new("/proc/out"), false, None).unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("could not write /proc/out.partial: "),
        "{error}"
    );
    let error = PartialFolder::create(Path::new("/"), false, None).unwrap_err();
    assert!(error.to_string().contains("names no folder"), "{error}");
}

#[test]
fn too_little_room_is_told_before_anything_is_made() {
    let place = tempfile::tempdir().unwrap();
    let error = PartialFolder::create(&place.path().join("out"), false, Some(u64::MAX)).unwrap_err();
    assert!(error.to_string().contains("MB free, about "), "{error}");
    assert!(names(place.path()).is_empty());
}

#[test]
fn missing_and_surplus_files_are_found_out() {
    let place = tempfile::tempdir().unwrap();
    let target = place.path().join("out");
    let mut folder = PartialFolder::create(&target, false, None).unwrap();
    write_run(&mut folder, "zone\n1\n");
    folder.expect("zones.geojson", Expected::GeoJson { features: 1 });
    assert!(folder.finish().is_err());
    let mut folder = PartialFolder::create(&target, false, None).unwrap();
    write_run(&mut folder, "zone\n1\n");
    fs::write(folder.file("zones.gpkg-journal"), "x").unwrap();
    let error = folder.finish().unwrap_err();
    assert!(error.to_string().contains("zones.gpkg-journal"), "{error}");
    assert!(names(place.path()).is_empty());
}

#[test]
fn files_that_do_not_hold_what_was_written_are_found_out() {
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("file");
    let fails = |text: &str, expected: Expected| {
        fs::write(&path, text).unwrap();
        expected.verify(&path).is_err()
    };
    let collection = r#"{"type":"FeatureCollection","features":[]}"#;
    assert!(!fails(collection, Expected::GeoJson { features: 0 }));
    assert!(fails(collection, Expected::GeoJson { features: 1 }));
    assert!(fails(
        r#"{"type":"FeatureCollection","features":[{"type":"Feature","#,
        Expected::GeoJson { features: 1 }
    ));
    assert!(
        fails("", Expected::GeoJson { features: 0 }),
        "cut off before the first feature"
    );
    assert!(fails("{", Expected::Json));
    assert!(fails("", Expected::File));
    assert!(fails(
        "no database",
        Expected::GeoPackage {
            zones: 0,
            zone_species: 0
        }
    ));
    assert!(fails(
        "no picture",
        Expected::Ratings {
            bands: 1,
            rows: 1,
            cols: 1
        }
    ));
}
