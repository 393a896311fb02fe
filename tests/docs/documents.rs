//! What the two documents name is there: files, tests, modules.

use std::collections::BTreeSet;

use super::markdown::{code_within, links, prose, table_under};
use super::{files_below, repository, text_of};

const DOCUMENTS: [&str; 2] = ["README.md", "DEVELOPERS.md"];

/// Beginnings of what is meant as a path in this repository.
const PLACES: [&str; 8] = [
    "src/",
    "scripts/",
    "tests/",
    "sample-data/",
    ".ci/",
    "README.md",
    "DEVELOPERS.md",
    "Cargo.toml",
];

#[test]
fn every_path_and_link_leads_somewhere() {
    let mut looked_at = 0;
    for name in DOCUMENTS {
        let text = prose(&text_of(name));
        let code = code_within(&text);
        let words = code.iter().flat_map(|code| code.split_whitespace());
        let paths = words.filter(|word| PLACES.iter().any(|place| word.starts_with(place)));
        // What a run writes is not in the repository.
        let paths = paths
            .filter(|path| !path.starts_with("sample-data/out"))
            .map(str::to_owned);
        for path in paths.chain(links(&text)) {
            looked_at += 1;
            assert!(
                repository().join(&path).exists(),
                "{name} names {path}, which is not there"
            );
        }
    }
    assert!(
        looked_at > 20,
        "only {looked_at} paths were found in the documents"
    );
}

#[test]
fn every_test_named_as_a_guard_is_there() {
    let tests = files_below(&repository().join("src"), &["rs"])
        .into_iter()
        .chain(files_below(&repository().join("tests"), &["rs", "py"]));
    let text: String = tests.map(|file| std::fs::read_to_string(file).unwrap()).collect();
    let rows = table_under(&text_of("DEVELOPERS.md"), "## Invariants and their guards");
    assert!(rows.len() > 10, "{} invariants", rows.len());
    for row in rows {
        let guards = code_within(&row[1]);
        assert!(!guards.is_empty(), "\"{}\" has no guard", row[0]);
        for guard in guards {
            let there = text.contains(&format!("fn {guard}(")) || text.contains(&format!("def {guard}("));
            assert!(there, "the guard {guard} of \"{}\" is gone", row[0]);
        }
    }
}

#[test]
fn the_code_map_has_every_module() {
    let developers = text_of("DEVELOPERS.md");
    let in_map: BTreeSet<String> = table_under(&developers, "## The code map")
        .iter()
        .map(|row| code_within(&row[0])[0].clone())
        .collect();
    let contents = text_of("src/lib.rs");
    let modules = contents
        .lines()
        .filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';'));
    let in_code: BTreeSet<String> = modules.map(str::to_owned).chain(["main".to_owned()]).collect();
    assert_eq!(in_map, in_code);
}

#[test]
fn the_path_of_the_data_takes_seven_sentences() {
    let developers = text_of("DEVELOPERS.md");
    let section = developers
        .split("## The path of the data")
        .nth(1)
        .unwrap()
        .split("\n## ")
        .next()
        .unwrap();
    let steps: Vec<String> = section.trim().lines().fold(Vec::new(), |mut steps, line| {
        match line
            .split_once(". ")
            .filter(|(number, _)| number.parse::<u32>().is_ok())
        {
            Some((_, text)) => steps.push(text.to_owned()),
            None => steps
                .last_mut()
                .expect("the section is a list")
                .extend([" ", line.trim()]),
        }
        steps
    });
    assert_eq!(steps.len(), 7);
    for step in steps {
        assert!(
            step.trim().ends_with('.') && !step.trim().trim_end_matches('.').contains(". "),
            "{step}"
        );
    }
}
