//! Merge logs that were changed after they were written: refused with the line, or
//! read as something whole.

use groundfit::zones::MergeLog;

use crate::mutation::{Seeded, corpus, rounds, spoil_text};
use crate::small_site::Site;

const ODD: [&str; 26] = [
    "",
    " ",
    "|",
    "=",
    "= =",
    "0",
    "1",
    "2",
    "-1",
    "4294967295",
    "4294967296",
    "18446744073709551616",
    "1e9",
    "NaN",
    "inf",
    "-0.0",
    "0x1",
    "1x0",
    "4294967295x1",
    "zones 4000000000",
    "species 4000000000",
    "merges 1",
    "rows 4000000000 4000000000",
    "end",
    "\u{0}",
    "é",
];

/// A log that can be read can be written, and is then the same.
fn keeps_its_promises(text: &str) -> bool {
    match MergeLog::parse(text) {
        Err(error) => {
            let told = error.to_string();
            assert!(told.contains("line") && !told.contains('\n'), "{told:?}");
            false
        }
        Ok(log) => {
            let mut written = Vec::new();
            log.write(&mut written).unwrap();
            let again = MergeLog::parse(std::str::from_utf8(&written).unwrap()).unwrap();
            assert!(again == log);
            true
        }
    }
}

#[test]
fn two_thousand_spoilt_logs_are_read_or_refused() {
    let site = Site::sound();
    site.run("map").expect(0);
    let fresh = std::fs::read_to_string(site.file("out/zones.merges")).unwrap();
    assert!(keeps_its_promises(&fresh));
    let mut texts = vec![fresh];
    for (path, bytes) in corpus("merges") {
        if path.file_name().unwrap().to_str().unwrap().starts_with("whole") {
            texts.push(String::from_utf8(bytes).unwrap());
        }
    }
    assert!(texts.len() >= 2);
    let mut seeded = Seeded::new(21);
    for _ in rounds(2_000) {
        let text = seeded.one_of(&texts).clone();
        let spoilt = spoil_text(&text, &ODD, &mut seeded);
        keeps_its_promises(&String::from_utf8_lossy(&spoilt));
    }
}

#[test]
fn the_corpus_is_read_or_refused_as_its_names_say() {
    for (path, bytes) in corpus("merges") {
        let is_whole = path.file_name().unwrap().to_str().unwrap().starts_with("whole");
        assert_eq!(
            keeps_its_promises(&String::from_utf8_lossy(&bytes)),
            is_whole,
            "{}",
            path.display()
        );
    }
}
