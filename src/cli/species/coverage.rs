//! `groundfit species coverage`: how many profiles say something of each factor and
//! trait, and on what kind of source it rests.

use std::io::Write;

use clap::Args;

use super::columns::write_rows;
use super::{Opened, Place, SpeciesCommandError, write_json};
use crate::species::{Counts, SourceCounts};

/// How many profiles have an opinion on each factor, and what rests on which kind of source.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  groundfit species coverage
  groundfit species coverage --catalogue my-catalogue --json")]
pub(super) struct CoverageArgs {
    #[command(flatten)]
    pub(super) place: Place,
}

pub(super) fn coverage(
    args: &CoverageArgs,
    opened: &Opened,
    out: &mut dyn Write,
) -> Result<(), SpeciesCommandError> {
    let counts = SourceCounts::of(&opened.catalogue, &opened.factors);
    if args.place.json {
        return write_json(&counts, out);
    }
    writeln!(out, "{} species\n\nResponses to factors", counts.species)?;
    write_rows(&rows(&counts.factors, true), out)?;
    writeln!(out, "\nTraits")?;
    write_rows(&rows(&counts.traits, false), out)?;
    Ok(())
}

/// A table with heads and sums. Only responses can be derived.
pub(super) fn rows(counts: &[Counts], derivable: bool) -> Vec<Vec<String>> {
    let mut heads = vec!["", "species", "published", "common practice", "from memory"];
    heads.extend(derivable.then_some("derived by a rule"));
    heads.push("disputed");
    let row = |counts: &Counts| {
        let mut numbers = vec![
            counts.species,
            counts.published,
            counts.common_practice,
            counts.from_memory,
        ];
        numbers.extend(derivable.then_some(counts.derived));
        numbers.push(counts.disputed);
        let numbers = numbers.iter().map(usize::to_string);
        [counts.name.clone()].into_iter().chain(numbers).collect()
    };
    let heads = heads.into_iter().map(str::to_owned).collect();
    [heads]
        .into_iter()
        .chain(counts.iter().map(row))
        .chain([row(&Counts::total(counts))])
        .collect()
}
