//! Why it cannot be told where species are documented.

use thiserror::Error;

/// Why the section `[range]` of a project cannot be used.
#[derive(Debug, Error, PartialEq, Eq)]
pub enum RangeError {
    /// Faults of the table, the regions or the records, all of them.
    #[error("{}", problems.join("\n"))]
    Problems {
        /// What was found and what is needed, each with the key of the project.
        problems: Vec<String>,
    },
}

/// What is found out on the way: faults that stop a run, and what people should know.
#[derive(Debug, Default)]
pub(super) struct Found {
    pub problems: Vec<String>,
    pub warnings: Vec<String>,
}

impl Found {
    /// The value, or nothing after the fault is noted.
    pub fn take<T, E: std::fmt::Display>(&mut self, key: &str, result: Result<T, E>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(error) => {
                self.problems.push(format!("{key}: {error}"));
                None
            }
        }
    }

    pub fn problem(&mut self, key: &str, text: &str) {
        self.problems.push(format!("{key}: {text}"));
    }

    pub fn warn(&mut self, key: &str, text: &str) {
        self.warnings.push(format!("{key}: {text}"));
    }
}
