//! What can go wrong between sets of species and zones. Names numbers found and
//! needed; knows no file: whoever reads or writes one adds its name.

use crate::plural::counted;

/// A reason why zones cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ZonesError {
    /// A setting that is no share.
    #[error("`{name}` is {value}: a share from 0 to 1 is needed")]
    NoShare {
        /// The setting.
        name: &'static str,
        /// Its value.
        value: f64,
    },
    /// The site has more cells than exact sums allow.
    #[error(
        "{rows} rows x {cols} columns with {species} species are too many for exact sums: \
         found {} cells, needed at most {most_cells}; a coarser cell size helps",
        u128::from(*rows) * u128::from(*cols)
    )]
    TooManyCells {
        /// Rows of the grid.
        rows: u64,
        /// Columns of the grid.
        cols: u64,
        /// Species of the catalogue.
        species: usize,
        /// Largest number of cells for that many species.
        most_cells: u64,
    },
    /// A row does not fit the grid.
    #[error("a row ends at column {found}, needed {needed}")]
    RowLength {
        /// One past its last column.
        found: u32,
        /// Columns of the grid.
        needed: u32,
    },
    /// More rows came than the grid has.
    #[error("{} came, needed at most {needed}", counted(*found, "row"))]
    MoreRows {
        /// Rows that came.
        found: usize,
        /// Rows of the grid.
        needed: usize,
    },
    /// Fewer rows came than the grid has.
    #[error("{} came, needed {needed}", counted(*found, "row"))]
    RowsMissing {
        /// Rows that came.
        found: usize,
        /// Rows of the grid.
        needed: usize,
    },
    /// Two tables that belong together differ in size.
    #[error("{what}: found {found}, needed {needed}")]
    SizesDiffer {
        /// What was counted.
        what: &'static str,
        /// Found.
        found: usize,
        /// Needed.
        needed: usize,
    },
    /// A number of zones that merging cannot reach.
    #[error(
        "{} asked, needed at least {smallest}: what is left does not merge further without \
         losing lists of species (setting keep) or has no neighbour",
        counted(*asked, "zone")
    )]
    TooFewZones {
        /// Number asked.
        asked: u32,
        /// Smallest number possible.
        smallest: u32,
    },
    /// A line of a merge log that cannot be read.
    #[error("line {line}: found {found}, needed {needed}")]
    MergeLog {
        /// Line, from 1.
        line: usize,
        /// What stands there.
        found: String,
        /// What should.
        needed: String,
    },
}
