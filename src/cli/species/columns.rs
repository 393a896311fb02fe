//! The columns of a list of species, and rows of text in columns.

use std::io::{self, Write};

use super::bars::class_word;
use super::filters::Sieve;
use super::stands::score;
use super::trait_query::{NAMES, trait_named};
use super::{Opened, SpeciesCommandError};
use crate::factor::Units;
use crate::species::{SourceKind, Species, trait_label, trait_shown};

/// Traits that are shown unless the person names columns.
const USUAL: [&str; 5] = ["id", "common_name", "form", "height_m", "bloom_months"];

/// Stands after a value that is remembered and not looked up.
pub(super) const MEMORY_MARK: &str = "*";

/// The word for the column that lists factors with opinions.
const FACTORS: &str = "factors";

/// One column.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Column {
    /// A name or a trait.
    Trait(String),
    /// The factors on which the species has an opinion.
    Factors,
    /// The score on the value asked for at this place.
    Stands(usize),
}

impl Column {
    /// The columns that a person named, parted by commas; else the usual ones, with all
    /// that is asked about.
    ///
    /// # Errors
    /// A name that is no trait.
    pub(super) fn read(
        named: Option<&str>,
        sieve: &Sieve<'_>,
        opened: &Opened,
    ) -> Result<Vec<Column>, SpeciesCommandError> {
        if let Some(named) = named {
            return named
                .split(',')
                .map(|name| match name.trim() {
                    FACTORS => Ok(Column::Factors),
                    name => trait_named(name, &opened.catalogue).map(Column::Trait),
                })
                .collect();
        }
        let mut names: Vec<&str> = USUAL.to_vec();
        for question in &sieve.questions {
            if !names.contains(&question.name.as_str()) {
                names.push(&question.name);
            }
        }
        let traits = names.into_iter().map(|name| Column::Trait(name.to_owned()));
        Ok(traits
            .chain((0..sieve.ground.len()).map(Column::Stands))
            .collect())
    }

    /// What stands over the column.
    pub(super) fn head(&self, sieve: &Sieve<'_>, units: Units) -> String {
        match self {
            Column::Trait(name) => match name.as_str() {
                "scientific_name" => "scientific name".to_owned(),
                "common_name" => "common name".to_owned(),
                name => trait_label(name, units).to_owned(),
            },
            Column::Factors => "opinions on".to_owned(),
            Column::Stands(place) => sieve.ground[*place].written.clone(),
        }
    }

    /// The cell of a species; empty where nothing is recorded.
    pub(super) fn cell(&self, species: &Species, sieve: &Sieve<'_>, opened: &Opened, units: Units) -> String {
        match self {
            Column::Trait(name) if NAMES.contains(&name.as_str()) => name_of(species, name).to_owned(),
            Column::Trait(name) => species.trait_of(name).map_or_else(String::new, |value| {
                let source = opened.catalogue.source(&value.source);
                let remembered = source.is_some_and(|source| source.kind == SourceKind::FromMemory);
                let mark = if remembered { MEMORY_MARK } else { "" };
                format!("{}{mark}", trait_shown(name, &value.value, units))
            }),
            Column::Factors => factors_of(species).join(" "),
            Column::Stands(place) => score(species, &sieve.ground[*place], &sieve.ground)
                .map_or_else(String::new, |score| format!("{} {score:.2}", class_word(score))),
        }
    }
}

fn name_of<'a>(species: &'a Species, name: &str) -> &'a str {
    match name {
        "id" => &species.id,
        "scientific_name" => &species.scientific_name,
        "common_name" => &species.common_name,
        _ => species.form.word(),
    }
}

/// The factors on which a species has an opinion, in their order.
pub(super) fn factors_of(species: &Species) -> Vec<&str> {
    let mut factors: Vec<&str> = Vec::new();
    for opinion in &species.opinions {
        if !factors.contains(&opinion.factor.as_str()) {
            factors.push(&opinion.factor);
        }
    }
    factors
}

/// Writes rows with their cells one under the other.
pub(super) fn write_rows(rows: &[Vec<String>], out: &mut dyn Write) -> io::Result<()> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns)
        .map(|column| {
            let cells = rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
        })
        .collect();
    for row in rows {
        let cells = row.iter().zip(&widths);
        let line: Vec<String> = cells.map(|(cell, width)| format!("{cell:width$}")).collect();
        writeln!(out, "{}", line.join("  ").trim_end())?;
    }
    Ok(())
}
