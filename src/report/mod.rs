//! One page for people: map, zones, species, charts, field sheet, method and run record in
//! a single file that fetches nothing. A plain model of numbers and texts comes in, HTML
//! goes out. Does not know where they came from.

mod assets;
mod data;
mod error;
mod map_data;
mod outlines;
mod page;
mod picture;
mod relief;
mod zone_data;

pub use data::{
    FactorData, GridData, LATTICE, OpinionData, PageData, SiteAreasData, SpeciesAreasData, SpeciesData,
    SpreadData, ValueData,
};
pub use error::ReportError;
pub use map_data::{CausesData, LineData, MapData, ReliefData};
pub use outlines::{Course, Ring};
pub use page::{FileRow, LayerRow, Page};
pub use relief::{Heights, relief};
pub use zone_data::{GroundData, StandingData, ZoneColumns};
