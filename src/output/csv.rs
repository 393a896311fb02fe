//! Writes `zone_species.csv`: the rows of the table of zones and species, as RFC
//! 4180 wants it, in UTF-8 with a header.

use std::fs::File;
use std::io::{self, Write};
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};

use ::csv::{Terminator, WriterBuilder};

use super::number::push_decimal;
use super::rows::{RowWords, row_columns, row_values};
use super::{OutputError, RowChoice, SiteResult, zone_species_rows};
use crate::gis::Value;
use crate::in_order::write_in_order;

/// Zones whose rows are made at a time on one thread.
const ZONES_AT_ONCE: usize = 64;

/// Writes the file and gives the number of rows under the header.
///
/// # Missing
/// An empty field.
///
/// # Errors
/// The zones do not fit their outlines, or the file cannot be written.
pub fn write_csv(path: &Path, site: &SiteResult, choice: RowChoice) -> Result<u64, OutputError> {
    site.check()?;
    let mut file = File::create(path).map_err(OutputError::write(path))?;
    let words = RowWords::new(site);
    let written = AtomicU64::new(0);
    let mut write = || {
        let header = csv_text(Vec::new(), |writer| {
            writer.write_record(row_columns(site).iter().map(|column| column.name.as_str()))
        })?;
        file.write_all(&header)?;
        write_in_order(&mut file, site.zones.len(), ZONES_AT_ONCE, |zones, text| {
            *text = csv_text(std::mem::take(text), |writer| {
                let mut digits = Vec::new();
                for row in zone_species_rows(site, choice, zones) {
                    for value in row_values(site, &words, row) {
                        match value {
                            Value::Missing => writer.write_field("")?,
                            Value::Text(value) => writer.write_field(value.as_ref())?,
                            Value::Integer(number) => writer.write_field(number.to_string())?,
                            Value::Real(number) => {
                                digits.clear();
                                push_decimal(&mut digits, number, 8);
                                writer.write_field(&digits)?;
                            }
                        }
                    }
                    writer.write_record(None::<&[u8]>)?;
                    written.fetch_add(1, Ordering::Relaxed);
                }
                Ok(())
            })?;
            Ok(())
        })
    };
    write().map_err(OutputError::write(path))?;
    Ok(written.into_inner())
}

/// The text with what `write` adds to it.
fn csv_text(
    text: Vec<u8>,
    write: impl FnOnce(&mut ::csv::Writer<Vec<u8>>) -> ::csv::Result<()>,
) -> io::Result<Vec<u8>> {
    let mut writer = WriterBuilder::new()
        .terminator(Terminator::CRLF)
        .from_writer(text);
    write(&mut writer)?;
    writer.into_inner().map_err(::csv::IntoInnerError::into_error)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::example_site::{Example, awkward};

    #[test]
    fn every_text_comes_back_as_it_went() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("zone_species.csv");
        let example = awkward();
        assert_eq!(write_csv(&path, &example.site(), RowChoice::All).unwrap(), 6);
        let mut reader = ::csv::Reader::from_path(&path).unwrap();
        let names: Vec<String> = reader
            .records()
            .map(|record| record.unwrap().get(4).unwrap().to_owned())
            .collect();
        for species in &example.species {
            assert!(names.contains(&species.common_name), "{names:?}");
        }
    }

    #[test]
    fn the_bytes_are_these() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("zone_species.csv");
        write_csv(&path, &Example::two_zones().site(), RowChoice::All).unwrap();
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(text.lines().count() > 1 && text.ends_with("\r\n"));
        insta::assert_snapshot!(text.replace("\r\n", "\n"));
    }

    #[test]
    fn beyond_a_million_rows_only_what_lives_there_is_written() {
        assert_eq!(RowChoice::for_size(10_000, 100, false), RowChoice::All);
        assert_eq!(
            RowChoice::for_size(10_001, 100, false),
            RowChoice::ListedAndInParts
        );
        assert_eq!(RowChoice::for_size(10_001, 100, true), RowChoice::All);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("zone_species.csv");
        let example = Example::two_zones();
        assert_eq!(
            write_csv(&path, &example.site(), RowChoice::ListedAndInParts).unwrap(),
            3
        );
    }

    #[test]
    fn a_full_disk_gives_one_clear_error() {
        let error = write_csv(
            Path::new("/dev/full"),
            &Example::two_zones().site(),
            RowChoice::All,
        )
        .unwrap_err();
        assert!(
            error
                .to_string()
                .starts_with("could not write /dev/full: No space left"),
            "{error}"
        );
    }
}
