//! `groundfit species show`: one species with all its values and their
//! numbered sources, each response drawn as bars.

use std::io::Write;

use clap::Args;
use serde::Serialize;

use super::{Place, SpeciesCommandError, write_json};
use crate::factor::{Factor, Kind};
use crate::species::{
    Catalogue, Form, Opinion, Response, Source, Species, Trait, print_condition, print_response,
};

/// Signs in the bar of a score of 1.
const BAR: f64 = 20.0;

#[derive(Debug, Args)]
pub(super) struct ShowArgs {
    /// Id, scientific or common name
    name: String,
    #[command(flatten)]
    pub(super) place: Place,
}

#[derive(Serialize)]
struct Shown<'a> {
    id: &'a str,
    scientific_name: &'a str,
    common_name: &'a str,
    form: Form,
    traits: &'a [Trait],
    responses: Vec<ShownResponse<'a>>,
    sources: Vec<&'a Source>,
}

#[derive(Serialize)]
struct ShownResponse<'a> {
    factor: &'a str,
    given: Option<String>,
    response: String,
    source: &'a str,
    note: &'a str,
}

pub(super) fn show(
    args: &ShowArgs,
    catalogue: &Catalogue,
    factors: &[Factor],
    out: &mut dyn Write,
) -> Result<(), SpeciesCommandError> {
    let Some(species) = catalogue.find(&args.name) else {
        return Err(SpeciesCommandError::NoSpecies {
            name: args.name.clone(),
            near: catalogue
                .nearest_ids(&args.name)
                .into_iter()
                .map(str::to_owned)
                .collect(),
        });
    };
    let sources = Numbered::of(species);
    if args.place.json {
        return write_json(&shown(species, catalogue, factors, &sources), out);
    }
    writeln!(out, "{} ({})", species.common_name, species.scientific_name)?;
    writeln!(out, "{}, id {}", species.form.word(), species.id)?;
    if !species.traits.is_empty() {
        writeln!(out, "\nTraits")?;
        let width = species
            .traits
            .iter()
            .map(|value| value.name.chars().count())
            .max()
            .unwrap_or(0);
        for value in &species.traits {
            writeln!(
                out,
                "  {:width$}  {} [{}]",
                value.name,
                value.value,
                sources.number(&value.source)
            )?;
        }
    }
    if species.trait_of("toxicity").is_none() {
        writeln!(
            out,
            "  toxicity is not recorded here, which does not mean that the plant is safe"
        )?;
    }
    writeln!(
        out,
        "\nWhat it stands (scores from 0, does not live there, to 1, could not be better)"
    )?;
    for opinion in &species.opinions {
        write_opinion(opinion, factors, sources.number(&opinion.source), out)?;
    }
    write_silence(species, factors, out)?;
    writeln!(out, "\nSources")?;
    for (place, id) in sources.ids.iter().enumerate() {
        let citation = catalogue
            .source(id)
            .map_or_else(|| format!("`{id}`, not in the sources file"), Source::citation);
        writeln!(out, "  [{}] {citation}", place + 1)?;
    }
    Ok(())
}

/// The sources of one species in the order in which they are met.
struct Numbered<'a> {
    ids: Vec<&'a str>,
}

impl Numbered<'_> {
    fn of(species: &Species) -> Numbered<'_> {
        let traits = species.traits.iter().map(|value| value.source.as_str());
        let opinions = species.opinions.iter().map(|opinion| opinion.source.as_str());
        let mut ids = Vec::new();
        for id in traits.chain(opinions) {
            if !ids.contains(&id) {
                ids.push(id);
            }
        }
        Numbered { ids }
    }

    fn number(&self, id: &str) -> usize {
        self.ids
            .iter()
            .position(|other| *other == id)
            .map_or(0, |place| place + 1)
    }
}

