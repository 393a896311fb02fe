//! `groundfit species table`: which species suit which moisture in which light, to be
//! looked at as a whole.

use std::io::{self, Write};

use clap::{Args, ValueEnum};
use serde::Serialize;

use super::bars::class_word;
use super::filters::{Filters, WHERE_HELP};
use super::stands::{Ground, find_factor, score};
use super::wrapping::wrapped;
use super::{Opened, Place, SpeciesCommandError, write_json};
use crate::factor::{Factor, Kind};
use crate::species::{Form, Species};

/// Widest name of a species in the table.
const NAME: usize = 28;

/// Which species are well suited (1), suited (2) or barely suited (3) where, by water and light alone.
#[derive(Debug, Args)]
#[command(after_help = format!("Each cell is the lower of two scores, on water and on light, with the usual class limits. Light is
looked at as hours of sun where the species has an opinion on them, else as canopy.

{WHERE_HELP}

Examples:
  groundfit species table
  groundfit species table --by drainage --form grass
  groundfit species table --where 'present_in has Ohio' --json"))]
pub(super) struct TableArgs {
    #[command(flatten)]
    pub(super) place: Place,
    /// What parts the columns
    #[arg(long, value_enum, default_value = "moisture")]
    by: Water,
    #[command(flatten)]
    filters: Filters,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Water {
    Moisture,
    Drainage,
}

impl Water {
    fn id(self) -> &'static str {
        match self {
            Water::Moisture => "moisture",
            Water::Drainage => "drainage",
        }
    }
}

/// Light as hours of sun a day and as canopy in per cent.
#[derive(Serialize)]
struct Light {
    name: &'static str,
    sun_hours: f32,
    canopy: f32,
}

/// The middle of what the trade calls so (common practice, no source).
const LIGHTS: [Light; 3] = [
    Light {
        name: "full sun",
        sun_hours: 8.0,
        canopy: 0.0,
    },
    Light {
        name: "part shade",
        sun_hours: 4.5,
        canopy: 50.0,
    },
    Light {
        name: "shade",
        sun_hours: 1.5,
        canopy: 85.0,
    },
];

#[derive(Serialize)]
struct Row<'a> {
    id: &'a str,
    common_name: &'a str,
    form: Form,
    cells: Vec<Cell<'a>>,
}

#[derive(Serialize)]
struct Cell<'a> {
    water: &'a str,
    light: &'static str,
    /// The lower of the two scores; nothing where it is not known.
    score: Option<f64>,
    class: Option<&'static str>,
}

pub(super) fn table(
    args: &TableArgs,
    opened: &Opened,
    out: &mut dyn Write,
) -> Result<(), SpeciesCommandError> {
    let water = find_factor(args.by.id(), opened)?;
    let sifted = args.filters.read(opened)?.sift(&opened.catalogue.species);
    let mut rows: Vec<Row<'_>> = sifted
        .held
        .iter()
        .map(|species| row(species, water, opened))
        .collect::<Result<_, _>>()?;
    rows.sort_by(|one, other| (one.form, one.common_name).cmp(&(other.form, other.common_name)));
    if args.place.json {
        let unknown: Vec<&str> = sifted
            .unknown
            .iter()
            .map(|(species, _)| species.id.as_str())
            .collect();
        let value =
            serde_json::json!({ "by": water.id, "light": LIGHTS, "species": rows, "unknown": unknown });
        return write_json(&value, out);
    }
    write_table(&rows, water, out)?;
    if !sifted.unknown.is_empty() {
        writeln!(
            out,
            "{} more are left out, because what was asked is not recorded of them; `species list` names them",
            sifted.unknown.len()
        )?;
    }
    Ok(())
}

fn row<'a>(species: &'a Species, water: &'a Factor, opened: &Opened) -> Result<Row<'a>, SpeciesCommandError> {
    let names = water.kind.classes().unwrap_or_default();
    let mut cells = Vec::new();
    for (class, name) in (0_u16..).zip(names) {
        let wet = Ground {
            written: String::new(),
            factor: water,
            value: f32::from(class),
        };
        for light in &LIGHTS {
            let lit = lit(species, light, opened)?;
            let ground = [wet.clone(), lit];
            let scores = ground.each_ref().map(|asked| score(species, asked, &ground));
            let score = lower(scores);
            cells.push(Cell {
                water: name,
                light: light.name,
                score,
                class: score.map(class_word),
            });
        }
    }
    Ok(Row {
        id: &species.id,
        common_name: &species.common_name,
        form: species.form,
        cells,
    })
}

