//! The only door to GDAL: what files hold, coordinate reference systems, reading
//! rasters onto a grid and features into a system, writing files. Nodata, masks,
//! scale, offset and axis order are settled here once; what comes out knows what is
//! missing. Handles serve one thread at a time. What layers mean is not
//! known: no species, no zone.

mod affine;
mod attribute_table;
mod c_interface;
mod cell_area;
mod chunks;
mod crs;
mod error;
mod features;
mod field_values;
mod filter;
mod geometry;
mod geopackage;
mod geotiff;
mod messages;
mod plain_cells;
mod plain_ring;
mod raster_file;
mod raster_reader;
mod raster_source;
mod sent;
mod shapes;
mod source_files;
mod table_row;
mod tiles;
mod transform;
mod vector_file;
mod warp;
mod write_error;

use affine::Affine;
pub use attribute_table::{TableQuery, read_rows};
pub use c_interface::give_memory_back;
pub use cell_area::cell_areas;
pub use crs::{CrsFacts, coordinates_doubt, crs_facts, crs_from_text, lon_lat, same_system, utm_zone_for};
pub use error::GisError;
pub use features::{Feature, Features, Repair, VectorQuery, read_features, read_features_as};
pub use field_values::FieldValue;
pub use geopackage::{Column, ColumnKind, GeoPackageWriter, TableText, count_rows};
pub use geotiff::{RatingsFacts, RatingsWriter, inspect_ratings};
pub use messages::start;
pub use raster_file::{BandFacts, Colour, RasterFile, inspect_raster};
pub use raster_reader::RasterReader;
pub use raster_source::RasterSource;
pub use source_files::files_of;
pub use table_row::{Row, Value};
pub use transform::{Transform, TransformTold};
pub use vector_file::{FieldFacts, LayerFacts, VectorFile, inspect_vector};
pub use warp::Resampling;
pub use write_error::WriteError;

#[cfg(test)]
mod full_disk_tests;
#[cfg(test)]
mod raster_tests;
#[cfg(test)]
pub(crate) mod read_table;
#[cfg(test)]
mod vector_tests;