fn shown<'a>(
    species: &'a Species,
    catalogue: &'a Catalogue,
    factors: &[Factor],
    sources: &Numbered<'_>,
) -> Shown<'a> {
    let responses = species.opinions.iter().filter_map(|opinion| {
        let factor = factors.iter().find(|factor| factor.id == opinion.factor)?;
        Some(ShownResponse {
            factor: &opinion.factor,
            given: opinion
                .given
                .as_ref()
                .map(|given| print_condition(given, factors)),
            response: print_response(&opinion.response, factor),
            source: &opinion.source,
            note: &opinion.note,
        })
    });
    Shown {
        id: &species.id,
        scientific_name: &species.scientific_name,
        common_name: &species.common_name,
        form: species.form,
        traits: &species.traits,
        responses: responses.collect(),
        sources: sources.ids.iter().filter_map(|id| catalogue.source(id)).collect(),
    }
}

fn write_opinion(
    opinion: &Opinion,
    factors: &[Factor],
    source: usize,
    out: &mut dyn Write,
) -> Result<(), SpeciesCommandError> {
    let Some(factor) = factors.iter().find(|factor| factor.id == opinion.factor) else {
        return Ok(());
    };
    write!(out, "\n  {}", factor.id)?;
    if let Kind::Measured(unit) = factor.kind {
        write!(out, ", {unit}")?;
    }
    writeln!(out, " [{source}]")?;
    if let Some(given) = &opinion.given {
        writeln!(out, "    only where {}", print_condition(given, factors))?;
    }
    write_bars(&opinion.response, factor, out)?;
    if !opinion.note.is_empty() {
        writeln!(out, "    note: {}", opinion.note)?;
    }
    Ok(())
}

/// One bar a class, or a bar at each bend of the response.
fn write_bars(response: &Response, factor: &Factor, out: &mut dyn Write) -> Result<(), SpeciesCommandError> {
    if let Response::Classes(scores) = response {
        let names = factor.kind.classes().unwrap_or_default();
        let width = names.iter().map(|name| name.chars().count()).max().unwrap_or(0);
        for (name, score) in names.iter().zip(scores) {
            match score {
                Some(score) => writeln!(out, "    {name:width$}  {}", bar(score.get()))?,
                None => writeln!(out, "    {name:width$}  not known")?,
            }
        }
        return Ok(());
    }
    for knot in response.knots() {
        #[expect(clippy::cast_possible_truncation, reason = "rasters hold single precision")]
        let score = response.score(knot as f32).map_or(0.0, crate::score::Score::get);
        writeln!(out, "    {:>8}  {}", short(knot), bar(score))?;
    }
    writeln!(
        out,
        "    {}; straight lines between, level beyond",
        print_response(response, factor)
    )?;
    Ok(())
}

/// At most three decimals, without trailing zeros.
fn short(number: f64) -> String {
    format!("{number:.3}")
        .trim_end_matches('0')
        .trim_end_matches('.')
        .to_owned()
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a score lies within 0 to 1"
)]
fn bar(score: f64) -> String {
    let length = (score * BAR).round() as usize;
    format!("|{:<20}| {score:.2}", "#".repeat(length))
}

/// Decisive factors on which the species says nothing.
fn write_silence(
    species: &Species,
    factors: &[Factor],
    out: &mut dyn Write,
) -> Result<(), SpeciesCommandError> {
    let speaks = |id: &str| species.opinions_on(id).next().is_some();
    let stood_in = |factor: &Factor| {
        factors
            .iter()
            .any(|other| other.stands_in_for.as_deref() == Some(factor.id.as_str()) && speaks(&other.id))
            || factor.stands_in_for.as_deref().is_some_and(speaks)
    };
    let silent: Vec<&str> = factors
        .iter()
        .filter(|factor| factor.decisive && !speaks(&factor.id) && !stood_in(factor))
        .map(|factor| factor.id.as_str())
        .collect();
    if !silent.is_empty() {
        writeln!(
            out,
            "\n  no opinion on {}: unknown wherever it may harm",
            silent.join(", ")
        )?;
    }
    Ok(())
}
