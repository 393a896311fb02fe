//! Tolerance against ground: the score, class and limiting factors of every
//! species in every cell. What comes in is checked already: factor values as
//! rasters, profiles from the catalogue. What goes out are sets of species, score
//! bytes and explanations. Knows no file and no polygon.
//!
//! `question`, `answer`, `rule` and `rating` say what a rating means, one cell and
//! one species at a time; `axis`, `table` and `cells` say the same for whole rows
//! of cells and all species at once, and are tested against the former.

mod answer;
mod axis;
mod cells;
mod needed;
mod question;
#[expect(clippy::module_inception, reason = "the type bears the folder's name")]
mod rating;
mod rule;
mod table;

pub use answer::{Answer, Gap, Silence};
pub use cells::{CellRater, RatedRows, RatingError, combine};
pub use needed::{Needs, found_text};
pub use question::{Question, Questions, RatedFactor};
pub use rating::{Rating, State, rate};
pub use rule::Settings;
