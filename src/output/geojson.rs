//! Writes `zones.geojson` (RFC 7946), zone by zone as a stream. Flat properties
//! come first, because many programs show a nested list as text.

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;

use serde::Serialize;

use super::number::{cut, decimal, push_degrees};
use super::zone_values::{zone_columns, zone_values};
use super::{OutputError, SiteResult, cautions, factors_counted};
use crate::gis::{Column, Value};
use crate::zones::outlines::GeographicOutline;
use crate::zones::{Zone, ZoneSpecies};

/// One listed species as it stands in `species`.
#[derive(Serialize)]
struct ListedSpecies<'a> {
    id: &'a str,
    name: &'a str,
    common_name: &'a str,
    form: &'a str,
    rating: Option<f64>,
    class: Option<String>,
    share: f64,
    soil_share: Option<f64>,
    factors: String,
    limited_by: Vec<&'a str>,
    no_opinion_on: Vec<&'a str>,
    cautions: Vec<String>,
}

/// Writes the file and gives the number of features.
///
/// # Units
/// Longitude and latitude in degrees (WGS 84) with up to 7 decimals, zeros at the
/// end left out.
///
/// # Errors
/// The zones do not fit their outlines, or the file cannot be written.
pub fn write_geojson(path: &Path, site: &SiteResult) -> Result<u64, OutputError> {
    site.check()?;
    let file = File::create(path).map_err(OutputError::write(path))?;
    let mut out = BufWriter::new(file);
    write_geojson_to(&mut out, site)
        .and_then(|()| out.flush())
        .map_err(OutputError::write(path))?;
    Ok(site.zones.len() as u64)
}

/// Writes the zones to any writer. Exterior rings go counter-clockwise and holes
/// clockwise whichever way they come.
///
/// # Errors
/// The writer fails.
pub fn write_geojson_to(out: &mut impl Write, site: &SiteResult) -> io::Result<()> {
    write!(
        out,
        "{{\"type\":\"FeatureCollection\",\"title\":{}",
        json(&site.title)?
    )?;
    write!(out, ",\"notice\":{}", json(&cautions::GENERAL.join(" "))?)?;
    if let Some([west, south, east, north]) = bounds(site.geographic) {
        let mut text = String::new();
        for (index, value) in [west, south, east, north].into_iter().enumerate() {
            if index > 0 {
                text.push(',');
            }
            push_degrees(&mut text, value);
        }
        write!(out, ",\"bbox\":[{text}]")?;
    }
    write!(out, ",\"features\":[")?;
    let columns = zone_columns(site.factors);
    let mut line = String::new();
    for (index, (zone, outline)) in site.zones.iter().zip(site.geographic).enumerate() {
        line.clear();
        line.push_str(if index > 0 { ",\n" } else { "\n" });
        push_feature(&mut line, site, &columns, zone, outline)?;
        out.write_all(line.as_bytes())?;
    }
    writeln!(out, "\n]}}")
}

fn push_feature(
    line: &mut String,
    site: &SiteResult,
    columns: &[Column],
    zone: &Zone,
    outline: &GeographicOutline,
) -> io::Result<()> {
    line.push_str("{\"type\":\"Feature\",\"id\":");
    line.push_str(&json(&zone.stable_id)?);
    line.push_str(",\"geometry\":{\"type\":\"Polygon\",\"coordinates\":[");
    push_ring(line, &outline.exterior, true);
    for hole in &outline.holes {
        line.push(',');
        push_ring(line, hole, false);
    }
    line.push_str("]},\"properties\":{");
    for (column, value) in columns.iter().zip(zone_values(site, zone)) {
        line.push_str(&json(&column.name)?);
        line.push(':');
        match value {
            Value::Missing => line.push_str("null"),
            Value::Text(text) => line.push_str(&json(&text)?),
            Value::Integer(number) => line.push_str(&number.to_string()),
            Value::Real(number) => line.push_str(&decimal(number, 8).unwrap_or_else(|| "null".to_owned())),
        }
        line.push(',');
    }
    line.push_str("\"species\":");
    let of = factors_counted(site.factors);
    let listed: Vec<ListedSpecies> = zone
        .species
        .iter()
        .filter(|entry| entry.listing.is_listed())
        .map(|entry| listed_species(site, entry, of))
        .collect();
    line.push_str(&json(&listed)?);
    line.push_str("}}");
    Ok(())
}

fn listed_species<'a>(site: &SiteResult<'a>, entry: &ZoneSpecies, of: usize) -> ListedSpecies<'a> {
    let species = &site.species[entry.species];
    let ids = |factors: &[usize]| {
        factors
            .iter()
            .map(|&factor| site.factors[factor].id.as_str())
            .collect()
    };
    ListedSpecies {
        id: &species.id,
        name: &species.scientific_name,
        common_name: &species.common_name,
        form: species.form.word(),
        rating: entry.rating.map(cut),
        class: entry.class.map(|class| class.to_string()),
        share: cut(entry.share),
        soil_share: entry.soil_share.map(cut),
        factors: format!("{} of {of}", entry.rests_on),
        limited_by: ids(&entry.limited_by),
        no_opinion_on: ids(&entry.no_opinion_on),
        cautions: cautions::plant_cautions(species),
    }
}

fn push_ring(line: &mut String, ring: &[[i32; 2]], counter_clockwise: bool) {
    line.push('[');
    let forward = (doubled_area(ring) >= 0) == counter_clockwise;
    for step in 0..ring.len() {
        let [lon, lat] = ring[if forward { step } else { ring.len() - 1 - step }];
        line.push_str(if step > 0 { ",[" } else { "[" });
        push_degrees(line, lon);
        line.push(',');
        push_degrees(line, lat);
        line.push(']');
    }
    line.push(']');
}

/// Twice the area of a ring, exactly; above 0 when it goes counter-clockwise.
fn doubled_area(ring: &[[i32; 2]]) -> i128 {
    ring.windows(2)
        .map(|pair| {
            let [[x1, y1], [x2, y2]] = [pair[0], pair[1]].map(|point| point.map(i128::from));
            x1 * y2 - x2 * y1
        })
        .sum()
}

fn bounds(outlines: &[GeographicOutline]) -> Option<[i32; 4]> {
    outlines
        .iter()
        .flat_map(|outline| &outline.exterior)
        .fold(None, |bounds, &[lon, lat]| {
            let [west, south, east, north] = bounds.unwrap_or([lon, lat, lon, lat]);
            Some([west.min(lon), south.min(lat), east.max(lon), north.max(lat)])
        })
}

fn json<T: Serialize + ?Sized>(value: &T) -> io::Result<String> {
    serde_json::to_string(value).map_err(io::Error::from)
}

#[cfg(test)]
#[path = "geojson_tests.rs"]
mod tests;
