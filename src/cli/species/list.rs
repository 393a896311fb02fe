//! `groundfit species list`: one line a species, narrowed down by filters.

use std::collections::BTreeMap;
use std::io::Write;

use clap::Args;
use serde::Serialize;

use super::columns::{Column, MEMORY_MARK, factors_of, write_rows};
use super::filters::{Filters, Sieve, Sifted, WHERE_HELP};
use super::profile_json::ProfileJson;
use super::stands::score;
use super::wrapping::hanging;
use super::{Opened, Place, Reading, SpeciesCommandError, write_json};
use crate::species::{Form, Species};

/// One line a species, narrowed down by filters that must all hold.
#[derive(Debug, Args)]
#[command(after_help = format!("{WHERE_HELP}

Examples:
  groundfit species list --form grass --where 'height_m < 1' --where 'bloom_months > June' --stands moisture=dry
  groundfit species list --where 'feeds has monarch' --columns id,flower_colour,bloom_months,sold
  groundfit species list --stands drainage='poorly drained' --stands canopy=60 --json
  groundfit species list --json --all-values > catalogue.json"))]
pub(super) struct ListArgs {
    #[command(flatten)]
    pub(super) place: Place,
    #[command(flatten)]
    filters: Filters,
    /// Columns, parted by commas: `id`, `scientific_name`, `common_name`, `form`, `factors`, any trait
    #[arg(long, value_name = "NAMES")]
    columns: Option<String>,
    /// With --json: every value of each species with its source, those set aside too
    #[arg(long, requires = "json")]
    all_values: bool,
    #[command(flatten)]
    reading: Reading,
}

#[derive(Serialize)]
struct Line<'a> {
    id: &'a str,
    scientific_name: &'a str,
    common_name: &'a str,
    form: Form,
    /// Factors on which the species has an opinion.
    factors: Vec<&'a str>,
    /// Values of the traits in the columns, as the catalogue has them.
    traits: BTreeMap<&'a str, &'a str>,
    /// Scores on what `--stands` asks, in its order.
    scores: Vec<Option<f64>>,
}

#[derive(Serialize)]
struct Unknown<'a> {
    id: &'a str,
    /// What lacks.
    why: &'a [String],
}

pub(super) fn list(args: &ListArgs, opened: &Opened, out: &mut dyn Write) -> Result<(), SpeciesCommandError> {
    let sieve = args.filters.read(opened)?;
    let columns = Column::read(args.columns.as_deref(), &sieve, opened)?;
    let sifted = sieve.sift(&opened.catalogue.species);
    if args.place.json {
        return list_json(args.all_values, &sifted, &columns, &sieve, opened, out);
    }
    let units = args.reading.units.unwrap_or(opened.units);
    let head = columns.iter().map(|column| column.head(&sieve, units)).collect();
    let lines = sifted.held.iter().map(|species| {
        let cells = columns
            .iter()
            .map(|column| column.cell(species, &sieve, opened, units));
        cells.collect::<Vec<String>>()
    });
    let rows: Vec<Vec<String>> = [head].into_iter().chain(lines).collect();
    if rows.len() > 1 {
        write_rows(&rows, out)?;
    }
    let all = opened.catalogue.species.len();
    writeln!(out, "{} of {all} species", sifted.held.len())?;
    if rows.iter().flatten().any(|cell| cell.ends_with(MEMORY_MARK)) {
        writeln!(out, "{MEMORY_MARK} from memory, unverified")?;
    }
    if !sifted.unknown.is_empty() {
        writeln!(
            out,
            "{} not known, because nothing is recorded:",
            sifted.unknown.len()
        )?;
        for (species, why) in &sifted.unknown {
            writeln!(
                out,
                "{}",
                hanging(&format!("  {}: ", species.id), &why.join("; "))
            )?;
        }
    }
    Ok(())
}

fn list_json(
    all_values: bool,
    sifted: &Sifted<'_>,
    columns: &[Column],
    sieve: &Sieve<'_>,
    opened: &Opened,
    out: &mut dyn Write,
) -> Result<(), SpeciesCommandError> {
    let unknown: Vec<Unknown<'_>> = sifted
        .unknown
        .iter()
        .map(|(species, why)| Unknown { id: &species.id, why })
        .collect();
    if all_values {
        let species: Vec<ProfileJson<'_>> = sifted
            .held
            .iter()
            .map(|species| ProfileJson::of(species, opened))
            .collect();
        let sources = &opened.catalogue.sources;
        return write_json(
            &serde_json::json!({ "species": species, "unknown": unknown, "sources": sources }),
            out,
        );
    }
    let lines: Vec<Line<'_>> = sifted
        .held
        .iter()
        .map(|species| line(species, columns, sieve))
        .collect();
    write_json(&serde_json::json!({ "species": lines, "unknown": unknown }), out)
}

fn line<'a>(species: &'a Species, columns: &[Column], sieve: &Sieve<'_>) -> Line<'a> {
    let shown = species
        .traits
        .iter()
        .filter(|value| columns.contains(&Column::Trait(value.name.clone())));
    Line {
        id: &species.id,
        scientific_name: &species.scientific_name,
        common_name: &species.common_name,
        form: species.form,
        factors: factors_of(species),
        traits: shown
            .map(|value| (value.name.as_str(), value.value.as_str()))
            .collect(),
        scores: sieve
            .ground
            .iter()
            .map(|asked| score(species, asked, &sieve.ground))
            .collect(),
    }
}
