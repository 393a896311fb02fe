//! What shows only when a catalogue and the starter's beneath it are looked at
//! together, or values of one species against one another. Catalogues come in;
//! faults of the files as a whole go out, since two files may share one.

use super::contradictions::contradictions;
use super::rows::{coverage, same_tolerances};
use crate::factor::Factor;
use crate::species::problem::Report;
use crate::species::reading::SpeciesRow;
use crate::species::{Catalogue, Species};

/// Pairs of values that contradict one another and that nothing settles.
pub fn contradictory(catalogue: &Catalogue, report: &mut Report<'_>) {
    for pair in contradictions(catalogue).iter().filter(|pair| !pair.resolved) {
        report.warning(0, "", pair.told());
    }
}

/// Species of a catalogue that lies over another under a name of one there, with
/// the accepted name.
pub fn names_beneath(own: &Catalogue, beneath: &Catalogue, report: &mut Report<'_>) {
    for species in &own.species {
        let name = species.scientific_name.to_lowercase();
        for theirs in beneath.species.iter().filter(|theirs| theirs.id != species.id) {
            let is_synonym =
                |of: &Species, name: &str| of.synonyms().any(|other| other.to_lowercase() == name);
            let accepted = &theirs.scientific_name;
            if accepted.to_lowercase() == name {
                let text = format!(
                    "`{accepted}` is `{}` in the starter catalogue and `{}` here: give it that id, so that the two are one",
                    theirs.id, species.id
                );
                report.error(0, "", text);
            } else if is_synonym(theirs, &name) {
                let text = format!(
                    "`{}` is another name of `{accepted}`, the accepted one, which is `{}` in the starter catalogue: give it that id and name, so that the two are one",
                    species.scientific_name, theirs.id
                );
                report.error(0, "", text);
            } else if is_synonym(species, &accepted.to_lowercase()) {
                let text = format!(
                    "`{}` has `{accepted}` for another name, which is `{}` in the starter catalogue: give it that id, so that the two are one",
                    species.scientific_name, theirs.id
                );
                report.error(0, "", text);
            } else if !species.common_name.is_empty()
                && species.common_name.to_lowercase() == theirs.common_name.to_lowercase()
            {
                let text = format!(
                    "`{}` is also the common name of `{}` in the starter catalogue",
                    species.common_name, theirs.id
                );
                report.warning(0, "", text);
            }
        }
    }
}

/// What only shows in a catalogue and the one beneath it together: `own` are the ids
/// that the project's files name.
pub fn joined(catalogue: &Catalogue, own: &[String], factors: &[Factor], report: &mut Report<'_>) {
    contradictory(catalogue, report);
    let rows: Vec<SpeciesRow> = catalogue
        .species
        .iter()
        .map(|species| SpeciesRow {
            species: species.clone(),
            line: 0,
            trait_lines: Vec::new(),
        })
        .collect();
    coverage(&rows, factors, report);
    for (place, row) in rows.iter().enumerate() {
        let species = &row.species;
        if !own.contains(&species.id) {
            continue;
        }
        if species.opinions.is_empty() {
            let text = format!(
                "`{}` has no tolerances and will be unknown everywhere",
                species.id
            );
            report.warning(0, "", text);
            continue;
        }
        let twin = rows.iter().enumerate().find(|(at, other)| {
            let told_already = *at > place && own.contains(&other.species.id);
            *at != place && !told_already && same_tolerances(species, &other.species)
        });
        if let Some((_, twin)) = twin {
            let text = format!(
                "nothing in the tolerances tells `{}` from `{}`",
                species.id, twin.species.id
            );
            report.warning(0, "", text);
        }
    }
}
