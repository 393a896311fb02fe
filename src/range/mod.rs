//! Where species are documented. In come a table of species by region, the polygons of
//! the regions and points of known records; out goes, for each zone and species, whether
//! it is documented there or in an adjoining region, and how far the nearest record is.
//! Maps of records follow the collectors, so nothing here says that a species does not
//! suit. Knows no rating.

mod adjoining;
mod error;
mod layers;
mod names;
#[expect(clippy::module_inception, reason = "the type bears the folder's name")]
mod range;
mod records;
mod regions;
mod standing;
mod table;
mod zone_cells;
mod zone_ranges;

pub use error::RangeError;
pub use range::{Range, RangeFacts};
pub use standing::{Documented, NearestRecord, RecordWords, Standing};
pub use zone_cells::ZoneCells;
pub use zone_ranges::ZoneRanges;
