//! One page for people: map, zones, species, charts, field sheet, method and run record in
//! a single file that fetches nothing. A plain model of numbers and texts comes in, HTML
//! goes out. Does not know where they came from.

mod assets;
mod data;
mod error;
mod outlines;
mod page;
mod picture;
mod relief;

pub use data::{
    CausesData, FactorData, GridData, GroundData, LATTICE, LineData, MapData, OpinionData, PageData,
    ReliefData, SiteAreasData, SpeciesAreasData, SpeciesData, SpreadData, StandingData, ValueData,
    ZoneColumns,
};
pub use error::ReportError;
pub use outlines::{Course, Ring};
pub use page::{FileRow, LayerRow, Page};
pub use relief::{Heights, relief};
