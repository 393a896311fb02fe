//! Traits of a species held against what is known of them and against one another.
//! Rows come in; faults with their line and column go out.

use crate::species::problem::Report;
use crate::species::reading::SpeciesRow;
use crate::species::traits::values::{fault, number_span, unused_span};
use crate::species::{Form, Species};

/// Tells what is wrong with one value, at the line and column where it stands.
pub fn value(line: u64, column: &str, name: &str, value: &str, report: &mut Report<'_>) {
    if let Some(fault) = fault(name, value) {
        report.error(line, column, format!("{name}: {fault}"));
    } else if let Some(told) = unused_span(name, value) {
        report.warning(line, column, format!("{name}: {told}"));
    }
}

/// Limits the wrong way round, sizes that do not go together, disputed values
/// without a word on why. `in_species` tells of the species file, `in_traits` of the
/// traits file.
pub fn pairs(rows: &[SpeciesRow], in_species: &mut Report<'_>, in_traits: &mut Report<'_>) {
    for row in rows {
        let mut found: Vec<(String, bool, String)> = Vec::new();
        let mut tell = |name: &str, is_error: bool, text: String| {
            found.push((name.to_owned(), is_error, text));
        };
        limits(&row.species, &mut tell);
        sizes(&row.species, &mut tell);
        undisputed(&row.species, &mut tell);
        for (name, is_error, text) in found {
            let line = row.trait_lines.iter().find(|(held, _)| *held == name);
            match (line, is_error) {
                (Some((_, line)), true) => in_traits.error(*line, "value", text),
                (Some((_, line)), false) => in_traits.warning(*line, "value", text),
                (None, true) => in_species.error(row.line, &name, text),
                (None, false) => in_species.warning(row.line, &name, text),
            }
        }
    }
}

fn number(species: &Species, name: &str) -> Option<(f64, f64)> {
    number_span(&species.trait_of(name)?.value)
}

fn limits(species: &Species, tell: &mut impl FnMut(&str, bool, String)) {
    for (low, high) in [
        ("recorded_ph_lowest", "recorded_ph_highest"),
        (
            "recorded_precipitation_lowest_mm",
            "recorded_precipitation_highest_mm",
        ),
    ] {
        if let (Some((_, lowest)), Some((highest, _))) = (number(species, low), number(species, high))
            && lowest >= highest
        {
            tell(
                high,
                true,
                format!(
                    "{high} of `{}` is {highest} and {low} is {lowest}, needed the highest above the lowest",
                    species.id
                ),
            );
        }
    }
}

/// Heights that no plant of the form has, and spreads and spacings that do not go
/// with the height. Bounds: common practice, no source.
fn sizes(species: &Species, tell: &mut impl FnMut(&str, bool, String)) {
    let id = &species.id;
    let height = number(species, "height_m");
    let tallest = match species.form {
        Form::Tree => 60.0,
        Form::Shrub => 15.0,
        Form::Grass | Form::Forb => 5.0,
        Form::Fern => 3.0,
    };
    if let Some((_, height)) = height.filter(|(_, height)| *height > tallest) {
        let text = format!(
            "height_m of `{id}` is {height}, needed at most {tallest} of a {}: is it in metres, and the form right?",
            species.form.word()
        );
        tell("height_m", false, text);
    }
    let spread = number(species, "spread_m");
    let widest = if species.form == Form::Tree { 30.0 } else { 12.0 };
    if let Some((_, spread)) = spread.filter(|(_, spread)| *spread > widest) {
        let text = format!(
            "spread_m of `{id}` is {spread}, needed at most {widest} of a {}: is it in metres?",
            species.form.word()
        );
        tell("spread_m", false, text);
    }
    if let (Some((spacing, _)), Some((_, spread))) = (number(species, "spacing_m"), spread)
        && spacing > 3.0 * spread
    {
        let text =
            format!("spacing_m of `{id}` is {spacing} and spread_m {spread}: plants so far apart never meet");
        tell("spacing_m", false, text);
    }
}

fn undisputed(species: &Species, tell: &mut impl FnMut(&str, bool, String)) {
    for held in &species.traits {
        if !held.set_aside.is_empty() && held.note.is_empty() {
            let text = format!(
                "{} of `{}` sets a value of `{}` aside and has no note that says why",
                held.name, species.id, held.set_aside[0].source
            );
            tell(&held.name, false, text);
        }
    }
}
