//! The commands of the program, one a file. The only place that prints.

pub mod new;
pub mod species;
