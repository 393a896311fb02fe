//! Writes `zones.geojson` (RFC 7946), some zones at a time as a stream. Flat properties
//! come first, because many programs show a nested list as text.

use std::fs::File;
use std::io::{self, Write};
use std::path::Path;

use serde::Serialize;

use super::number::{cut, push_decimal, push_degrees};
use super::zone_values::{zone_columns, zone_values};
use super::{OutputError, SiteResult, cautions, factors_counted, plant_cautions};
use crate::gis::Value;
use crate::in_order::write_in_order;
use crate::range::{Standing, ZoneRanges};
use crate::species::Species;
use crate::zones::ZoneSpecies;

/// Zones whose text is made at a time on one thread.
const ZONES_AT_ONCE: usize = 32;

/// What all features share, as text made once.
struct Shared {
    /// For each column `"name":`.
    columns: Vec<Vec<u8>>,
    /// For each species its entry up to the rating, and from its cautions on.
    species: Vec<(Vec<u8>, Vec<u8>)>,
    /// For each factor its id.
    factors: Vec<Vec<u8>>,
    /// `of` what `factors` counts.
    of: usize,
}

impl Shared {
    fn new(site: &SiteResult) -> io::Result<Shared> {
        let member = |name: &str| -> io::Result<Vec<u8>> {
            let mut text = json(name)?;
            text.push(b':');
            Ok(text)
        };
        let entry = |species: &Species| -> io::Result<(Vec<u8>, Vec<u8>)> {
            let mut head = Vec::new();
            let names = [
                ("id", species.id.as_str()),
                ("name", &species.scientific_name),
                ("common_name", &species.common_name),
                ("form", species.form.word()),
            ];
            for (name, value) in names {
                head.push(if head.is_empty() { b'{' } else { b',' });
                head.extend(member(name)?);
                push_json(&mut head, value)?;
            }
            head.extend(b",\"rating\":");
            let mut tail = b",\"cautions\":".to_vec();
            push_json(&mut tail, &plant_cautions::plant_cautions(species))?;
            tail.push(b'}');
            Ok((head, tail))
        };
        Ok(Shared {
            columns: zone_columns(site.factors)
                .iter()
                .map(|column| member(&column.name))
                .collect::<io::Result<_>>()?,
            species: site.species.iter().map(entry).collect::<io::Result<_>>()?,
            factors: site
                .factors
                .iter()
                .map(|factor| json(&factor.id))
                .collect::<io::Result<_>>()?,
            of: factors_counted(site.factors),
        })
    }
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
    // What comes is large already.
    let mut out = file;
    write_geojson_to(&mut out, site).map_err(OutputError::write(path))?;
    Ok(site.zones.len() as u64)
}

/// Writes the zones to any writer. Exterior rings go counter-clockwise and holes
/// clockwise whichever way they come.
///
/// # Errors
/// The writer fails.
pub fn write_geojson_to(out: &mut (impl Write + Send), site: &SiteResult) -> io::Result<()> {
    let mut head = b"{\"type\":\"FeatureCollection\",\"title\":".to_vec();
    push_json(&mut head, &site.title)?;
    head.extend(b",\"notice\":");
    push_json(&mut head, &cautions::GENERAL.join(" "))?;
    if let Some(bounds) = site.outlines.bounds() {
        head.extend(b",\"bbox\":[");
        for (index, value) in bounds.into_iter().enumerate() {
            if index > 0 {
                head.push(b',');
            }
            push_degrees(&mut head, value);
        }
        head.push(b']');
    }
    head.extend(b",\"features\":[");
    out.write_all(&head)?;
    let shared = Shared::new(site)?;
    let count = site.zones.len().min(site.outlines.count());
    write_in_order(out, count, ZONES_AT_ONCE, |zones, text| {
        for index in zones {
            text.extend_from_slice(if index > 0 { b",\n" } else { b"\n" });
            push_feature(text, site, &shared, index)?;
        }
        Ok(())
    })?;
    out.write_all(b"\n]}\n")
}

