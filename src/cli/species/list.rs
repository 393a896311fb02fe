//! `groundfit species list`: one line a species, narrowed down by filters.

use std::io::Write;

use clap::Args;
use serde::Serialize;

use super::{Place, SpeciesCommandError, write_json};
use crate::factor::{Factor, Harmless, Kind};
use crate::species::{Catalogue, Form, Species};

/// The lowest score that counts as standing a value: the default limit of class S2.
const STANDS_FROM: f64 = 0.60;

#[derive(Debug, Args)]
pub(super) struct ListArgs {
    #[command(flatten)]
    pub(super) place: Place,
    /// Only this growth form: tree, shrub, grass, forb or fern
    #[arg(long)]
    form: Option<String>,
    /// Only names that hold this text
    #[arg(long, value_name = "TEXT")]
    name: Option<String>,
    /// Only species that stand this value (score 0.60 or more); may be given several times
    #[arg(long, value_name = "FACTOR=VALUE")]
    stands: Vec<String>,
    /// Only species without an opinion on this factor
    #[arg(long, value_name = "FACTOR")]
    no_opinion: Option<String>,
}

/// One value of the ground, asked for by `--stands`.
struct Ground<'a> {
    factor: &'a Factor,
    value: f32,
}

/// Whether a species stands all that was asked.
enum Stands {
    Yes,
    No,
    Unknown(String),
}

#[derive(Serialize)]
struct Line<'a> {
    id: &'a str,
    scientific_name: &'a str,
    common_name: &'a str,
    form: Form,
    /// Factors on which the species has an opinion.
    factors: Vec<&'a str>,
}

#[derive(Serialize)]
struct Unknown<'a> {
    id: &'a str,
    /// The factor that lacks.
    factor: String,
}

pub(super) fn list(
    args: &ListArgs,
    catalogue: &Catalogue,
    factors: &[Factor],
    out: &mut dyn Write,
) -> Result<(), SpeciesCommandError> {
    let form = args.form.as_deref().map(find_form).transpose()?;
    let without = args
        .no_opinion
        .as_deref()
        .map(|id| find_factor(id, factors))
        .transpose()?;
    let ground: Vec<Ground<'_>> = args
        .stands
        .iter()
        .map(|text| read_ground(text, factors))
        .collect::<Result<_, _>>()?;
    let mut lines = Vec::new();
    let mut unknown = Vec::new();
    for species in &catalogue.species {
        let wanted = form.is_none_or(|form| species.form == form)
            && args.name.as_deref().is_none_or(|text| is_named(species, text))
            && without.is_none_or(|factor| species.opinions_on(&factor.id).next().is_none());
        if !wanted {
            continue;
        }
        match stands(species, &ground) {
            Stands::Yes => lines.push(line(species)),
            Stands::No => {}
            Stands::Unknown(factor) => unknown.push(Unknown {
                id: &species.id,
                factor,
            }),
        }
    }
    if args.place.json {
        return write_json(&serde_json::json!({ "species": lines, "unknown": unknown }), out);
    }
    write_lines(&lines, out)?;
    writeln!(out, "{} of {} species", lines.len(), catalogue.species.len())?;
    if !unknown.is_empty() {
        writeln!(out, "not known, because nothing is recorded that holds there:")?;
        for species in &unknown {
            writeln!(out, "  {} (on {})", species.id, species.factor)?;
        }
    }
    Ok(())
}

fn line(species: &Species) -> Line<'_> {
    let mut factors: Vec<&str> = Vec::new();
    for opinion in &species.opinions {
        if !factors.contains(&opinion.factor.as_str()) {
            factors.push(&opinion.factor);
        }
    }
    Line {
        id: &species.id,
        scientific_name: &species.scientific_name,
        common_name: &species.common_name,
        form: species.form,
        factors,
    }
}

