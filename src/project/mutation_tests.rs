//! Project files as nobody would write them: none may bring the reader down,
//! and what it takes must keep its promises.

use std::path::Path;

use proptest::prelude::*;

use super::tests::site;
use super::{Project, ProjectError};
use crate::factor::Kind;
use crate::score::Class;

const TEXTS: [&str; 3] = [
    include_str!("../../tests/corpus/project/valid.toml"),
    include_str!("../../tests/corpus/project/broken.toml"),
    include_str!("../cli/new/starter.toml"),
];

const PIECES: [&str; 32] = [
    "",
    "\"",
    "'''",
    "\"\"\"",
    "[",
    "]",
    "[[",
    "{",
    "}",
    "=",
    ".",
    ",",
    "\n",
    "\r\n",
    "#",
    "-1",
    "0",
    "nan",
    "inf",
    "1e400",
    "99999999999999999999",
    "true",
    "2020-13-45",
    "[]",
    "{}",
    "\u{0}",
    "\u{feff}",
    "é",
    "\\u0000",
    "[factors.ph]\n",
    "a.b.c = 1\n",
    "words = {}\n",
];

/// One change to a text.
#[derive(Debug, Clone)]
enum Change {
    Byte(usize, u8),
    Insert(usize, usize),
    Cut(usize, usize),
    SwapLines(usize, usize),
    RepeatLine(usize, usize),
    DropLine(usize),
    Value(usize, usize),
    KeyLetter(usize, u8),
}

fn change() -> impl Strategy<Value = Change> {
    let place = 0..10_000_usize;
    prop_oneof![
        (place.clone(), any::<u8>()).prop_map(|(at, byte)| Change::Byte(at, byte)),
        (place.clone(), place.clone()).prop_map(|(at, piece)| Change::Insert(at, piece)),
        (place.clone(), 1..40_usize).prop_map(|(at, length)| Change::Cut(at, length)),
        (place.clone(), place.clone()).prop_map(|(one, other)| Change::SwapLines(one, other)),
        (place.clone(), place.clone()).prop_map(|(from, to)| Change::RepeatLine(from, to)),
        place.clone().prop_map(Change::DropLine),
        (place.clone(), place.clone()).prop_map(|(line, piece)| Change::Value(line, piece)),
        (place, b'a'..=b'z').prop_map(|(line, letter)| Change::KeyLetter(line, letter)),
    ]
}

fn lines(bytes: &[u8]) -> Vec<Vec<u8>> {
    bytes.split(|&byte| byte == b'\n').map(<[u8]>::to_vec).collect()
}

fn apply(bytes: &mut Vec<u8>, change: &Change) {
    if bytes.is_empty() {
        return;
    }
    let mut rows = lines(bytes);
    let count = rows.len();
    match *change {
        Change::Byte(at, byte) => {
            let at = at % bytes.len();
            bytes[at] = byte;
            return;
        }
        Change::Insert(at, piece) => {
            let at = at % bytes.len();
            bytes.splice(at..at, PIECES[piece % PIECES.len()].bytes());
            return;
        }
        Change::Cut(at, length) => {
            let at = at % bytes.len();
            bytes.drain(at..(at + length).min(bytes.len()));
            return;
        }
        Change::SwapLines(one, other) => rows.swap(one % count, other % count),
        Change::RepeatLine(from, to) => {
            let row = rows[from % count].clone();
            rows.insert(to % count, row);
        }
        Change::DropLine(line) => {
            rows.remove(line % count);
        }
        Change::Value(line, piece) => {
            let row = &mut rows[line % count];
            if let Some(equals) = row.iter().position(|&byte| byte == b'=') {
                row.truncate(equals + 1);
                row.extend(PIECES[piece % PIECES.len()].bytes());
            }
        }
        Change::KeyLetter(line, letter) => {
            if let Some(first) = rows[line % count].first_mut() {
                *first = letter;
            }
        }
    }
    *bytes = rows.join(&b'\n');
}

/// What must hold whatever was read.
fn keeps_its_promises(text: &str, folder: &Path) {
    match Project::parse(text, &folder.join("project.toml")) {
        Err(ProjectError::Problems { problems, .. }) => {
            assert!(!problems.is_empty(), "refused without a reason");
            let count = text.split('\n').count();
            for problem in problems {
                assert!((1..=count).contains(&problem.line), "{problem}");
                assert!(problem.column >= 1 && !problem.text.contains('\n'), "{problem}");
            }
        }
        Err(error) => panic!("{error}"),
        Ok(project) => {
            assert!(!project.factors.is_empty());
            let limits =
                [Class::S1, Class::S2, Class::S3].map(|class| project.rating.limits.lowest_of(class));
            assert!(limits[0] > limits[1] && limits[1] > limits[2]);
            for section in &project.factors {
                assert!(section.support_m.is_none_or(|support_m| support_m > 0.0));
                let Some(cuts) = &section.cuts else { continue };
                assert!(cuts.bounds.is_sorted());
                let Kind::Classes { names, .. } = &section.factor.kind else {
                    panic!("cuts without classes");
                };
                for value in [f64::NEG_INFINITY, 0.0, f64::INFINITY] {
                    assert!(usize::from(cuts.class_of(value).unwrap()) < names.len());
                }
            }
        }
    }
}

#[test]
fn ten_thousand_mutated_project_files_are_read_or_refused() {
    let site = site();
    let config = ProptestConfig {
        cases: 10_000,
        failure_persistence: None,
        ..ProptestConfig::default()
    };
    let changes = proptest::collection::vec(change(), 1..6);
    proptest!(config, |(base in 0..TEXTS.len(), changes in changes)| {
        let mut bytes = TEXTS[base].as_bytes().to_vec();
        for change in &changes {
            apply(&mut bytes, change);
        }
        keeps_its_promises(&String::from_utf8_lossy(&bytes), site.path());
    });
}

#[test]
fn the_corpus_is_read_or_refused() {
    let site = site();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus/project");
    let mut count = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let bytes = std::fs::read(entry.unwrap().path()).unwrap();
        keeps_its_promises(&String::from_utf8_lossy(&bytes), site.path());
        count += 1;
    }
    assert!(count >= 10);
}