fn push_feature(text: &mut Vec<u8>, site: &SiteResult, shared: &Shared, index: usize) -> io::Result<()> {
    let (zone, outline) = (&site.zones[index], site.outlines.geographic(index));
    text.extend(b"{\"type\":\"Feature\",\"id\":");
    push_json(text, &zone.stable_id)?;
    text.extend(b",\"geometry\":{\"type\":\"Polygon\",\"coordinates\":[");
    push_ring(text, &outline.exterior, true);
    for hole in &outline.holes {
        text.push(b',');
        push_ring(text, hole, false);
    }
    text.extend(b"]},\"properties\":{");
    for (column, value) in shared.columns.iter().zip(zone_values(site, zone)) {
        text.extend(column);
        match value {
            Value::Missing => text.extend(b"null"),
            Value::Text(value) => push_json(text, &value)?,
            Value::Integer(number) => push_json(text, &number)?,
            Value::Real(number) => {
                if !push_decimal(text, number, 8) {
                    text.extend(b"null");
                }
            }
        }
        text.push(b',');
    }
    text.extend(b"\"species\":[");
    let listed = zone.species.iter().filter(|entry| entry.listing.is_listed());
    for (number, entry) in listed.enumerate() {
        if number > 0 {
            text.push(b',');
        }
        push_species(text, shared, entry)?;
        if let Some(ranges) = site.ranges {
            push_range(text, ranges, ranges.standing(index, entry.index()))?;
        }
        text.extend(&shared.species[entry.index()].1);
    }
    text.extend(b"]}}");
    Ok(())
}

/// One listed species as it stands in `species`, up to what its range tells.
fn push_species(text: &mut Vec<u8>, shared: &Shared, entry: &ZoneSpecies) -> io::Result<()> {
    text.extend(&shared.species[entry.index()].0);
    push_json(text, &entry.rating.get().map(cut))?;
    text.extend(b",\"class\":");
    match entry.class {
        Some(class) => write!(text, "\"{class}\"")?,
        None => text.extend(b"null"),
    }
    text.extend(b",\"share\":");
    push_json(text, &cut(entry.share))?;
    text.extend(b",\"soil_share\":");
    push_json(text, &entry.soil_share.get().map(cut))?;
    write!(
        text,
        ",\"factors\":\"{} of {}\"",
        entry.reasons.rests_on, shared.of
    )?;
    for (name, factors) in [
        ("limited_by", &entry.reasons.limited_by),
        ("no_opinion_on", &entry.reasons.no_opinion_on),
    ] {
        write!(text, ",\"{name}\":[")?;
        for (number, &factor) in factors.iter().enumerate() {
            if number > 0 {
                text.push(b',');
            }
            text.extend(&shared.factors[factor]);
        }
        text.push(b']');
    }
    Ok(())
}

fn push_range(text: &mut Vec<u8>, ranges: &ZoneRanges, standing: Standing) -> io::Result<()> {
    text.extend(b",\"documented\":");
    push_json(text, standing.documented.words())?;
    text.extend(b",\"nearest_record\":");
    push_json(text, &ranges.words.text(standing.nearest))?;
    text.extend(b",\"nearest_record_m\":");
    push_json(text, &standing.nearest.map(|nearest| nearest.metres))
}

fn push_ring(text: &mut Vec<u8>, ring: &[[i32; 2]], counter_clockwise: bool) {
    text.push(b'[');
    let forward = (doubled_area(ring) >= 0) == counter_clockwise;
    for step in 0..ring.len() {
        let [lon, lat] = ring[if forward { step } else { ring.len() - 1 - step }];
        text.extend_from_slice(if step > 0 { b",[" } else { b"[" });
        push_degrees(text, lon);
        text.push(b',');
        push_degrees(text, lat);
        text.push(b']');
    }
    text.push(b']');
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

fn json<T: Serialize + ?Sized>(value: &T) -> io::Result<Vec<u8>> {
    serde_json::to_vec(value).map_err(io::Error::from)
}

fn push_json<T: Serialize + ?Sized>(text: &mut Vec<u8>, value: &T) -> io::Result<()> {
    serde_json::to_writer(text, value).map_err(io::Error::from)
}

#[cfg(test)]
#[path = "geojson_tests.rs"]
mod tests;
