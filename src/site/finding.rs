//! What is found out about layers on the way to the grid: errors that stop a run
//! and warnings that go with it.

use serde::Serialize;
use thiserror::Error;

use super::GeometryError;
use crate::gis::{self, GisError, TransformTold};
use crate::grid::{Crs, GridError};
use crate::severity::Severity;

/// One thing found out about one layer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// What the project file calls the layer: `factors.canopy`.
    pub layer: String,
    /// What was found and what is needed.
    pub text: String,
}

/// Findings as they gather.
#[derive(Debug, Default)]
pub struct Findings {
    list: Vec<Finding>,
}

impl Findings {
    /// Adds an error.
    pub fn error(&mut self, layer: &str, text: impl Into<String>) {
        self.add(Severity::Error, layer, text.into());
    }

    /// Adds a warning.
    pub fn warn(&mut self, layer: &str, text: impl Into<String>) {
        self.add(Severity::Warning, layer, text.into());
    }

    /// A layer that several factors use is told once.
    fn add(&mut self, severity: Severity, layer: &str, text: String) {
        let finding = Finding {
            severity,
            layer: layer.to_owned(),
            text,
        };
        if !self.list.contains(&finding) {
            self.list.push(finding);
        }
    }

    /// The value of a result; what went wrong becomes an error of the layer.
    pub fn take<T, E: std::fmt::Display>(&mut self, layer: &str, result: Result<T, E>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(error) => {
                self.error(layer, error.to_string());
                None
            }
        }
    }

    /// Warns where only a transformation of unknown accuracy could be had.
    pub fn warn_of_ballpark(&mut self, layer: &str, told: &TransformTold) {
        if told.ballpark {
            self.warn(
                layer,
                format!(
                    "no exact way from {} to {} is known here: a ballpark one is used, which can be metres off; install the datum's grid or give the layer in the grid's CRS",
                    told.from, told.to
                ),
            );
        }
    }

    /// Warns where the project's word for a layer's CRS goes against the file's: coordinates
    /// are taken as they stand and not brought over.
    pub fn warn_of_other_crs(&mut self, layer: &str, path: &str, own: Option<&Crs>, given: &Crs) {
        if let Some(own) = own.filter(|own| !gis::same_system(own, given)) {
            self.warn(
                layer,
                format!(
                    "{path} says it is in {}, the project's `crs` says {}, and its coordinates are taken to be in the latter; leave `crs` out if the file is right",
                    own.label(),
                    given.label()
                ),
            );
        }
    }

    /// Adds all findings of another gathering.
    pub fn take_over(&mut self, others: Findings) {
        for finding in others.list {
            self.add(finding.severity, &finding.layer, finding.text);
        }
    }

    /// Whether anything stops the run.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.list
            .iter()
            .any(|finding| finding.severity == Severity::Error)
    }

    /// All findings, in the order in which they came.
    #[must_use]
    pub fn into_list(self) -> Vec<Finding> {
        self.list
    }
}

/// Why a site cannot be opened or read.
#[derive(Debug, Error)]
pub enum SiteError {
    /// Problems with layers, all that were found.
    #[error("{}", told(findings))]
    Problems {
        /// Errors and warnings.
        findings: Vec<Finding>,
    },
    /// A layer that could be opened cannot be read.
    #[error("{layer}: {source}")]
    Read {
        /// What the project file calls the layer.
        layer: String,
        /// What GDAL said.
        source: Box<GisError>,
    },
    /// The geometries of a layer cannot be used.
    #[error("{layer}: {source}")]
    Geometry {
        /// What the project file calls the layer.
        layer: String,
        /// What is wrong.
        source: GeometryError,
    },
    /// A tile asked for after the last pass.
    #[error("the layers were let go, so that no cell can be read any more")]
    LayersGone,
    /// No grid over the area.
    #[error("no grid can be laid over the area: {0}")]
    Grid(#[from] GridError),
}

fn told(findings: &[Finding]) -> String {
    let errors = findings
        .iter()
        .filter(|finding| finding.severity == Severity::Error);
    let lines: Vec<String> = errors
        .map(|finding| format!("{}: {}", finding.layer, finding.text))
        .collect();
    lines.join("\n")
}
