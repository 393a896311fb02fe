//! The files of a catalogue, from their bytes to rows, and all that is wrong with them
//! told by line. Tables of species by region are read in the same way. What rows say
//! when they are held against one another is looked at in `checks`.

mod catalogue;
mod decoding;
mod range_table;
mod sources;
mod species;
mod table;
mod tolerances;
mod traits;

#[cfg(test)]
mod catalogue_tests;
#[cfg(test)]
mod table_tests;

pub use catalogue::{CatalogueBytes, CataloguePaths};
pub(super) use catalogue::{Extent, read_bytes};
pub use range_table::{RangeRow, read_range_table};
pub(super) use sources::SourceRow;
pub(super) use species::SpeciesRow;
pub(super) use table::{Row, Table, plain};
pub(super) use tolerances::OpinionRow;
