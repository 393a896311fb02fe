//! The tables of the README against the code and against what a run writes.

use std::collections::BTreeSet;

use groundfit::factor::{Factor, Harmless, Kind, Unit};
use serde_json::Value;

use super::markdown::{code_within, prose, table_under};
use super::tour::mapped_sample;
use super::{files_below, repository, text_of};

/// The names in the first column of a table.
fn names_under(heading: &str) -> BTreeSet<String> {
    let rows = table_under(&text_of("README.md"), heading);
    rows.iter().map(|row| code_within(&row[0])[0].clone()).collect()
}

fn json(file: &str) -> Value {
    let path = mapped_sample().join("sample-data/out").join(file);
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn keys(value: &Value) -> BTreeSet<String> {
    value.as_object().unwrap().keys().cloned().collect()
}

#[test]
fn the_table_of_files_is_that_of_a_run() {
    let out = std::fs::read_dir(mapped_sample().join("sample-data/out")).unwrap();
    let written: BTreeSet<String> = out
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(names_under("### The files"), written);
}

#[test]
fn the_tables_of_columns_are_those_of_a_run() {
    let zones = json("zones.geojson");
    let one_for_all = |key: &String| match key.strip_prefix("ground_") {
        Some(_) => "ground_FACTOR".to_owned(),
        None => key.clone(),
    };
    let first = &zones["features"][0]["properties"];
    let of_zone: BTreeSet<String> = keys(first).iter().map(one_for_all).collect();
    assert_eq!(names_under("### The columns of a zone"), of_zone);
    assert_eq!(
        names_under("### The species of a zone"),
        keys(&first["species"][0])
    );

    let table = mapped_sample().join("sample-data/out/zone_species.csv");
    let mut table = csv::Reader::from_path(table).unwrap();
    let columns: BTreeSet<String> = table.headers().unwrap().iter().map(str::to_owned).collect();
    assert_eq!(names_under("### The columns of zone_species"), columns);

    assert_eq!(names_under("### The record of a run"), keys(&json("run.json")));
}

#[test]
fn the_table_of_factors_is_that_of_the_code() {
    let rows = table_under(&text_of("README.md"), "### The standard factors");
    let in_code: Vec<&str> = Factor::standard_ids().collect();
    let in_table: Vec<String> = rows.iter().map(|row| code_within(&row[0])[0].clone()).collect();
    assert_eq!(in_table, in_code);
    for row in rows {
        let factor = Factor::standard(&code_within(&row[0])[0]).unwrap();
        let [_, values, decisive, harmless, stands_in_for, remediable] = &row[..] else {
            panic!("{row:?}");
        };
        let yes = |cell: &str| {
            if cell == "yes" {
                true
            } else {
                assert_eq!(cell, "no", "{row:?}");
                false
            }
        };
        assert_eq!(yes(decisive), factor.decisive, "{row:?}");
        assert_eq!(yes(remediable), factor.remediable, "{row:?}");
        assert_eq!(
            code_within(stands_in_for).first(),
            factor.stands_in_for.as_ref(),
            "{row:?}"
        );
        match &factor.kind {
            Kind::Measured(Unit::Index) => assert_eq!(values, "number"),
            Kind::Measured(unit) => assert_eq!(*values, format!("measured, {unit}")),
            Kind::Classes { names, ordered } => {
                let kind = if *ordered { "classes in order" } else { "classes" };
                assert_eq!(*values, format!("{kind}: {}", names.join(", ")));
            }
        }
        let told = match factor.harmless {
            Harmless::Nothing => "-".to_owned(),
            Harmless::Below(limit) => format!("below {limit}"),
            Harmless::UpToClass { last, .. } => {
                let names = factor.kind.classes().unwrap();
                names[..=usize::from(last)].join(", ")
            }
        };
        assert_eq!(*harmless, told, "{row:?}");
    }
}

/// Keys that the readers of the project file ask for, as the code has them.
fn keys_of_the_project_file() -> BTreeSet<String> {
    let readers = [
        "text(",
        "texts(",
        "number(",
        "whole(",
        "flag(",
        "word(",
        "date(",
        "table(",
        "tables(",
        "share(",
        "read(table, ",
        "file(",
    ];
    let mut keys = BTreeSet::new();
    for file in files_below(&repository().join("src/project"), &["rs"]) {
        let text = std::fs::read_to_string(&file).unwrap();
        let text = text.split("#[cfg(test)]\nmod tests {").next().unwrap().to_owned();
        let is_test = file.file_name().unwrap().to_str().unwrap().contains("test");
        for (at, _) in text.match_indices('"').filter(|_| !is_test) {
            let before = text[..at].trim_end();
            let before = if before.ends_with(',') {
                &text[..at]
            } else {
                before
            };
            let key: String = text[at + 1..].chars().take_while(|&sign| sign != '"').collect();
            let is_name = key.chars().all(|sign| sign.is_ascii_lowercase() || sign == '_') && !key.is_empty();
            if is_name && readers.iter().any(|reader| before.ends_with(reader)) {
                keys.insert(key);
            }
        }
    }
    keys
}

#[test]
fn every_key_of_the_project_file_is_told() {
    let keys = keys_of_the_project_file();
    for known in [
        "boundary",
        "grid_crs",
        "at_least",
        "simplify_m",
        "stands_in_for",
        "width_m",
        "all_rows",
    ] {
        assert!(keys.contains(known), "the search has lost {known}: {keys:?}");
    }
    let readme = text_of("README.md");
    let section = readme
        .split("\n## The project file")
        .nth(1)
        .unwrap()
        .split("\n## ")
        .next()
        .unwrap();
    let headings = section.lines().filter_map(|line| line.strip_prefix("### "));
    let headings = headings.map(|heading| heading.trim_matches(['[', ']']).replace(".NAME", ""));
    let told: BTreeSet<String> = code_within(&prose(section)).into_iter().chain(headings).collect();
    let untold: Vec<_> = keys
        .difference(&told)
        .filter(|key| *key != "to" && *key != "class")
        .collect();
    assert!(untold.is_empty(), "the README does not tell of {untold:?}");

    // The other way round: a row for a key that nobody reads.
    let code: String = files_below(&repository().join("src/project"), &["rs"])
        .into_iter()
        .map(|file| std::fs::read_to_string(file).unwrap())
        .collect();
    for line in section.lines().filter(|line| line.starts_with("| `")) {
        for key in code_within(line.split('|').nth(1).unwrap()) {
            let plain = key.trim_matches(|sign| sign == '[' || sign == ']');
            let there = code.contains(&format!("\"{plain}\"")) || Factor::standard(plain).is_some();
            assert!(there, "the README tells of {key}, which nobody reads");
        }
    }
}
