//! `groundfit species import`: a user's own table as a catalogue in a folder, whole
//! or not at all.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;

use super::{Outcome, SpeciesCommandError, outcome};
use crate::factor::Factor;
use crate::output::{Expected, OutputError, PartialFolder};
use crate::plural::counted;
use crate::species::{Catalogue, CatalogueBytes, CataloguePaths, Problem, SpeciesError, import};

/// A catalogue from a table of your own, one row a species, by a mapping of its columns.
#[derive(Debug, Args)]
pub(super) struct ImportArgs {
    /// The table: one row a species, columns under headers, parted by comma, semicolon or tab
    table: PathBuf,
    /// TOML file that tells which column is which trait
    #[arg(long, value_name = "FILE")]
    mapping: PathBuf,
    /// Folder to write; must not exist or be empty
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
    /// Read and check all, write nothing
    #[arg(long)]
    dry_run: bool,
}

/// Imports and writes; problems are told and, where one is an error, nothing is
/// written.
pub(super) fn run(args: &ImportArgs, out: &mut dyn Write) -> Result<Outcome, SpeciesCommandError> {
    let factors: Vec<Factor> = Factor::standard_ids().filter_map(Factor::standard).collect();
    let table = read(&args.table)?;
    let mapping = String::from_utf8_lossy(&read(&args.mapping)?).into_owned();
    let (imported, mut problems) = import((&args.table, &table), (&args.mapping, &mapping), &factors);
    let files = imported.files(&factors);
    if !problems.iter().any(Problem::is_error) {
        problems.extend(checked(&args.out, &files, &factors));
    }
    for problem in &problems {
        writeln!(out, "{}: {problem}", problem.severity)?;
    }
    let found = format!(
        "{} species, {}, {} by the rules",
        imported.catalogue.species.len(),
        counted(imported.traits, "trait"),
        counted(imported.responses, "response")
    );
    let result = outcome(&problems);
    if result == Outcome::Problems {
        let errors = problems.iter().filter(|problem| problem.is_error()).count();
        writeln!(out, "\n{found}: {}, nothing written", counted(errors, "error"))?;
    } else if args.dry_run {
        writeln!(out, "{found}; nothing written")?;
    } else {
        write(&args.out, &files)?;
        writeln!(out, "{found}: {}", args.out.display())?;
    }
    Ok(result)
}

fn read(path: &Path) -> Result<Vec<u8>, SpeciesCommandError> {
    fs::read(path).map_err(|error| {
        let files = vec![format!("{}: {error}", path.display())];
        SpeciesCommandError::Catalogue(SpeciesError::Unreadable { files })
    })
}

/// What a check of the written folder would tell.
fn checked(folder: &Path, files: &[(&str, Vec<u8>, u64)], factors: &[Factor]) -> Vec<Problem> {
    let of = |name: &str| {
        let file = files.iter().find(|(held, ..)| *held == name);
        file.map_or(&[][..], |(_, bytes, _)| bytes.as_slice())
    };
    let paths = CataloguePaths {
        traits: Some(folder.join("traits.csv")),
        ..CataloguePaths::in_folder(folder)
    };
    let bytes = CatalogueBytes {
        species: of("species.csv"),
        traits: Some(of("traits.csv")),
        tolerances: of("tolerances.csv"),
        sources: of("sources.csv"),
    };
    Catalogue::from_bytes(&paths, bytes, factors).1
}

fn write(folder: &Path, files: &[(&str, Vec<u8>, u64)]) -> Result<(), SpeciesCommandError> {
    let mut partial = PartialFolder::create(folder, false, None)?;
    for (name, bytes, rows) in files {
        let path = partial.file(name);
        fs::write(&path, bytes).map_err(OutputError::write(&path))?;
        partial.expect(name, Expected::Csv { rows: *rows });
    }
    partial.finish()?;
    Ok(())
}
