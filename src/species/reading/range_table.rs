//! A table of species by region: delimited text with a row for each species and region.
//! Bytes come in; names and keys as written go out, with the line of each. Knows neither
//! the catalogue nor the regions.

use std::path::Path;

use super::table::{Table, plain};
use crate::plural::{counted, one_or_many};
use crate::species::problem::{Problem, Report};

/// One row: a species is documented in a region.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RangeRow {
    /// The line it stands on, from 1.
    pub line: u64,
    /// Id or name of the species, as written.
    pub species: String,
    /// Key of the region, as written.
    pub region: String,
}

/// The rows of the table in `bytes`, with every fault of its form; `path` only names it.
/// Rows without a species or without a region are told together and left out.
#[must_use]
pub fn read_range_table(
    path: &Path,
    bytes: &[u8],
    species: &str,
    region: &str,
) -> (Vec<RangeRow>, Vec<Problem>) {
    let mut problems = Vec::new();
    let mut report = Report::new(path, &mut problems);
    let names = [plain(species), plain(region)];
    let needed = [names[0].as_str(), names[1].as_str()];
    let table = Table::parse(bytes, &needed, &[], false, &mut report);
    let columns = names.each_ref().map(|name| table.column(name));
    if columns.iter().any(Option::is_none) {
        return (Vec::new(), problems);
    }
    let (mut rows, mut lacking) = (Vec::new(), Vec::new());
    for row in &table.rows {
        let [species, region] = columns.map(|column| row.cell(column).to_owned());
        if species.is_empty() || region.is_empty() {
            lacking.push(row.line);
            continue;
        }
        let line = row.line;
        rows.push(RangeRow {
            line,
            species,
            region,
        });
    }
    if let Some(&first) = lacking.first() {
        let text = format!(
            "{} {} no species or no region and {} left out; this is the first",
            counted(lacking.len(), "row"),
            one_or_many(lacking.len(), "has", "have"),
            one_or_many(lacking.len(), "is", "are")
        );
        report.warning(first, "", text);
    }
    (rows, problems)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (Vec<RangeRow>, Vec<String>) {
        let (rows, problems) =
            read_range_table(Path::new("range.csv"), text.as_bytes(), "Scientific Name", "FIPS");
        (rows, problems.iter().map(ToString::to_string).collect())
    }

    #[test]
    fn keys_stay_text_and_other_columns_do_not_matter() {
        let (rows, problems) = read("fips;year;scientific name\n027;1990;Acer rubrum\n");
        assert_eq!(problems, Vec::<String>::new());
        assert_eq!(rows[0].region, "027");
        assert_eq!((rows[0].line, rows[0].species.as_str()), (2, "Acer rubrum"));
    }

    #[test]
    fn what_lacks_is_told_with_its_count() {
        let (rows, problems) = read("scientific name,fips\nAcer rubrum,\n,053\nAcer rubrum,053\n");
        assert_eq!(rows.len(), 1);
        assert_eq!(problems.len(), 1);
        assert!(
            problems[0].contains("range.csv:2") && problems[0].contains("2 rows"),
            "{problems:?}"
        );
        let (rows, problems) = read("species,county\nAcer rubrum,053\n");
        assert!(rows.is_empty());
        assert_eq!(problems.len(), 2, "{problems:?}");
    }
}
