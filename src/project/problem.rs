//! What is wrong with a project file: one problem a line, and the error that
//! carries them all. Knows no section.

use std::fmt;
use std::path::PathBuf;

use crate::plural::counted;

/// One thing wrong with a project file, and where it stands.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Problem {
    /// The line, counted from 1.
    pub line: usize,
    /// The character in the line, counted from 1.
    pub column: usize,
    /// The dotted key: `factors.drainage.words`; empty for the file as a whole.
    pub key: String,
    /// What was found and what was needed.
    pub text: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: ", self.line, self.column)?;
        if !self.key.is_empty() {
            write!(f, "{}: ", self.key)?;
        }
        f.write_str(&self.text)
    }
}

/// Why a project file could not be used.
#[derive(Debug, thiserror::Error)]
pub enum ProjectError {
    /// The file could not be read at all.
    #[error("project file {} could not be read", path.display())]
    Unreadable {
        /// The project file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file was read and has problems; the message lists all of them.
    #[error("{}", list(path, problems))]
    Problems {
        /// The project file.
        path: PathBuf,
        /// Every problem, in the order of the file.
        problems: Vec<Problem>,
    },
}

fn list(path: &std::path::Path, problems: &[Problem]) -> String {
    use std::fmt::Write as _;

    let mut text = format!(
        "{} in project file {}",
        counted(problems.len(), "problem"),
        path.display()
    );
    for problem in problems {
        // Writing to a string cannot fail.
        let _ = write!(text, "\n  {}:{problem}", path.display());
    }
    text
}
