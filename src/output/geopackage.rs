//! Writes `zones.gpkg`: the layer `zones` in the CRS of the grid, the table
//! `zone_species` that belongs to it, and a default style.

use std::ops::Range;
use std::path::Path;

use rayon::prelude::*;

use super::rows::{RowWords, row_columns, row_values};
use super::style::listed_species_sld;
use super::zone_values::{zone_columns, zone_values};
use super::{OutputError, RowChoice, SiteResult, cautions, utc_text, zone_species_rows};
use crate::gis::{Column, ColumnKind, GeoPackageWriter, Row, TableText, Value};
use crate::in_order::take_in_order;

/// Writes the file and gives the number of rows in `zones` and in `zone_species`.
/// Its dates are `date`, in seconds since 1970 (see [`super::file_date`]).
///
/// # Errors
/// The zones do not fit their outlines, or the file cannot be written.
pub fn write_geopackage(
    path: &Path,
    site: &SiteResult,
    choice: RowChoice,
    date: i64,
) -> Result<(u64, u64), OutputError> {
    site.check()?;
    let date = utc_text(date).replace('Z', ".000Z");
    let mut writer = GeoPackageWriter::create(path, site.title, &date)?;
    let mut columns = vec![Column::new("zone_id", ColumnKind::Text)];
    columns.extend(zone_columns(site.factors));
    let description = format!(
        "Zones of like ground with the plants that suit them; zone_species belongs to it by zone_id. {}",
        cautions::GENERAL.join(" ")
    );
    // No two tables of a file may bear one title, whatever the project is called.
    let title = format!("{}: zones", site.title);
    let layer = TableText {
        name: "zones",
        title: &title,
        description: &description,
    };
    writer.add_layer(layer, site.grid.crs(), &columns)?;
    let polygon = |index: usize| {
        let (zone, outline) = (&site.zones[index], site.outlines.on_map(index, site.grid));
        let mut values = vec![Value::Text(zone.stable_id.as_str().into())];
        values.extend(zone_values(site, zone));
        vec![Row::polygon(&outline.exterior, &outline.holes, values)]
    };
    let zones = append(&mut writer, "zones", site.zones.len(), polygon)?;
    let words = RowWords::new(site);
    let of_zone = |index: usize| -> Vec<Row> {
        zone_species_rows(site, choice, index..index + 1)
            .map(|row| Row::plain(row_values(site, &words, row)))
            .collect()
    };
    let written = match choice {
        RowChoice::All => "every species in every zone",
        RowChoice::ListedAndInParts => "the species listed in a zone or suiting in parts of it",
    };
    let table = TableText {
        name: "zone_species",
        title: "zone_species",
        description: &format!("How species stand in zones: {written}; belongs to zones by zone_id"),
    };
    writer.add_table(table, &row_columns(site))?;
    let species = append(&mut writer, "zone_species", site.zones.len(), of_zone)?;
    writer.add_index("zone_species", "zone_id")?;
    let most = site
        .zones
        .iter()
        .map(|zone| {
            zone.species
                .iter()
                .filter(|entry| entry.listing.is_listed())
                .count()
        })
        .max()
        .unwrap_or(0);
    writer.add_default_style(
        "zones",
        "listed species",
        &listed_species_sld("zones", most),
        &date,
    )?;
    writer.finish()?;
    Ok((zones, species))
}

/// Appends what `make` gives for each zone, in order, and gives the number of rows. Rows of
/// some zones are made on all threads while those before are written, since a file takes
/// rows from one thread only.
fn append<'r>(
    writer: &mut GeoPackageWriter,
    table: &str,
    zones: usize,
    make: impl Fn(usize) -> Vec<Row<'r>> + Sync,
) -> Result<u64, OutputError> {
    const ZONES_AT_ONCE: usize = 512;
    let mut written = 0;
    let make = |some: Range<usize>| -> Vec<Vec<Row<'r>>> { some.into_par_iter().map(&make).collect() };
    take_in_order(zones, ZONES_AT_ONCE, make, |rows| -> Result<(), OutputError> {
        written += writer.append(table, rows.into_iter().flatten())?;
        Ok(())
    })?;
    Ok(written)
}

#[cfg(test)]
#[path = "geopackage_tests.rs"]
mod tests;
