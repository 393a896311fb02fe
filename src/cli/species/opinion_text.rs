//! What a species stands, as a person reads it: one block a response, with a plot, its
//! source, and what other sources say.

use std::io::{self, Write};

use super::Opened;
use super::bars::class_bars;
use super::curve_plot::plot;
use super::profile_json::given_text;
use super::source_numbers::SourceNumbers;
use super::wrapping::hanging;
use crate::factor::{Factor, Kind, Units};
use crate::species::{Opinion, Response, Species, print_response, told_note};

/// All responses of a species.
pub(super) fn write_opinions<'a>(
    species: &'a Species,
    opened: &Opened,
    units: Units,
    numbers: &mut SourceNumbers<'a>,
    out: &mut dyn Write,
) -> io::Result<()> {
    writeln!(
        out,
        "\nWhat it stands (scores from 0, does not live there, to 1, could not be better)"
    )?;
    for opinion in &species.opinions {
        if let Some(factor) = opened.factor(&opinion.factor) {
            write_opinion(opinion, factor, opened, units, numbers, out)?;
        }
    }
    write_silence(species, &opened.factors, out)
}

fn write_opinion<'a>(
    opinion: &'a Opinion,
    factor: &Factor,
    opened: &Opened,
    units: Units,
    numbers: &mut SourceNumbers<'a>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let source = numbers.mark(&opinion.source);
    let unit = match factor.kind {
        Kind::Measured(unit) => format!(", {}", unit.for_people(0.0, units).1),
        Kind::Classes { .. } => String::new(),
    };
    writeln!(out, "\n  {}{unit} {source}", factor.id)?;
    if let Some(given) = given_text(opinion, opened) {
        writeln!(out, "{}", hanging("    only where ", &given))?;
    }
    let lines = match &opinion.response {
        Response::Classes(scores) => class_bars(scores, factor),
        response => plot(response, factor, units),
    };
    for line in lines {
        writeln!(out, "    {line}")?;
    }
    if let Kind::Measured(unit) = factor.kind {
        let written = print_response(&opinion.response, factor);
        writeln!(out, "{}", hanging("    ", &format!("{written} ({unit})")))?;
    }
    let note = told_note(&opinion.note, &opinion.set_aside);
    if let Some(note) = note.strip_prefix("; ") {
        writeln!(out, "{}", hanging("    ", note))?;
    }
    for aside in &opinion.set_aside {
        writeln!(out, "{}", hanging("    ", &numbers.aside(&aside.value, aside)))?;
    }
    Ok(())
}

/// Decisive factors on which the species says nothing.
fn write_silence(species: &Species, factors: &[Factor], out: &mut dyn Write) -> io::Result<()> {
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
