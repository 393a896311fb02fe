//! Results to files: GeoJSON, `GeoPackage`, CSV, ratings and the run record, in one
//! folder that is there whole or not at all. In come zones with their outlines,
//! factors and species, out go files. Does not know how a rating came about.

pub mod cautions;
mod csv;
mod date;
mod earlier_run;
mod error;
mod folder;
mod geojson;
mod geopackage;
mod json_lines;
mod number;
pub mod order;
pub mod plant_cautions;
mod result;
mod rows;
mod run_record;
mod source_files;
mod style;
mod verify;
pub mod words;
mod zone_values;

pub use csv::write_csv;
pub use date::{file_date, now_text, source_date_epoch, utc_text};
pub use error::OutputError;
pub use folder::{Finished, PartialFolder};
pub use geojson::{write_geojson, write_geojson_to};
pub use geopackage::write_geopackage;
pub use json_lines::{read_json_lines, write_json_lines};
pub use result::{FoundAndNeeded, Outlines, SiteResult, ZoneSpeciesText, factors_counted};
pub use rows::{MOST_ROWS, RowChoice, ZoneSpeciesRow, zone_species_rows};
pub use run_record::{
    AreaByCause, Counts, FidelityRecord, GridRecord, LayerRecord, Measured, OutputRecord, Program,
    RangeRecord, RuleRecord, RunRecord, SCHEMA_VERSION, StageSeconds, memory_bytes, peak_memory_bytes,
};
pub use source_files::{FileFacts, InputRecord};
pub use verify::Expected;

#[cfg(test)]
mod example_site;
