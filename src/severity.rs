//! How grave it is what was found out about the user's files. Knows no file and no fault.

use std::fmt;

use serde::Serialize;

/// How grave a fault is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// The work cannot go on, or what comes of it would be wrong.
    Error,
    /// The work goes on; people should know.
    Warning,
}

/// The word before what is told: `warning`.
impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
        })
    }
}
