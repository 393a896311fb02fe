//! The only door to GDAL. In come paths, grids and plain values, out go files and
//! what was read from them; no GDAL handle leaves. Does not know what the values
//! mean: no species, no zone.

mod error_trap;
mod geopackage;
mod geotiff;
mod write_error;

pub use geopackage::{Column, ColumnKind, GeoPackageWriter, PolygonRow, TableText, Value, count_rows};
pub use geotiff::{RatingsFacts, RatingsWriter, inspect_ratings};
pub use write_error::WriteError;

#[cfg(test)]
mod full_disk_tests;
#[cfg(test)]
pub(crate) mod read_table;
