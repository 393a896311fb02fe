//! `groundfit species export`: the catalogue as files of a user's own, with every
//! derived response written out. Nothing is overwritten unless asked for.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;

use super::export_readme::readme;
use super::profile_json::given_text;
use super::{Opened, Place, SpeciesCommandError, write_json};
use crate::plural::counted;
use crate::species::{SetAside, Source, Species, print_response};

/// The word of a line that is told but not used.
const SET_ASIDE: &str = "set aside";

/// Write the catalogue as CSV files, every derived response as a line of its own.
#[derive(Debug, Args)]
#[command(
    after_help = "Writes species.csv, traits.csv, tolerances.csv, sources.csv and README.md. Change them as you
like and name the folder in a project: [catalogue] folder = \"my-catalogue\".

Examples:
  groundfit species export my-catalogue
  groundfit species export my-catalogue --overwrite
  groundfit species export merged --project site.toml    a project's own values over the starter's"
)]
pub(super) struct ExportArgs {
    /// The folder for the files; made if it is not there
    folder: PathBuf,
    /// Replace files that are there already
    #[arg(long)]
    overwrite: bool,
    #[command(flatten)]
    pub(super) place: Place,
}

pub(super) fn export(
    args: &ExportArgs,
    opened: &Opened,
    out: &mut dyn Write,
) -> Result<(), SpeciesCommandError> {
    if opened.errors() > 0 {
        return Err(SpeciesCommandError::Faulty {
            errors: opened.errors(),
        });
    }
    let files = [
        ("species.csv", species_csv(opened)?),
        ("traits.csv", traits_csv(opened)?),
        ("tolerances.csv", tolerances_csv(opened)?),
        ("sources.csv", sources_csv(opened)?),
        ("README.md", readme(opened)),
    ];
    let there: Vec<String> = files
        .iter()
        .map(|(name, _)| (*name).to_owned())
        .filter(|name| args.folder.join(name).exists())
        .collect();
    if !there.is_empty() && !args.overwrite {
        return Err(SpeciesCommandError::Exists {
            folder: args.folder.clone(),
            files: there,
        });
    }
    write_files(&args.folder, &files)?;
    let names: Vec<&str> = files.iter().map(|(name, _)| *name).collect();
    if args.place.json {
        return write_json(&serde_json::json!({ "folder": args.folder, "files": names }), out);
    }
    let responses: usize = opened
        .catalogue
        .species
        .iter()
        .map(|species| species.opinions.len())
        .sum();
    writeln!(
        out,
        "wrote {} to {}: {} species, {}",
        names.join(", "),
        args.folder.display(),
        opened.catalogue.species.len(),
        counted(responses, "response")
    )?;
    Ok(())
}

/// Writes all files under other names first, so that none is half written.
fn write_files(folder: &Path, files: &[(&str, String)]) -> Result<(), SpeciesCommandError> {
    let refused = |path: &Path| {
        let path = path.to_owned();
        move |source| SpeciesCommandError::Unwritable { path, source }
    };
    std::fs::create_dir_all(folder).map_err(refused(folder))?;
    let partial = |name: &str| folder.join(format!("{name}.partial"));
    for (name, text) in files {
        let path = partial(name);
        if let Err(source) = std::fs::write(&path, text) {
            for (name, _) in files {
                // What is not there needs no removing.
                let _ = std::fs::remove_file(partial(name));
            }
            return Err(SpeciesCommandError::Unwritable { path, source });
        }
    }
    for (name, _) in files {
        let path = folder.join(name);
        std::fs::rename(partial(name), &path).map_err(refused(&path))?;
    }
    Ok(())
}

/// Rows as comma-separated text.
fn csv_text(rows: impl IntoIterator<Item = Vec<String>>) -> Result<String, SpeciesCommandError> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        writer.write_record(&row).map_err(std::io::Error::from)?;
    }
    let bytes = writer.into_inner().map_err(csv::IntoInnerError::into_error)?;
    String::from_utf8(bytes)
        .map_err(|error| std::io::Error::new(std::io::ErrorKind::InvalidData, error).into())
}

fn heads(names: &[&str]) -> Vec<String> {
    names.iter().map(|&name| name.to_owned()).collect()
}

fn species_csv(opened: &Opened) -> Result<String, SpeciesCommandError> {
    let row = |species: &Species| {
        vec![
            species.id.clone(),
            species.scientific_name.clone(),
            species.common_name.clone(),
            species.form.word().to_owned(),
        ]
    };
    let rows = opened.catalogue.species.iter().map(row);
    let heads = heads(&["id", "scientific_name", "common_name", "form"]);
    csv_text([heads].into_iter().chain(rows))
}

fn traits_csv(opened: &Opened) -> Result<String, SpeciesCommandError> {
    let mut rows = vec![heads(&[
        "species", "trait", "value", "source", "note", "standing",
    ])];
    for species in &opened.catalogue.species {
        for value in &species.traits {
            let start = [species.id.clone(), value.name.clone()];
            rows.push(used(&start, &value.value, &value.source, &value.note));
            rows.extend(value.set_aside.iter().map(|aside| unused(&start, aside)));
        }
    }
    csv_text(rows)
}

fn tolerances_csv(opened: &Opened) -> Result<String, SpeciesCommandError> {
    let mut rows = vec![heads(&[
        "species", "factor", "given", "response", "source", "note", "standing",
    ])];
    for species in &opened.catalogue.species {
        for opinion in &species.opinions {
            // A factor that is not there is an error of the catalogue, which is refused.
            let Some(factor) = opened.factor(&opinion.factor) else {
                continue;
            };
            let given = given_text(opinion, opened).unwrap_or_default();
            let start = [species.id.clone(), opinion.factor.clone(), given];
            let response = print_response(&opinion.response, factor);
            rows.push(used(&start, &response, &opinion.source, &opinion.note));
            rows.extend(opinion.set_aside.iter().map(|aside| unused(&start, aside)));
        }
    }
    csv_text(rows)
}

fn used(start: &[String], value: &str, source: &str, note: &str) -> Vec<String> {
    let rest = [value, source, note, ""].map(str::to_owned);
    start.iter().cloned().chain(rest).collect()
}

fn unused(start: &[String], aside: &SetAside) -> Vec<String> {
    let rest = [&aside.value, &aside.source, &aside.note];
    let rest = rest.into_iter().cloned().chain([SET_ASIDE.to_owned()]);
    start.iter().cloned().chain(rest).collect()
}

fn sources_csv(opened: &Opened) -> Result<String, SpeciesCommandError> {
    let row = |source: &Source| {
        vec![
            source.id.clone(),
            source.kind.words().to_owned(),
            source.title.clone(),
            source.author.clone(),
            source.year.clone(),
            source.publisher.clone(),
            source.note.clone(),
        ]
    };
    let heads = heads(&["id", "kind", "title", "author", "year", "publisher", "note"]);
    csv_text(
        [heads]
            .into_iter()
            .chain(opened.catalogue.sources.iter().map(row)),
    )
}
