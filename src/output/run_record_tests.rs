use super::*;
use crate::output::example_site::Example;
use crate::output::{FileFacts, utc_text};

fn record() -> RunRecord {
    let example = Example::two_zones();
    RunRecord {
        schema_version: SCHEMA_VERSION,
        program: Program {
            name: "groundfit".to_owned(),
            version: "0.0.0".to_owned(),
        },
        date: utc_text(86_400),
        title: "Two zones".to_owned(),
        project: "site.toml".to_owned(),
        inputs: vec![InputRecord {
            role: "layer ph".to_owned(),
            path: "layers/ph.tif".to_owned(),
            files: vec![FileFacts {
                path: "layers/ph.tif".to_owned(),
                bytes: Some(3),
                modified: Some(utc_text(0)),
                modified_s: Some(0),
                sha256: Some("ba78".to_owned()),
            }],
        }],
        grid: GridRecord {
            crs_wkt: "PROJCRS[...]".to_owned(),
            ..GridRecord::new(&example.grid, "layer ph")
        },
        layers: vec![LayerRecord {
            name: "ph".to_owned(),
            path: "layers/ph.tif".to_owned(),
            kind: "measured".to_owned(),
            operation: TransformTold {
                from: "WGS 84 (EPSG:4326)".to_owned(),
                to: "NAD83 / UTM zone 15N (EPSG:26915)".to_owned(),
                same: false,
                ballpark: false,
                operation: None,
                accuracy_m: Some(2.0),
            },
            resampling: "average".to_owned(),
            support_m: Some(30.0),
            nodata: Some(-9999.0),
            coverage: Some(0.98),
            notes: vec!["\"quoted\"".to_owned()],
        }],
        rating: RuleRecord {
            rule: "limiting".to_owned(),
            limits: ClassLimits::new(0.85, 0.6, 0.4).unwrap(),
            at_least: Class::S2,
            weights: BTreeMap::new(),
            factors: vec!["ph".to_owned()],
            decisive: vec!["ph".to_owned()],
            remediable: vec!["ph".to_owned()],
            stand_ins: BTreeMap::new(),
        },
        settings: BTreeMap::from([("zones.fidelity".to_owned(), 0.9.into())]),
        counts: Counts {
            cells: 100,
            zones: 2,
            ..Counts::default()
        },
        not_rated: vec![AreaByCause {
            cause: "outside the boundary".to_owned(),
            cells: 7,
            area_m2: 175.0,
        }],
        not_counted: vec![],
        limited: vec![],
        greatest_area_change: 0.0,
        range: None,
        fidelity: Some(FidelityRecord {
            fidelity: 0.93,
            target: Some(0.9),
            after_phase_1: 0.97,
            suitable_area_found: 0.95,
            listed_area_right: 0.91,
            species_lost: vec![],
            absorbed_against_keep_m2: 0.0,
        }),
        warnings: vec![],
        cautions: RunRecord::general_cautions(),
        outputs: vec![],
        measured: Measured::default(),
    }
}

#[test]
fn the_record_reads_like_this() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("run.json");
    record().write(&path).unwrap();
    insta::assert_snapshot!(fs::read_to_string(&path).unwrap());
}

#[test]
fn only_the_measured_block_tells_runs_apart() {
    let (mut one, mut other) = (record(), record());
    one.measured.seconds = 1.0;
    other.measured.seconds = 2.0;
    let plain = |record: &RunRecord| {
        let mut value = serde_json::to_value(record).unwrap();
        value.as_object_mut().unwrap().remove("measured").unwrap();
        value.to_string()
    };
    assert_eq!(plain(&one), plain(&other));
    assert!(!plain(&one).contains("seconds"));
}

#[test]
fn peak_memory_is_read_from_the_system() {
    assert_eq!(parse_peak("Name:\tx\nVmHWM:\t    2048 kB\n"), Some(2_097_152));
    assert_eq!(parse_peak("Name:\tx\n"), None);
    if cfg!(target_os = "linux") {
        assert!(peak_memory_bytes().unwrap() > 1_000_000);
    }
}

#[test]
fn a_full_disk_gives_one_clear_error() {
    let error = record().write(Path::new("/dev/full")).unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("could not write /dev/full: No space left"),
        "{error}"
    );
}
