//! Why a layer's geometries cannot be brought to the grid. Features are named by
//! their position in what was given; the caller knows what the user calls them.

use thiserror::Error;

use crate::plural::{counted, one_or_many};

/// Why geometries cannot be burned or measured from.
#[derive(Debug, Error, PartialEq)]
pub enum GeometryError {
    /// Coordinates that are no numbers, as a failed transformation leaves them.
    #[error(
        "{} {} coordinates that are not finite, the first is number {}: finite coordinates are needed",
        counted(features.len(), "feature"),
        one_or_many(features.len(), "has", "have"),
        features.first().unwrap_or(&0)
    )]
    NotFinite {
        /// Positions of all such features, in order.
        features: Vec<usize>,
    },
    /// More than can be numbered.
    #[error("{found} {what}: at most {most} can be numbered")]
    TooMany {
        /// What there is too much of.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many there can be.
        most: usize,
    },
    /// A reach that is no length.
    #[error("a reach of {reach_m} m: a number of 0 or more is needed")]
    Reach {
        /// The reach asked for.
        reach_m: f64,
    },
    /// Not one half width for each feature.
    #[error("{} for {}: one for each is needed",
        counted(*found, "half width"),
        counted(*features, "feature")
    )]
    HalfWidths {
        /// How many features there are.
        features: usize,
        /// How many half widths were given.
        found: usize,
    },
    /// Widths that are no lengths.
    #[error(
        "{} {} a half width with setback that is no finite length of 0 m or more, the first is number {}",
        counted(features.len(), "feature"),
        one_or_many(features.len(), "has", "have"),
        features.first().unwrap_or(&0)
    )]
    HalfWidth {
        /// Positions of all such features, in order.
        features: Vec<usize>,
    },
}