/// The light as the species has an opinion on it.
fn lit<'a>(species: &Species, light: &Light, opened: &'a Opened) -> Result<Ground<'a>, SpeciesCommandError> {
    let by_hours = species.opinions_on("sun_hours").next().is_some();
    let (id, value) = if by_hours {
        ("sun_hours", light.sun_hours)
    } else {
        ("canopy", light.canopy)
    };
    Ok(Ground {
        written: String::new(),
        factor: find_factor(id, opened)?,
        value,
    })
}

/// The lower of two scores. Where one is not known, a score in order N settles it all
/// the same.
fn lower(scores: [Option<f64>; 2]) -> Option<f64> {
    match scores {
        [Some(one), Some(other)] => Some(one.min(other)),
        [Some(one), None] | [None, Some(one)] => Some(one).filter(|score| class_word(*score) == "N"),
        [None, None] => None,
    }
}

fn sign(class: Option<&str>) -> char {
    match class {
        Some("S1") => '1',
        Some("S2") => '2',
        Some("S3") => '3',
        Some(_) => '.',
        None => '?',
    }
}

fn write_table(rows: &[Row<'_>], water: &Factor, out: &mut dyn Write) -> io::Result<()> {
    let Kind::Classes { names, .. } = &water.kind else {
        return Ok(());
    };
    let named: Vec<&str> = LIGHTS.iter().map(|light| light.name).collect();
    let lights: Vec<String> = LIGHTS
        .iter()
        .map(|light| format!("{} {} h or {} %", light.name, light.sun_hours, light.canopy))
        .collect();
    writeln!(
        out,
        "1 well suited, 2 suited, 3 barely suited, . not suited, ? not known; by {} and light alone",
        water.id
    )?;
    writeln!(out, "three signs a class: {}", named.join(", "))?;
    writeln!(out, "(hours of sun a day or canopy: {})", lights.join("; "))?;
    let heads: Vec<Vec<String>> = names
        .iter()
        .map(|name| wrapped(name.trim_end_matches(" drained"), 1))
        .collect();
    let widths: Vec<usize> = heads
        .iter()
        .map(|words| words.iter().map(String::len).max().unwrap_or(0).max(LIGHTS.len()))
        .collect();
    let line = |name: &str, cells: &[String]| {
        let cells = cells
            .iter()
            .zip(&widths)
            .map(|(cell, width)| format!("{cell:width$}"));
        let text = format!("{name:NAME$}  {}", cells.collect::<Vec<_>>().join("  "));
        text.trim_end().to_owned()
    };
    let tallest = heads.iter().map(Vec::len).max().unwrap_or(0);
    writeln!(out)?;
    for level in 0..tallest {
        let cells: Vec<String> = heads
            .iter()
            .map(|words| words.get(level).cloned().unwrap_or_default())
            .collect();
        writeln!(out, "{}", line("", &cells))?;
    }
    let mut form = None;
    for row in rows {
        if form != Some(row.form) {
            form = Some(row.form);
            writeln!(out, "{}", row.form.word())?;
        }
        let cells: Vec<String> = row
            .cells
            .chunks(LIGHTS.len())
            .map(|cells| cells.iter().map(|cell| sign(cell.class)).collect())
            .collect();
        let name: String = row.common_name.chars().take(NAME - 2).collect();
        writeln!(out, "{}", line(&format!("  {name}"), &cells))?;
    }
    let suited: Vec<String> = (0..names.len())
        .map(|class| count_suited(rows, class).to_string())
        .collect();
    writeln!(out, "{}", line("suited in any light", &suited))?;
    Ok(())
}

/// Species in class S1 or S2 in some light on one class of water.
fn count_suited(rows: &[Row<'_>], class: usize) -> usize {
    let suits = |row: &&Row<'_>| {
        let cells = row.cells.chunks(LIGHTS.len()).nth(class);
        let mut cells = cells.into_iter().flatten();
        cells.any(|cell| matches!(cell.class, Some("S1" | "S2")))
    };
    rows.iter().filter(suits).count()
}