fn write_lines(lines: &[Line<'_>], out: &mut dyn Write) -> Result<(), SpeciesCommandError> {
    let width = |text: &dyn Fn(&Line<'_>) -> usize| lines.iter().map(text).max().unwrap_or(0);
    let ids = width(&|line| line.id.chars().count());
    let names = width(&|line| line.scientific_name.chars().count());
    let common = width(&|line| line.common_name.chars().count());
    for line in lines {
        writeln!(
            out,
            "{:ids$}  {:names$}  {:common$}  {:5}  {}",
            line.id,
            line.scientific_name,
            line.common_name,
            line.form.word(),
            line.factors.join(" ")
        )?;
    }
    Ok(())
}

fn is_named(species: &Species, text: &str) -> bool {
    let text = text.to_lowercase();
    let names = [&species.id, &species.scientific_name, &species.common_name];
    names.iter().any(|name| name.to_lowercase().contains(&text))
        || species.synonyms().any(|name| name.to_lowercase().contains(&text))
}

fn find_form(word: &str) -> Result<Form, SpeciesCommandError> {
    Form::from_word(word).ok_or_else(|| {
        let words = Form::ALL.map(Form::word).join(", ");
        refused(format!("`{word}` is no growth form; there are {words}"))
    })
}

fn find_factor<'a>(id: &str, factors: &'a [Factor]) -> Result<&'a Factor, SpeciesCommandError> {
    factors
        .iter()
        .find(|factor| factor.id == id.trim())
        .ok_or_else(|| {
            let ids: Vec<&str> = factors.iter().map(|factor| factor.id.as_str()).collect();
            refused(format!(
                "there is no factor `{}`; there are {}",
                id.trim(),
                ids.join(", ")
            ))
        })
}

fn refused(fault: String) -> SpeciesCommandError {
    SpeciesCommandError::Filter { fault }
}

fn read_ground<'a>(text: &str, factors: &'a [Factor]) -> Result<Ground<'a>, SpeciesCommandError> {
    let (id, value) = text
        .split_once('=')
        .ok_or_else(|| refused(format!("`--stands {text}` needs the form factor=value")))?;
    let factor = find_factor(id, factors)?;
    let value = match &factor.kind {
        Kind::Classes { names, .. } => factor.kind.class_index(value).map(f32::from).ok_or_else(|| {
            refused(format!(
                "`{value}` is no class of {}, which has {}",
                factor.id,
                names.join(", ")
            ))
        })?,
        Kind::Measured(unit) => value
            .trim()
            .parse()
            .ok()
            .filter(|number: &f32| number.is_finite())
            .ok_or_else(|| {
                refused(format!(
                    "`{value}` is no number for {}, which is measured in {unit}",
                    factor.id
                ))
            })?,
    };
    Ok(Ground { factor, value })
}

/// One factor not stood settles it, whatever else is unknown.
fn stands(species: &Species, ground: &[Ground<'_>]) -> Stands {
    let mut lacking = None;
    for asked in ground {
        match score(species, asked, ground) {
            Some(score) if score < STANDS_FROM => return Stands::No,
            Some(_) => {}
            None => {
                lacking.get_or_insert_with(|| asked.factor.id.clone());
            }
        }
    }
    lacking.map_or(Stands::Yes, Stands::Unknown)
}

/// The score on one value; nothing where the species has no opinion that is
/// known to hold and the value is not harmless.
fn score(species: &Species, asked: &Ground<'_>, ground: &[Ground<'_>]) -> Option<f64> {
    let holding = species.opinions_on(&asked.factor.id).find(|opinion| {
        opinion.given.as_ref().is_none_or(|given| {
            let decides = ground.iter().find(|other| other.factor.id == given.factor);
            decides.is_some_and(|other| given.holds_for(other.value))
        })
    });
    let score = holding.and_then(|opinion| opinion.response.score(asked.value));
    let harmless = match asked.factor.harmless {
        Harmless::Nothing => false,
        Harmless::Below(limit) => f64::from(asked.value) < limit,
        Harmless::UpToClass { last, .. } => asked.value <= f32::from(last),
    };
    score.map(crate::score::Score::get).or(harmless.then_some(1.0))
}
