//! Road salt: what traffic throws beside the pavement, and what gathers in the root
//! zone. In come roads with their rates, and settings; out go grams and bands of spray
//! and a screening estimate of soil salinity, window by window. It knows no species.

pub mod decay;
pub mod field;
pub mod grade;
pub mod line_source;
pub mod opening;
pub mod reading;
pub mod roads;
pub mod share_table;
mod soil_by_soil;
mod source;

pub use field::SaltField;
