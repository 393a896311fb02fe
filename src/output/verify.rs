//! Opens finished files again and counts what stands in them.

use std::fmt;
use std::fs::{self, File};
use std::io::{BufReader, Read};
use std::path::Path;

use geojson::Feature;
use serde::Deserialize;
use serde::de::{Deserializer, SeqAccess, Visitor};

use super::OutputError;
use crate::gis::{count_rows, inspect_ratings};
use crate::plural::counted;

/// What a finished file must hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Expected {
    /// A GeoJSON file with so many features.
    GeoJson {
        /// Number of features.
        features: u64,
    },
    /// A `GeoPackage` with these rows.
    GeoPackage {
        /// Rows of `zones`.
        zones: u64,
        /// Rows of `zone_species`.
        zone_species: u64,
    },
    /// A CSV file with so many rows under its header.
    Csv {
        /// Number of rows.
        rows: u64,
    },
    /// A file of ratings.
    Ratings {
        /// Number of bands.
        bands: usize,
        /// Number of rows.
        rows: usize,
        /// Number of columns.
        cols: usize,
    },
    /// One JSON document.
    Json,
    /// Any file that is not empty.
    File,
}

impl Expected {
    /// Opens the file and counts.
    ///
    /// # Errors
    /// The file cannot be read or holds something else.
    pub fn verify(&self, path: &Path) -> Result<(), OutputError> {
        let (found, needed) = match *self {
            Expected::GeoJson { features } => (
                counted(count_features(path)?, "feature"),
                counted(features, "feature"),
            ),
            Expected::GeoPackage { zones, zone_species } => {
                let rows = count_rows(path)?;
                let of = |name: &str| {
                    rows.iter()
                        .find(|(table, _)| table == name)
                        .map_or(0, |row| row.1)
                };
                (
                    zones_and_rows(of("zones"), of("zone_species")),
                    zones_and_rows(zones, zone_species),
                )
            }
            Expected::Csv { rows } => (counted(count_csv(path)?, "row"), counted(rows, "row")),
            Expected::Ratings { bands, rows, cols } => {
                let facts = inspect_ratings(path)?;
                (
                    bands_of_cells(facts.band_names.len(), facts.rows, facts.cols),
                    bands_of_cells(bands, rows, cols),
                )
            }
            Expected::Json => {
                let text = fs::read(path).map_err(OutputError::read(path))?;
                match serde_json::from_slice::<serde_json::Value>(&text) {
                    Ok(_) => return Ok(()),
                    Err(error) => (format!("no JSON ({error})"), "one JSON document".to_owned()),
                }
            }
            Expected::File => {
                let mut first = [0];
                let read = File::open(path).and_then(|mut file| file.read(&mut first));
                match read.map_err(OutputError::read(path))? {
                    0 => ("nothing".to_owned(), "a file".to_owned()),
                    _ => return Ok(()),
                }
            }
        };
        if found == needed {
            return Ok(());
        }
        Err(OutputError::NotAsWritten {
            path: path.to_owned(),
            found,
            needed,
        })
    }
}

fn zones_and_rows(zones: u64, rows: u64) -> String {
    format!(
        "{} and {} of species",
        counted(zones, "zone"),
        counted(rows, "row")
    )
}

fn bands_of_cells(bands: usize, rows: usize, cols: usize) -> String {
    format!("{} of {rows} x {cols} cells", counted(bands, "band"))
}

/// The members of a collection that are counted; the rest is passed over.
#[derive(Deserialize)]
struct Collection {
    #[serde(rename = "type")]
    kind: String,
    #[serde(deserialize_with = "count_elements")]
    features: u64,
}

/// Reads one feature after the other, each as a whole, and keeps none.
fn count_elements<'de, D: Deserializer<'de>>(deserializer: D) -> Result<u64, D::Error> {
    struct Count;
    impl<'de> Visitor<'de> for Count {
        type Value = u64;

        fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
            f.write_str("a list of features")
        }

        fn visit_seq<A: SeqAccess<'de>>(self, mut features: A) -> Result<u64, A::Error> {
            let mut count = 0;
            while features.next_element::<Feature>()?.is_some() {
                count += 1;
            }
            Ok(count)
        }
    }
    deserializer.deserialize_seq(Count)
}

fn count_features(path: &Path) -> Result<u64, OutputError> {
    let file = File::open(path).map_err(OutputError::read(path))?;
    let failed = |reason| OutputError::Read {
        path: path.to_owned(),
        reason,
    };
    let collection: Collection =
        serde_json::from_reader(BufReader::new(file)).map_err(|error| failed(error.to_string()))?;
    if collection.kind == "FeatureCollection" {
        Ok(collection.features)
    } else {
        Err(failed(format!(
            "it is a {}, no FeatureCollection",
            collection.kind
        )))
    }
}

fn count_csv(path: &Path) -> Result<u64, OutputError> {
    let failed = |error: ::csv::Error| OutputError::read(path)(error.into());
    let mut reader = ::csv::Reader::from_path(path).map_err(failed)?;
    let mut record = ::csv::ByteRecord::new();
    let mut count = 0;
    while reader.read_byte_record(&mut record).map_err(failed)? {
        count += 1;
    }
    Ok(count)
}
