//! What can be wrong with a raster before a cell of it is read.

use super::finding::Findings;
use crate::factor::{Kind, Unit};
use crate::gis::{self, Colour, RasterFile};
use crate::grid::Crs;
use crate::plural::counted;
use crate::project::{FactorSection, FactorSource, LayerRef};

/// Checks a raster against what the project wants of it; false when it cannot be
/// used.
pub fn check(
    name: &str,
    section: &FactorSection,
    layer: &LayerRef,
    file: &RasterFile,
    band: usize,
    crs: &Crs,
    findings: &mut Findings,
) -> bool {
    let path = &layer.as_written;
    let Some(facts) = band.checked_sub(1).and_then(|index| file.bands.get(index)) else {
        findings.error(
            name,
            format!(
                "{path} has {}, and band {band} is asked for",
                counted(file.bands.len(), "band")
            ),
        );
        return false;
    };
    if file.is_picture() {
        findings.error(
            name,
            format!(
                "{path} is a picture with red, green and blue bands, not a layer of values; a raster whose cells hold {} is needed",
                section.factor.id
            ),
        );
        return false;
    }
    let classes = section.cuts.is_none() && matches!(section.factor.kind, Kind::Classes { .. });
    if classes && !section.words.given() && facts.classes.is_empty() {
        findings.error(
            name,
            format!(
                "{path} holds codes of classes: `words` is needed, such as `words = {{ \"1\" = \"{}\" }}`",
                section
                    .factor
                    .kind
                    .classes()
                    .and_then(|names| names.first())
                    .map_or("", String::as_str)
            ),
        );
        return false;
    }
    if !classes && facts.colour == Some(Colour::Palette) {
        findings.error(
            name,
            format!("band {band} of {path} has a colour table, so its numbers are codes of classes, which must not be averaged; `{}` is measured: a raster of measured values is needed", section.factor.id),
        );
        return false;
    }
    let given = match &section.source {
        FactorSource::Raster { nodata, .. } | FactorSource::Slope { nodata, .. } => nodata.is_some(),
        FactorSource::Sun(source) => source.nodata.is_some(),
        FactorSource::Terrain(source) => source.nodata.is_some(),
        FactorSource::Polygons { .. }
        | FactorSource::Distance { .. }
        | FactorSource::Limit { .. }
        | FactorSource::RoadSalt
        | FactorSource::SoilSurvey { .. } => true,
    };
    // Floats may hold NaN, and what else stands for no data there is no value of most
    // factors.
    if facts.says_nothing_of_missing() && !given && facts.is_integer {
        let (holds, such) = if facts.is_byte {
            ("bytes", "255")
        } else {
            ("whole numbers", "-9999")
        };
        findings.warn(
            name,
            format!("band {band} of {path} holds {holds} and names no missing value: if 0 or {such} stands for \"no data\", say `nodata = {such}`, else it counts as a value"),
        );
    }
    if file.point_cells {
        findings.warn(
            name,
            format!("{path} is tagged as points: its values are taken to lie at the centres of its cells"),
        );
    }
    if let Some(doubt) = gis::coordinates_doubt(&file.extent, crs) {
        findings.error(name, format!("{path}: {doubt}"));
        return false;
    }
    true
}

/// Metres in the unit of an elevation: as the project says, else as the file says.
pub fn metres_per_unit(
    name: &str,
    layer: &LayerRef,
    file: &RasterFile,
    band: usize,
    given: Option<f64>,
    findings: &mut Findings,
) -> Option<f64> {
    let unit = band
        .checked_sub(1)
        .and_then(|index| file.bands.get(index))
        .and_then(|band| band.unit.clone())
        .or_else(|| file.vertical_unit.clone());
    let known = unit.as_deref().and_then(|unit| {
        let symbol = match unit.to_ascii_lowercase().as_str() {
            "metre" | "meter" | "metres" | "meters" => "m".to_owned(),
            "foot" | "feet" => "ft".to_owned(),
            "us survey foot" | "us-ft" | "ftus" => "US survey ft".to_owned(),
            _ => unit.to_owned(),
        };
        Unit::Metre.from_symbol(&symbol)
    });
    if let Some(given) = given {
        if let (Some((own, _)), Some(unit)) = (known, unit)
            && (own / given - 1.0).abs() > 1e-4
        {
            findings.warn(
                name,
                format!(
                    "{} says its heights are in \"{unit}\", the project's `vertical_unit` says otherwise, and the latter is taken",
                    layer.as_written
                ),
            );
        }
        return Some(given);
    }
    if known.is_none() {
        let found = unit.map_or_else(
            || "names no unit of its heights".to_owned(),
            |unit| format!("has heights in \"{unit}\", which is not known"),
        );
        findings.error(
            name,
            format!(
                "{} {found}: say `vertical_unit = \"m\"` or `\"ft\"`, or what is computed from them would be wrong",
                layer.as_written
            ),
        );
    }
    known.map(|(metres, _)| metres)
}
