//! The catalogue: which species there are, what each stands, and where every
//! value comes from. Reads spreadsheets; knows no layer and no grid.

mod profile;
mod response;

pub use profile::{Condition, Form, Holds, Opinion, Species, Trait};
pub use response::{Curve, Range, Response, ResponseError, Threshold};
