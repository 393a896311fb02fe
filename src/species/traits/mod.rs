//! Traits that the program knows by name: which there are, what their values may be, and
//! how people read them.

mod known_traits;
mod places;
mod text;
pub(super) mod values;

pub use known_traits::{KNOWN_TRAITS, KnownTrait, Part, Values};
pub use places::{abbreviated, full_name};
pub use text::{short_number, told_note, trait_label, trait_shown};
pub use values::{MONTHS, month_spans, number_span};
