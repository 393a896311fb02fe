//! Tolerance against ground: the score, class and limiting factors of every
//! species in every cell. What comes in is checked already: factor values as
//! rasters, profiles from the catalogue. What goes out are sets of species, score
//! bytes and explanations. Knows no file and no polygon.
//!
//! `question`, `answer`, `rule` and `rating` say what a rating means, one cell and
//! one species at a time; `axis`, `soil_cuts`, `bins`, `table`, `cells`, `rated_row` and `as_rated` say
//! the same for whole rows of cells and all species at once, and are tested against the
//! former.

mod answer;
mod as_rated;
mod axis;
mod bins;
mod cells;
mod needed;
mod question;
mod rated_row;
#[expect(clippy::module_inception, reason = "the type bears the folder's name")]
mod rating;
mod response_cuts;
mod rule;
mod soil_cuts;
mod soils;
mod stretches;
mod table;

pub use answer::{Answer, Gap, Silence};
pub use as_rated::AsRated;
pub use cells::{CellRater, RatingError, WORD};
pub use needed::{Needs, found_text};
pub use question::{Question, Questions, RatedFactor};
pub use rated_row::{RatedRow, SaidApart, Stretch};
pub use rating::{Rating, State, rate};
pub use rule::Settings;
pub use soils::{SoilState, SoilVerdict};
