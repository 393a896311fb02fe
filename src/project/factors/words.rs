//! `words`: the source's words and codes into classes of a factor. Comes in:
//! a table of the project file or a CSV file; goes out: a look-up.

use std::path::{Path, PathBuf};

use super::definition::class_index;
use super::word_file;
use crate::factor::{Factor, Kind};
use crate::nearest::quoted;
use crate::project::layer::existing;
use crate::project::reader::Spot;
use crate::project::table::Table;
use crate::project::value::describe;

/// What the words and codes of a source mean.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words {
    file: Option<PathBuf>,
    own: Vec<(String, Meaning)>,
    known: Vec<(String, Meaning)>,
}

/// What one word of a source means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// The class with this index.
    Class(u16),
    /// No value: water in a soil survey, a code for "not rated".
    Missing,
}

/// The word of a project for "no value".
const MISSING: &str = "missing";

impl Words {
    /// What a word of the source means, or nothing when nobody said.
    ///
    /// The project's own words go first, as written, then with letter case
    /// aside if that leaves one meaning; then the class names of the factor;
    /// then, for drainage, the usual spellings. Outer blanks never count.
    #[must_use]
    pub fn meaning_of(&self, word: &str) -> Option<Meaning> {
        let word = word.trim();
        if let Some((_, meaning)) = self.own.iter().find(|(own, _)| own == word) {
            return Some(*meaning);
        }
        let lower = word.to_lowercase();
        let mut alike = self.own.iter().filter(|(own, _)| own.to_lowercase() == lower);
        if let Some((_, meaning)) = alike.next() {
            // Codes that differ in case alone are different codes.
            return alike.all(|(_, other)| other == meaning).then_some(*meaning);
        }
        // Spreadsheets write the code 1001 as 1001.0.
        let whole = word.split_once('.').filter(|(whole, zeros)| {
            let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
            digits(whole) && digits(zeros) && zeros.bytes().all(|byte| byte == b'0')
        });
        if let Some((whole, _)) = whole {
            let own = self.own.iter().find(|(own, _)| own == whole);
            return own.map(|(_, meaning)| *meaning);
        }
        let word = loose(word);
        let known = self.known.iter().find(|(known, _)| *known == word);
        known.map(|(_, meaning)| *meaning)
    }

    /// What a code of a class raster or a number attribute means: the words are
    /// the numbers as text, and `7`, `07` and `7.0` are the same number.
    #[must_use]
    pub fn meaning_of_number(&self, code: f64) -> Option<Meaning> {
        let own = self.own.iter().find(|(own, _)| own.parse() == Ok(code));
        own.map(|(_, meaning)| *meaning)
    }

    /// Whether the project gave words of its own.
    #[must_use]
    pub fn given(&self) -> bool {
        !self.own.is_empty()
    }

    /// The CSV file the project's own words were read from.
    #[must_use]
    pub fn file(&self) -> Option<&Path> {
        self.file.as_deref()
    }

    /// The words of a factor when the project gives none.
    #[must_use]
    pub fn usual(factor: &Factor) -> Words {
        let mut known = Vec::new();
        for (index, name) in (0..).zip(factor.kind.classes().unwrap_or_default()) {
            known.push((loose(name), Meaning::Class(index)));
        }
        if Factor::standard("drainage").is_some_and(|drainage| drainage.id == factor.id) {
            for (word, class) in DRAINAGE {
                let meaning = match factor.kind.class_index(class) {
                    Some(index) => Meaning::Class(index),
                    None => Meaning::Missing,
                };
                known.push((word.to_owned(), meaning));
            }
        }
        Words {
            file: None,
            own: Vec::new(),
            known,
        }
    }

    fn add(&mut self, word: &str, meaning: Meaning) -> Result<(), String> {
        let word = word.trim();
        match self.own.iter().find(|(own, _)| own == word) {
            Some((_, other)) if *other != meaning => {
                Err(format!("found {} with two meanings, needed one", quoted(word)))
            }
            Some(_) => Ok(()),
            None => {
                self.own.push((word.to_owned(), meaning));
                Ok(())
            }
        }
    }
}

/// Spellings of the USDA natural drainage classes beside their names (USDA Soil
/// Survey Manual, Agriculture Handbook 18). The two-letter codes are those of
/// soil descriptions: from memory, unverified. One-letter codes are left out:
/// W is water as often as well drained. Subaqueous is water, not ground.
pub(super) const DRAINAGE: [(&str, &str); 19] = [
    ("excessively", "excessively drained"),
    ("excessive", "excessively drained"),
    ("ed", "excessively drained"),
    ("somewhat excessively", "somewhat excessively drained"),
    ("somewhat excessive", "somewhat excessively drained"),
    ("se", "somewhat excessively drained"),
    ("well", "well drained"),
    ("wd", "well drained"),
    ("moderately well", "moderately well drained"),
    ("mw", "moderately well drained"),
    ("somewhat poorly", "somewhat poorly drained"),
    ("somewhat poor", "somewhat poorly drained"),
    ("sp", "somewhat poorly drained"),
    ("poorly", "poorly drained"),
    ("pd", "poorly drained"),
    ("very poorly", "very poorly drained"),
    ("very poor", "very poorly drained"),
    ("vp", "very poorly drained"),
    ("subaqueous", MISSING),
];

/// A name with letter case, hyphens, underscores and double blanks aside.
fn loose(word: &str) -> String {
    let words = word.split([' ', '-', '_', '\t']).filter(|part| !part.is_empty());
    words.collect::<Vec<_>>().join(" ").to_lowercase()
}

pub(super) fn read(table: &Table, factor: Option<&Factor>) -> Option<Words> {
    // Asked for first, so that it is no unknown key whatever the factor is.
    let spot = table.spot_of("words");
    let factor = factor?;
    let mut words = Words::usual(factor);
    let Some(spot) = spot else {
        return Some(words);
    };
    if matches!(factor.kind, Kind::Measured(_)) {
        spot.problem(format!(
            "found `words` for `{}`, which is measured; needed a factor in classes",
            factor.id
        ));
        return None;
    }
    if table.holds_table("words") {
        let items = table.table("words")?.named_items();
        if items.is_empty() {
            spot.problem("found no words, needed at least one (or take `words` out)");
        }
        for item in items {
            let (word, class) = item.value;
            match class.as_str() {
                Some(class) => add(&mut words, &item.spot, factor, word, class),
                None => item
                    .spot
                    .problem(format!("found {}, needed the name of a class", describe(class))),
            }
        }
    } else {
        let written = table.text("words")?;
        let path = existing(&written)?;
        words.file = Some(path.clone());
        word_file::read(&path, &written.spot, factor, |word, class, spot| {
            add(&mut words, spot, factor, word, class);
        });
    }
    Some(words)
}

fn add(words: &mut Words, spot: &Spot, factor: &Factor, word: &str, class: &str) {
    if word.trim().is_empty() {
        spot.problem("found an empty word, needed a word or code of the source");
        return;
    }
    let named = factor.kind.class_index(class).map(Meaning::Class);
    let said_missing = class.trim().eq_ignore_ascii_case(MISSING);
    let meaning = named
        .or(said_missing.then_some(Meaning::Missing))
        .or_else(|| class_index(spot, factor, class).map(Meaning::Class));
    if let Some(Err(text)) = meaning.map(|meaning| words.add(word, meaning)) {
        spot.problem(text);
    }
}
