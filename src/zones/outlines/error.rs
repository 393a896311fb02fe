//! What can be wrong with zone labels, and with bringing outlines to longitude
//! and latitude.

use thiserror::Error;

use crate::plural::counted;

/// Why no outlines can be drawn from rows of zone labels.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum OutlineError {
    /// The runs of a row do not end one after the other.
    #[error(
        "row {row} of the zone labels: a run ends at column {end_col} after one that ends at {before}; ends must rise"
    )]
    RunOrder {
        /// The row, from 0.
        row: u32,
        /// End of the earlier run.
        before: u32,
        /// End of the later run.
        end_col: u32,
    },
    /// The runs of a row do not cover its columns.
    #[error("row {row} of the zone labels: the runs end at column {found}; the grid has {needed} columns")]
    RunEnd {
        /// The row, from 0.
        row: u32,
        /// Where the last run ends.
        found: u32,
        /// Number of columns.
        needed: u32,
    },
    /// More or fewer rows than the grid has.
    #[error("{} of zone labels came in; the grid has {}", counted(*found, "row"), counted(*needed, "row"))]
    RowCount {
        /// Rows that came in.
        found: u32,
        /// Rows of the grid.
        needed: u32,
    },
    /// The borders turn more often than corners can be counted.
    #[error(
        "the borders of the zones turn at more than {limit} corners by row {row}; larger zones or a larger cell are needed"
    )]
    TooManyCorners {
        /// The row, from 0.
        row: u32,
        /// The greatest number.
        limit: u32,
    },
    /// Some labels are not one piece.
    #[error("each zone label from 1 up must be one set of cells joined by their sides: {}", pieces_in_words(.pieces))]
    NotOnePiece {
        /// Label and number of its pieces, by label.
        pieces: Vec<(u32, usize)>,
    },
}

fn pieces_in_words(pieces: &[(u32, usize)]) -> String {
    let each: Vec<String> = pieces
        .iter()
        .map(|(label, count)| format!("label {label} has {}", counted(*count, "piece")))
        .collect();
    each.join(", ")
}

/// Why outlines cannot be brought to longitude and latitude.
#[derive(Debug, Error)]
pub enum GeographicError<E: std::error::Error + 'static> {
    /// The function that projects failed.
    #[error("the zone outlines cannot be brought to longitude and latitude")]
    Project {
        /// What it said.
        source: E,
    },
    /// A point came back as no place on the earth.
    #[error(
        "map position x {x}, y {y} became longitude {lon}, latitude {lat}; -180 to 180 and -90 to 90 are needed"
    )]
    NotOnEarth {
        /// Map x.
        x: f64,
        /// Map y.
        y: f64,
        /// Longitude that came back.
        lon: f64,
        /// Latitude that came back.
        lat: f64,
    },
    /// The site lies on both sides of the meridian of 180 degrees, or holds a pole.
    #[error(
        "the zones reach from longitude {west} to {east}: the site crosses the meridian of 180 degrees or holds a pole, and outlines are not split there; a site on one side of it is needed"
    )]
    Antimeridian {
        /// Least longitude.
        west: f64,
        /// Greatest longitude.
        east: f64,
    },
    /// An edge stays crooked however often it is cut.
    #[error(
        "the border from map position x {x}, y {y} is still more than {tolerance_m} m off after {pieces} cuts: the coordinate system is not smooth there"
    )]
    NotSmooth {
        /// Map x of the edge's start.
        x: f64,
        /// Map y of the edge's start.
        y: f64,
        /// How near the chord has to be.
        tolerance_m: f64,
        /// Pieces the edge was cut into.
        pieces: u32,
    },
    /// Borders still cross after every arc went back to its unsimplified course.
    #[error(
        "{places} borders of zones still meet where they should not after rounding to 1e-7 degree, the first near longitude {lon}, latitude {lat}; the cell of {cell_m} m is too small for that rounding"
    )]
    StillCrossing {
        /// Number of pairs of arcs or of rings.
        places: usize,
        /// Longitude of the first.
        lon: f64,
        /// Latitude of the first.
        lat: f64,
        /// Side of a cell.
        cell_m: f64,
    },
}
