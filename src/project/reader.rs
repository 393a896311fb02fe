//! Places in the text of a project file, and the problems found there. Knows
//! nothing of TOML.

use std::cell::RefCell;
use std::path::Path;

use super::problem::Problem;

/// The text being read and the problems found in it so far.
pub(super) struct Reader<'t> {
    text: &'t str,
    folder: &'t Path,
    /// Lines were left out because of their syntax: nothing can be called missing.
    pub partial: bool,
    problems: RefCell<Vec<Problem>>,
}

impl<'t> Reader<'t> {
    pub fn new(text: &'t str, folder: &'t Path) -> Reader<'t> {
        Reader {
            text,
            folder,
            partial: false,
            problems: RefCell::default(),
        }
    }

    /// The same reader for a text of which some lines are blanked out.
    pub fn partial(self) -> Reader<'t> {
        Reader {
            partial: true,
            ..self
        }
    }

    pub fn problem_at(&self, at: usize, key: &str, text: String) {
        let (line, column) = place(self.text, at);
        let problem = Problem {
            line,
            column,
            key: key.to_owned(),
            text,
        };
        let mut problems = self.problems.borrow_mut();
        if !problems.contains(&problem) {
            problems.push(problem);
        }
    }

    /// Every problem found, in the order of the file.
    pub fn into_problems(self) -> Vec<Problem> {
        let mut problems = self.problems.into_inner();
        problems.sort();
        problems
    }
}

/// Line and column, from 1, of a byte of the text.
pub(super) fn place(text: &str, at: usize) -> (usize, usize) {
    let bytes = text.as_bytes();
    let before = bytes.get(..at).unwrap_or(bytes);
    let line = before.split(|&byte| byte == b'\n').count();
    let start = before
        .iter()
        .rposition(|&byte| byte == b'\n')
        .map_or(0, |end| end + 1);
    let column = String::from_utf8_lossy(&before[start..]).chars().count() + 1;
    (line, column)
}

/// Where something stands in the file, for problems about it.
#[derive(Clone)]
pub(super) struct Spot<'t> {
    pub reader: &'t Reader<'t>,
    pub at: usize,
    pub key: String,
    /// A place in another file that the key names: `words.csv line 3`.
    pub within: Option<String>,
}

impl Spot<'_> {
    pub fn problem(&self, text: impl Into<String>) {
        let mut text = text.into();
        if let Some(within) = &self.within {
            text = format!("{within}: {text}");
        }
        self.reader.problem_at(self.at, &self.key, text);
    }

    /// The same spot, for a problem at a place in the file named there.
    pub fn within(&self, place: String) -> Self {
        let within = Some(place);
        Spot {
            within,
            ..self.clone()
        }
    }

    /// The folder of the project file.
    pub fn folder(&self) -> &Path {
        self.reader.folder
    }
}

/// A value and its spot.
#[derive(Clone)]
pub(super) struct Found<'t, T> {
    pub value: T,
    pub spot: Spot<'t>,
}

impl<'t, T> Found<'t, T> {
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Found<'t, U> {
        Found {
            value: change(self.value),
            spot: self.spot,
        }
    }
}
