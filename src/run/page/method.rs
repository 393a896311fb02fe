//! The page's words: what was done, on what, and how far to trust it.

use super::PageParts;
use crate::output::words::{area_words, class_words, length_words};
use crate::output::{AreaByCause, FidelityRecord};
use crate::plural::counted;
use crate::report::{FileRow, LayerRow, Page, PageData};
use crate::score::Class;
use crate::site::LayerFact;
use crate::species::{Counts, SourceCounts};

/// The page around its data.
pub fn page(parts: &PageParts, sources: Vec<String>, data: PageData) -> Page {
    let record = parts.record;
    let units = parts.prepared.project.units;
    Page {
        title: record.title.clone(),
        opening: "Drawn from mapped layers and from what catalogues say of species. It tells where to look first, not what will live.".to_owned(),
        summary: summary(parts, &data),
        cautions: record.cautions.clone(),
        warnings: record.warnings.clone(),
        generalised: generalised(parts),
        method: method(parts),
        fidelity: fidelity(record.fidelity.as_ref(), parts),
        not_rated: record.not_rated.iter().map(|area| cause_row(area, parts)).collect(),
        layers: parts.prepared.site.facts().iter().map(|fact| layer_row(fact, parts)).collect(),
        rules: rules(parts),
        values_told: values_told(parts),
        sources,
        run: [
            ("Program", format!("{} {}", record.program.name, record.program.version)),
            ("Date of the inputs", record.date.clone()),
            ("Project file", record.project.clone()),
            ("CRS of the grid", data.grid.crs.clone()),
            (
                "Grid",
                format!(
                    "{} x {} of {}",
                    counted(record.grid.rows, "row"),
                    counted(record.grid.cols, "column"),
                    length_words(record.grid.cell_m, units)
                ),
            ),
            ("Set by", record.grid.set_by.clone()),
            ("Layout of run.json", record.schema_version.to_string()),
        ]
        .map(|(name, value)| (name.to_owned(), value))
        .to_vec(),
        files: files(parts),
        data,
    }
}

fn summary(parts: &PageParts, data: &PageData) -> Vec<(String, String)> {
    let units = parts.prepared.project.units;
    let record = parts.record;
    let mut summary = vec![
        ("Rated", area_words(data.areas.rated, units)),
        (
            "Not rated",
            area_words(record.not_rated.iter().map(|area| area.area_m2).sum(), units),
        ),
        ("Zones", record.counts.zones.to_string()),
        ("Species asked", record.counts.species.to_string()),
        ("Cell", length_words(record.grid.cell_m, units)),
        ("Date of the inputs", day(&record.date).to_owned()),
    ];
    if let Some(fidelity) = &record.fidelity {
        summary.push(("Fidelity of the lists", format!("{:.2}", fidelity.fidelity)));
    }
    summary
        .into_iter()
        .map(|(name, value)| (name.to_owned(), value))
        .collect()
}

/// The day of a time such as `2026-05-01T10:00:00Z`.
fn day(time: &str) -> &str {
    time.split('T').next().unwrap_or(time)
}

fn generalised(parts: &PageParts) -> String {
    let units = parts.prepared.project.units;
    let (page, files) = (parts.for_page.simplify_m, parts.settings.simplify_m);
    let how = if page > files {
        format!(
            "Borders are generalised for this page, by up to {}; zones.geojson and zones.gpkg keep full detail ({}).",
            length_words(page, units),
            length_words(files, units)
        )
    } else if files > 0.0 {
        format!(
            "Borders are those of the files, simplified by up to {}.",
            length_words(files, units)
        )
    } else {
        "Borders are those of the files, cell by cell.".to_owned()
    };
    format!("{how} Relief and ground that is not rated are drawn coarser than the cells on large sites.")
}

fn method(parts: &PageParts) -> Vec<String> {
    let record = parts.record;
    let units = parts.prepared.project.units;
    let limits = record.rating.limits;
    let wanted = record.rating.at_least;
    vec![
        format!(
            "All layers are brought to one grid of {} cells. Each species' tolerance profile scores each factor in each cell from 0 to 1; under the rule \"{}\" the scores become one rating, and the rating a suitability class (FAO 1976, A Framework for Land Evaluation): S1 from {}, S2 from {}, S3 from {}. A species suits a cell from {} on.",
            length_words(record.grid.cell_m, units),
            record.rating.rule,
            limits.lowest_of(Class::S1),
            limits.lowest_of(Class::S2),
            limits.lowest_of(Class::S3),
            class_words(wanted)
        ),
        "Where a decisive factor has no value, or the species no opinion on it, the species is not known there. Not known is never counted as unsuitable, and shares are shares of the cells on which a species is known.".to_owned(),
        "Cells with like lists are joined into zones; small zones join a neighbour. A species is listed in a zone where it suits most of the known ground; what is listed need not suit every spot.".to_owned(),
    ]
}

