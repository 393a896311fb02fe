//! What shows only when the rows of a catalogue are held against one another, against
//! what is known of traits, or against the catalogue beneath. Rows come in as they were
//! read; problems go out, each with its line.

mod condition_cover;
mod contradictions;
pub(super) mod joined;
pub(super) mod rows;
pub(super) mod traits;

#[cfg(test)]
mod joined_tests;

pub use contradictions::{Contradiction, contradictions};
