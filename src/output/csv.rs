//! Writes `zone_species.csv`: the rows of the table of zones and species, as RFC
//! 4180 wants it, in UTF-8 with a header.

use std::fs::File;
use std::path::Path;

use ::csv::{Terminator, WriterBuilder};

use super::number::decimal;
use super::rows::{row_columns, row_values};
use super::{OutputError, RowChoice, SiteResult, factors_counted, zone_species_rows};
use crate::gis::Value;

/// Writes the file and gives the number of rows under the header.
///
/// # Missing
/// An empty field.
///
/// # Errors
/// The zones do not fit their outlines, or the file cannot be written.
pub fn write_csv(path: &Path, site: &SiteResult, choice: RowChoice) -> Result<u64, OutputError> {
    site.check()?;
    let file = File::create(path).map_err(OutputError::write(path))?;
    let failed = |error: ::csv::Error| OutputError::write(path)(error.into());
    let mut writer = WriterBuilder::new()
        .terminator(Terminator::CRLF)
        .from_writer(file);
    writer
        .write_record(row_columns().iter().map(|column| column.name.as_str()))
        .map_err(failed)?;
    let of_factors = factors_counted(site.factors);
    let mut written = 0;
    for row in zone_species_rows(site, choice) {
        let fields = row_values(site, of_factors, row)
            .into_iter()
            .map(|value| match value {
                Value::Missing => String::new(),
                Value::Text(text) => text.into_owned(),
                Value::Integer(number) => number.to_string(),
                Value::Real(number) => decimal(number, 8).unwrap_or_default(),
            });
        writer.write_record(fields).map_err(failed)?;
        written += 1;
    }
    writer.flush().map_err(OutputError::write(path))?;
    Ok(written)
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
