//! Responses and conditions as text, read and printed, with numbers as spreadsheets
//! write them. Knows no file.

mod condition;
mod numbers;
mod quoting;
mod response;

#[cfg(test)]
mod tests;

pub use condition::{parse_condition, print_condition};
pub use numbers::Numbers;
pub(super) use quoting::split;
pub(super) use response::begins_a_response;
pub use response::{parse_response, print_response};
