//! The catalogue: which species there are, what each stands, and where every
//! value comes from. Reads spreadsheets; knows no layer and no grid.

mod catalogue;
mod checks;
mod condition_cover;
mod condition_text;
mod contradictions;
mod decoding;
mod error;
mod flora_region;
mod import;
mod joined_checks;
mod known_traits;
mod limits;
mod numbers;
mod open;
mod overlay;
mod places;
mod problem;
mod profile;
mod quoting;
mod range_table;
mod read_catalogue;
mod read_sources;
mod read_species;
mod read_tolerances;
mod read_traits;
mod response;
mod response_text;
pub mod rules;
mod source;
mod source_counts;
mod starter;
mod table;
mod trait_checks;
mod trait_text;
mod trait_values;

#[cfg(test)]
mod catalogue_tests;
#[cfg(test)]
mod joined_checks_tests;
#[cfg(test)]
mod sample_tests;
#[cfg(test)]
mod starter_tests;
#[cfg(test)]
mod table_tests;
#[cfg(test)]
mod text_tests;
#[cfg(test)]
mod threshold_tests;

pub use catalogue::Catalogue;
use condition_cover::{conditions_overlap, uncovered};
pub use condition_text::{parse_condition, print_condition};
pub use contradictions::{Contradiction, contradictions};
pub use error::SpeciesError;
pub use flora_region::{FloristicQuality, Standing, floristic_quality};
pub use import::{Imported, import};
pub use known_traits::{KNOWN_TRAITS, KnownTrait, Part, Values};
pub use limits::add_limits;
pub use numbers::Numbers;
pub use places::{abbreviated, full_name};
pub use problem::Problem;
pub use profile::{Condition, Form, Holds, Opinion, SetAside, Species, Trait};
pub use range_table::{RangeRow, read_range_table};
pub use read_catalogue::{CatalogueBytes, CataloguePaths};
pub use response::{Curve, Range, Response, ResponseError, Threshold};
pub use response_text::{parse_response, print_response};
pub use source::{Source, SourceKind};
pub use source_counts::{Counts, SourceCounts};
pub use starter::STARTER_FILES;
pub use trait_text::{short_number, told_note, trait_label, trait_shown};
pub use trait_values::{MONTHS, month_spans, number_span};
