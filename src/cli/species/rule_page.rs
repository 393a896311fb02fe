//! `groundfit species rules`: the rules that turn recorded levels into responses, with
//! all their numbers.

use std::io::Write;

use clap::Args;

use super::{Opened, Place, SpeciesCommandError, write_json};
use crate::species::rules;

/// The rules that turn recorded levels into responses, with all their numbers.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  groundfit species rules
  groundfit species rules --project site.toml    with the settings of a project")]
pub(super) struct RulesArgs {
    #[command(flatten)]
    pub(super) place: Place,
}

pub(super) fn rules(
    args: &RulesArgs,
    opened: &Opened,
    out: &mut dyn Write,
) -> Result<(), SpeciesCommandError> {
    let page = rules::told(&opened.section.rules);
    if args.place.json {
        return write_json(&serde_json::json!({ "rules": page }), out);
    }
    write!(out, "{page}")?;
    Ok(())
}