fn fidelity(record: Option<&FidelityRecord>, parts: &PageParts) -> Vec<String> {
    let Some(record) = record else {
        return vec!["There are no zones, so there are no lists.".to_owned()];
    };
    let per_cent = |share: f64| format!("{:.0} %", share * 100.0);
    let mut told = vec![
        format!(
            "Fidelity {:.2}: {} of the ground that suits a species is in a zone that lists it, and {} of the ground on which a species is listed suits it.",
            record.fidelity,
            per_cent(record.suitable_area_found),
            per_cent(record.listed_area_right)
        ),
        "Fidelity tells how true the zones' lists are to the rated cells. It does not tell how true the layers are to the ground, nor the profiles to the plants: only the field does.".to_owned(),
    ];
    if record.absorbed_against_keep_m2 > 0.0 {
        told.push(format!(
            "{} in small pieces joined zones whose lists fit them less than asked.",
            area_words(record.absorbed_against_keep_m2, parts.prepared.project.units)
        ));
    }
    if !record.species_lost.is_empty() {
        told.push(format!(
            "Suit somewhere and are listed nowhere: {}.",
            record.species_lost.join(", ")
        ));
    }
    told
}

fn cause_row(area: &AreaByCause, parts: &PageParts) -> (String, String) {
    (
        area.cause.clone(),
        area_words(area.area_m2, parts.prepared.project.units),
    )
}

fn layer_row(fact: &LayerFact, parts: &PageParts) -> LayerRow {
    let units = parts.prepared.project.units;
    let way = &fact.transform;
    let error = match (way.same, way.ballpark, way.accuracy_m) {
        (true, _, _) => "none, same CRS".to_owned(),
        (_, true, _) => "not known: the shift between the datums is left out".to_owned(),
        (_, _, Some(accuracy_m)) => format!("within {}", length_words(accuracy_m, units)),
        (_, _, None) => "not known".to_owned(),
    };
    LayerRow {
        name: fact.name.clone(),
        file: fact.path.clone(),
        date: fact.date.clone().unwrap_or_else(|| "not told".to_owned()),
        crs: way.from.clone(),
        error,
        resampling: fact.resampling.unwrap_or("vector, exact").to_owned(),
        shows: fact.support_m.map_or_else(
            || "not known".to_owned(),
            |support_m| length_words(support_m, units),
        ),
        notes: fact.notes.join("; "),
    }
}

/// The rule and all settings, as the run record has them.
fn rules(parts: &PageParts) -> Vec<(String, String)> {
    let rating = &parts.record.rating;
    let mut rules = vec![
        ("rule".to_owned(), rating.rule.clone()),
        ("decisive factors".to_owned(), rating.decisive.join(", ")),
        (
            "factors that can be changed".to_owned(),
            rating.remediable.join(", "),
        ),
    ];
    let stand_ins = rating.stand_ins.iter();
    let stand_ins: Vec<String> = stand_ins.map(|(id, other)| format!("{id} for {other}")).collect();
    if !stand_ins.is_empty() {
        rules.push(("stand-ins".to_owned(), stand_ins.join(", ")));
    }
    let weights = rating.weights.iter().map(|(id, weight)| format!("{id} {weight}"));
    let weights: Vec<String> = weights.collect();
    if !weights.is_empty() {
        rules.push(("weights".to_owned(), weights.join(", ")));
    }
    let settings = parts.record.settings.iter();
    let set = settings.filter(|(_, value)| !value.is_null());
    rules.extend(set.map(|(name, value)| (name.clone(), value_words(value))));
    rules
}

fn value_words(value: &serde_json::Value) -> String {
    use serde_json::Value;
    match value {
        Value::String(text) => text.clone(),
        Value::Array(values) if values.is_empty() => "none".to_owned(),
        Value::Array(values) => values.iter().map(value_words).collect::<Vec<_>>().join("; "),
        Value::Object(fields) => {
            let set = fields.iter().filter(|(_, value)| !value.is_null());
            let words = set.map(|(name, value)| format!("{name}: {}", value_words(value)));
            words.collect::<Vec<_>>().join("; ")
        }
        other => other.to_string(),
    }
}

fn values_told(parts: &PageParts) -> String {
    let catalogue = &parts.prepared.catalogue;
    let counts = SourceCounts::of(catalogue, &parts.prepared.project.known_factors());
    let both = [Counts::total(&counts.factors), Counts::total(&counts.traits)];
    let counts = Counts::total(&both);
    format!(
        "{} values of {} species are from published sources, {} are common practice, {} are from memory and unverified; {} are disputed between sources. Each stands with its source in the profile of its species.",
        counts.published,
        catalogue.species.len(),
        counts.common_practice,
        counts.from_memory,
        counts.disputed
    )
}

fn files(parts: &PageParts) -> Vec<FileRow> {
    let files = parts.record.inputs.iter().flat_map(|input| &input.files);
    files
        .map(|file| FileRow {
            path: file.path.clone(),
            changed: file.modified.clone().unwrap_or_else(|| "not known".to_owned()),
            bytes: file.bytes.map_or_else(String::new, |bytes| bytes.to_string()),
            sum: file.sha256.clone().unwrap_or_default(),
        })
        .collect()
}
