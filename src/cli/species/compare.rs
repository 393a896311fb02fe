//! `groundfit species compare`: two profiles side by side.

use std::io::{self, Write};

use clap::Args;

use super::comparison::{Comparison, ResponsePair, Stood, TraitPair};
use super::source_numbers::SourceNumbers;
use super::trait_query::PLACES;
use super::wrapping::{PAGE, hanging, wrapped};
use super::{Opened, Place, Reading, SpeciesCommandError, write_json};
use crate::factor::Units;
use crate::species::{Species, Trait, abbreviated, trait_label, trait_shown};

/// Columns for what stands before the two.
const HEAD: usize = 34;

/// Two species side by side: the traits that differ, the scores, what only one stands.
#[derive(Debug, Args)]
#[command(
    after_help = "Scores are told with the usual class limits: S1 from 0.85, S2 from 0.60, S3 from 0.40, N below.

Examples:
  groundfit species compare 'red maple' 'sugar maple'
  groundfit species compare carex-stricta carex-pensylvanica --units us
  groundfit species compare 'red maple' 'sugar maple' --json"
)]
pub(super) struct CompareArgs {
    /// Id, scientific or common name of one species
    one: String,
    /// And of the other
    other: String,
    #[command(flatten)]
    pub(super) place: Place,
    #[command(flatten)]
    reading: Reading,
}

pub(super) fn compare(
    args: &CompareArgs,
    opened: &Opened,
    out: &mut dyn Write,
) -> Result<(), SpeciesCommandError> {
    let pair = [opened.species(&args.one)?, opened.species(&args.other)?];
    if args.place.json {
        return write_json(&Comparison::of(pair, opened, Units::Metric), out);
    }
    let units = args.reading.units.unwrap_or(opened.units);
    let comparison = Comparison::of(pair, opened, units);
    let mut numbers = SourceNumbers::new(&opened.catalogue);
    write_pair("", &pair.map(|species| species.common_name.clone()), out)?;
    write_pair("", &pair.map(|species| species.scientific_name.clone()), out)?;
    write_pair("  form", &pair.map(|species| species.form.word().to_owned()), out)?;
    writeln!(out, "\nTraits that differ ({} are alike)", comparison.alike)?;
    for both in &comparison.differing {
        write_trait(both, units, &mut numbers, out)?;
    }
    writeln!(out, "\nWhat they stand")?;
    for response in &comparison.responses {
        write_response(response, out)?;
    }
    for (place, stood) in comparison.stood_by_one.iter().enumerate() {
        write_stood(pair[place], pair[1 - place], stood, out)?;
    }
    numbers.write(out)?;
    Ok(())
}

/// One line of three columns, or more where a text is long.
fn write_pair(head: &str, cells: &[String; 2], out: &mut dyn Write) -> io::Result<()> {
    let width = (PAGE - HEAD - 2) / 2;
    let indent = head.len() - head.trim_start().len();
    let heads = wrapped(head, HEAD - indent - 1);
    let cells = [wrapped(&cells[0], width), wrapped(&cells[1], width)];
    let lines = heads.len().max(cells[0].len()).max(cells[1].len());
    for line in 0..lines {
        let of = |texts: &[String]| texts.get(line).cloned().unwrap_or_default();
        let head = format!("{:indent$}{}", "", of(&heads));
        let text = format!("{head:HEAD$}{:width$}  {}", of(&cells[0]), of(&cells[1]));
        writeln!(out, "{}", text.trim_end())?;
    }
    Ok(())
}

fn write_trait<'a>(
    both: &TraitPair<'a>,
    units: Units,
    numbers: &mut SourceNumbers<'a>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut told = |held: Option<&'a Trait>, other: Option<&Trait>| match held {
        Some(held) => {
            let text = match other {
                Some(other) if both.name == PLACES => places_beyond(&held.value, &other.value),
                _ => trait_shown(both.name, &held.value, units),
            };
            format!("{text} {}", numbers.mark(&held.source))
        }
        None => "not recorded".to_owned(),
    };
    let cells = [
        told(both.values[0], both.values[1]),
        told(both.values[1], both.values[0]),
    ];
    let label = trait_label(both.name, units);
    write_pair(&format!("  {label}"), &cells, out)
}

/// Places of one list that are not in the other.
fn places_beyond(list: &str, other: &str) -> String {
    let others: Vec<&str> = other.split(';').map(str::trim).collect();
    let beyond: Vec<&str> = list
        .split(';')
        .map(str::trim)
        .filter(|place| !others.contains(place))
        .collect();
    if beyond.is_empty() {
        "nowhere else".to_owned()
    } else {
        format!("also in {}", abbreviated(&beyond.join("; ")))
    }
}

fn write_response(response: &ResponsePair<'_>, out: &mut dyn Write) -> io::Result<()> {
    let given = match &response.given {
        Some(given) => format!(" where {given}"),
        None => String::new(),
    };
    if response.alike {
        return writeln!(
            out,
            "{}",
            hanging("  ", &format!("{}{given}: alike", response.factor))
        );
    }
    writeln!(out, "{}", hanging("  ", &format!("{}{given}", response.factor)))?;
    for row in &response.rows {
        let cell = |place: usize| match (row.classes[place], row.scores[place]) {
            (Some(class), Some(score)) => format!("{class:2} {score:.2}"),
            _ => "not known".to_owned(),
        };
        write_pair(&format!("    {}", row.at), &[cell(0), cell(1)], out)?;
    }
    Ok(())
}

fn write_stood(
    species: &Species,
    other: &Species,
    stood: &[Stood<'_>],
    out: &mut dyn Write,
) -> io::Result<()> {
    if stood.is_empty() {
        return writeln!(
            out,
            "\n{} stands nothing that {} does not",
            species.common_name, other.common_name
        );
    }
    writeln!(
        out,
        "\n{} stands, and {} does not",
        species.common_name, other.common_name
    )?;
    for stood in stood {
        let given = match &stood.given {
            Some(given) => format!(" where {given}"),
            None => String::new(),
        };
        let head = format!("  {}{given}: ", stood.factor);
        if head.len() < PAGE / 2 {
            writeln!(out, "{}", hanging(&head, &stood.values.join(", ")))?;
        } else {
            writeln!(
                out,
                "{}",
                hanging("  ", &format!("{}{}", head.trim_start(), stood.values.join(", ")))
            )?;
        }
    }
    Ok(())
}
