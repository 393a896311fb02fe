//! The catalogue: which species there are, what each stands, and where every
//! value comes from. Reads spreadsheets; knows no layer and no grid.

mod catalogue;
mod checks;
mod error;
mod flora_region;
mod import;
mod limits;
mod open;
mod overlay;
mod problem;
mod profile;
mod reading;
mod response;
pub mod rules;
mod source;
mod source_counts;
mod starter;
mod text;
mod traits;

#[cfg(test)]
mod sample_tests;
#[cfg(test)]
mod threshold_tests;

pub use catalogue::Catalogue;
pub use checks::{Contradiction, contradictions};
pub use error::SpeciesError;
pub use flora_region::{FloristicQuality, Standing, floristic_quality};
pub use import::{Imported, import};
pub use limits::add_limits;
pub use problem::Problem;
pub use profile::{Condition, Form, Holds, Opinion, SetAside, Species, Trait};
pub use reading::{CatalogueBytes, CataloguePaths, RangeRow, read_range_table};
pub use response::{Curve, Range, Response, ResponseError, Threshold};
pub use source::{Source, SourceKind};
pub use source_counts::{Counts, SourceCounts};
pub use starter::STARTER_FILES;
pub use text::{Numbers, parse_condition, parse_response, print_condition, print_response};
pub use traits::{
    KNOWN_TRAITS, KnownTrait, MONTHS, Part, Values, abbreviated, full_name, month_spans, number_span,
    short_number, told_note, trait_label, trait_shown,
};
