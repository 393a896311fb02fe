//! The same inputs give the same bytes, whatever the block size, the number of
//! threads, and what happened before.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::program::{files_below, map, sample_copy};

/// The files of an output; `run.json` without what was measured.
pub fn comparable(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut files = files_below(folder);
    let record = files.get_mut(Path::new("run.json")).unwrap();
    let mut told: Value = serde_json::from_slice(record).unwrap();
    assert!(told.as_object_mut().unwrap().remove("measured").is_some());
    *record = serde_json::to_vec_pretty(&told).unwrap();
    files
}

/// Tells which file differs, not its bytes.
pub fn same(one: &BTreeMap<PathBuf, Vec<u8>>, other: &BTreeMap<PathBuf, Vec<u8>>, what: &str) {
    assert_eq!(
        one.keys().collect::<Vec<_>>(),
        other.keys().collect::<Vec<_>>(),
        "{what}"
    );
    for (name, bytes) in one {
        assert!(*bytes == other[name], "{} differs: {what}", name.display());
    }
}

#[test]
fn blocks_and_threads_leave_no_trace() {
    let (folder, project) = sample_copy();
    let out = folder.path().join("out");
    let run = |options: &[&str]| {
        map(&project, &out, options).expect(0);
        let files = comparable(&out);
        std::fs::remove_dir_all(&out).unwrap();
        files
    };
    let usual = run(&[]);
    for rows in ["1", "7", "64", "100000"] {
        same(
            &usual,
            &run(&["--block-rows", rows]),
            &format!("blocks of {rows} rows"),
        );
    }
    for threads in ["1", "2", "4"] {
        same(
            &usual,
            &run(&["--threads", threads, "--block-rows", "7"]),
            &format!("{threads} threads"),
        );
    }
}

#[test]
fn files_told_of_in_another_time_zone_or_language_are_the_same() {
    let (folder, project) = sample_copy();
    let out = folder.path().join("out");
    map(&project, &out, &[]).expect(0);
    let usual = comparable(&out);
    std::fs::remove_dir_all(&out).unwrap();
    let mut command = crate::program::program();
    command
        .args(["map", "--quiet"])
        .arg(&project)
        .env("TZ", "Pacific/Auckland")
        .env("LC_ALL", "de_DE.UTF-8")
        .env("LANG", "de_DE.UTF-8");
    assert!(command.status().unwrap().success());
    same(&usual, &comparable(&out), "another time zone and language");
}
