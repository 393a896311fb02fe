//! groundfit tells which plants will live where on a site: it brings soils,
//! canopy, terrain and roads to one grid, rates each cell for each species of a
//! catalogue, and draws zones with their species lists.

#![cfg_attr(test, allow(clippy::float_cmp, reason = "tests compare exact results"))]

pub mod factor;
pub mod free_memory;
pub mod gis;
pub mod grid;
pub mod in_order;
pub mod nearest;
pub mod plural;
pub mod score;
pub mod severity;
pub mod soil;

pub mod project;
pub mod site;
pub mod species;

pub mod rating;
pub mod zones;

pub mod range;
pub mod report;

pub mod output;

pub mod error;
pub mod run;

pub mod cli;
