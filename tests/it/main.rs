//! The program and the library from outside: whole runs on the sample site and on
//! made-up ones, bad input, aborted runs, and input that nobody would write.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::float_cmp,
    reason = "functions outside the test functions, and exact values, are tests too"
)]

mod aborted_runs;
mod bad_catalogues;
mod bad_layers;
mod bad_outputs;
mod bad_projects;
mod catalogue_mutations;
mod commands;
mod limits;
mod merge_log_mutations;
mod mutation;
mod other_grids;
mod other_numbers;
mod output_files;
mod own_plants;
mod parcel;
mod program;
mod proximity;
mod range;
mod raster_mutations;
mod report;
mod road_salt;
mod same_bytes;
mod sample_ground;
mod scenario;
mod site_algorithms;
mod small_site;
mod soil_salt;
mod species_commands;
mod stored_output_mutations;
mod sunlight;
mod terrain;
mod trade;
mod vector_mutations;
mod whole_job;
