//! `groundfit species show`: one species as a person reads it, its traits by part of
//! the profile, its responses drawn, its sources numbered.

use std::collections::BTreeSet;
use std::io::{self, Write};

use clap::Args;

use super::opinion_text::write_opinions;
use super::profile_json::ProfileJson;
use super::source_numbers::SourceNumbers;
use super::wrapping::hanging;
use super::{Opened, Place, Reading, SpeciesCommandError, write_json};
use crate::factor::Units;
use crate::species::{Part, Species, told_note, trait_label, trait_shown};

/// Names, traits and responses of one species, with numbered sources.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  groundfit species show 'swamp milkweed'
  groundfit species show acer-rubrum --units us
  groundfit species show acer-rubrum --catalogue my-catalogue --json")]
pub(super) struct ShowArgs {
    /// Id, scientific or common name
    name: String,
    #[command(flatten)]
    pub(super) place: Place,
    #[command(flatten)]
    reading: Reading,
}

/// Hazards that are told even where nothing is recorded.
const HAZARDS: [&str; 2] = ["toxicity", "thorns"];

pub(super) fn show(args: &ShowArgs, opened: &Opened, out: &mut dyn Write) -> Result<(), SpeciesCommandError> {
    let species = opened.species(&args.name)?;
    if args.place.json {
        return write_profile_json(species, opened, out);
    }
    write_profile(species, opened, args.reading.units.unwrap_or(opened.units), out)?;
    Ok(())
}

/// The whole profile as text.
pub(super) fn write_profile(
    species: &Species,
    opened: &Opened,
    units: Units,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut numbers = SourceNumbers::new(&opened.catalogue);
    writeln!(out, "{} ({})", species.common_name, species.scientific_name)?;
    writeln!(out, "{}, id {}", species.form.word(), species.id)?;
    for part in Part::IN_ORDER {
        write_part(species, part, units, &mut numbers, out)?;
    }
    write_opinions(species, opened, units, &mut numbers, out)?;
    numbers.write(out)
}

fn write_profile_json(
    species: &Species,
    opened: &Opened,
    out: &mut dyn Write,
) -> Result<(), SpeciesCommandError> {
    let mut profile = serde_json::to_value(ProfileJson::of(species, opened))?;
    let named: BTreeSet<&str> = species.source_ids().collect();
    let sources = opened.catalogue.sources.iter();
    let sources: Vec<_> = sources
        .filter(|source| named.contains(source.id.as_str()))
        .collect();
    if let Some(fields) = profile.as_object_mut() {
        fields.insert("sources".to_owned(), serde_json::to_value(sources)?);
    }
    write_json(&profile, out)
}

fn write_part<'a>(
    species: &'a Species,
    part: Option<Part>,
    units: Units,
    numbers: &mut SourceNumbers<'a>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let traits = species.traits_in(part);
    let silent: Vec<&str> = HAZARDS
        .into_iter()
        .filter(|name| part == Some(Part::Hazards) && species.trait_of(name).is_none())
        .collect();
    let names = traits.iter().map(|value| value.name.as_str());
    let labels = names
        .chain(silent.iter().copied())
        .map(|name| trait_label(name, units));
    let Some(width) = labels.map(|label| label.chars().count()).max() else {
        return Ok(());
    };
    writeln!(out, "\n{}", part.map_or("Other traits", Part::heading))?;
    for value in traits {
        let head = format!("  {:width$}  ", trait_label(&value.name, units));
        let source = numbers.mark(&value.source);
        let told = format!(
            "{} {source}{}",
            trait_shown(&value.name, &value.value, units),
            told_note(&value.note, &value.set_aside)
        );
        writeln!(out, "{}", hanging(&head, &told))?;
        let indent = " ".repeat(width + 4);
        for aside in &value.set_aside {
            let text = numbers.aside(&trait_shown(&value.name, &aside.value, units), aside);
            writeln!(out, "{}", hanging(&indent, &text))?;
        }
    }
    for name in silent {
        writeln!(
            out,
            "  {:width$}  not recorded here, which does not mean that the plant is safe",
            trait_label(name, units)
        )?;
    }
    Ok(())
}
