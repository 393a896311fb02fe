//! Zones to polygons that share their borders point for point. Zone labels come
//! in row by row as runs of cells; out go, for each zone, one outline in map
//! coordinates, one in longitude and latitude as whole numbers of 1e-7 degree,
//! and its place. Knows no coordinate system: projecting comes in as a function.
//!
//! The borders are cut into arcs between the corners where three or four of them
//! meet. Everything is done once to an arc (simplified, projected, rounded), so
//! two neighbours cannot drift apart.
//!
//! # Examples
//! ```
//! use groundfit::grid::{Crs, Extent, Grid};
//! use groundfit::zones::outlines::OutlineBuilder;
//!
//! let crs = Crs { wkt: String::new(), name: "plane".into(), code: None };
//! let extent = Extent { west: 0.0, south: 0.0, east: 40.0, north: 20.0 };
//! let grid = Grid::covering(&extent, 10.0, crs)?;
//!
//! let mut builder = OutlineBuilder::new(2, 4);
//! builder.push_row(&[(1, 1), (4, 2)])?; // one cell of zone 1, three of zone 2
//! builder.push_row(&[(3, 1), (4, 2)])?;
//! let arcs = builder.finish()?;
//! let outlines = arcs.simplified(&grid, 0.0).outlines(&grid);
//! assert_eq!(outlines.len(), 2);
//! assert!(outlines[1].holes.is_empty());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod arcs;
mod bends;
mod chains;
mod corner_queue;
mod crossings;
mod densify;
mod error;
mod geographic;
mod lattice;
mod place;
mod rings;
mod runs;
mod shared;
mod simplify;
mod standing;
mod sweep;
mod vertex;
mod vertex_index;
mod vertices;
mod zone_outlines;

#[cfg(test)]
mod drawing;
#[cfg(test)]
mod tests;

pub use arcs::Arcs;
pub use error::{GeographicError, OutlineError};
pub use geographic::{DEGREE_PARTS, GeographicLines, GeographicOutline, GeographicRing};
pub use place::{AnchorFinder, stable_id};
pub use shared::SharedBorders;
pub use simplify::{SimplifiedArcs, ZoneAreaChange};
pub use sweep::OutlineBuilder;
pub use vertex::{Arc, Corner};
pub use zone_outlines::{Courses, ZoneOutlines};
