//! What only shows when rows are held against one another: doubled names,
//! conditions that overlap or leave gaps, species that nothing tells apart.

use std::collections::{BTreeMap, BTreeSet};

use super::condition_cover::{conditions_overlap, uncovered};
use crate::factor::Factor;
use crate::plural::one_or_many;
use crate::species::problem::Report;
use crate::species::reading::{OpinionRow, SourceRow, SpeciesRow};
use crate::species::{Holds, Species};

/// Ids and names that stand for two species.
pub fn names(rows: &[SpeciesRow], report: &mut Report<'_>) {
    for (place, row) in rows.iter().enumerate() {
        let species = &row.species;
        for other in &rows[..place] {
            let (theirs, line) = (&other.species, other.line);
            if theirs.id == species.id {
                report.error(
                    row.line,
                    "id",
                    format!("`{}` stands already on line {line}", species.id),
                );
            }
            name(row, other, report);
            let same_common = !species.common_name.is_empty()
                && species.common_name.to_lowercase() == theirs.common_name.to_lowercase();
            if same_common {
                let text = format!("`{}` is also the common name on line {line}", species.common_name);
                report.warning(row.line, "common_name", text);
            }
        }
    }
}

/// Scientific names that are equal, synonyms, or apart by a letter or two.
fn name(row: &SpeciesRow, other: &SpeciesRow, report: &mut Report<'_>) {
    let (species, theirs) = (&row.species, &other.species);
    let (mine, other_name) = (
        species.scientific_name.to_lowercase(),
        theirs.scientific_name.to_lowercase(),
    );
    if mine.is_empty() || other_name.is_empty() {
        return;
    }
    let column = "scientific_name";
    let line = other.line;
    let is_synonym = |of: &Species, name: &str| of.synonyms().any(|synonym| synonym.to_lowercase() == name);
    if mine == other_name {
        report.error(
            row.line,
            column,
            format!("`{}` stands already on line {line}", species.scientific_name),
        );
    } else if is_synonym(theirs, &mine) || is_synonym(species, &other_name) {
        let (synonym, accepted) = if is_synonym(theirs, &mine) {
            (&species.scientific_name, &theirs.scientific_name)
        } else {
            (&theirs.scientific_name, &species.scientific_name)
        };
        report.error(
            row.line,
            column,
            format!(
                "`{synonym}` is another name of `{accepted}`, the accepted one, and both stand in the file (here and on line {line})",
            ),
        );
    } else if mine.split_whitespace().next() == other_name.split_whitespace().next()
        && strsim::levenshtein(&mine, &other_name) <= 2
    {
        report.warning(
            row.line,
            column,
            format!(
                "`{}` is almost `{}` on line {line}: are they one species?",
                species.scientific_name, theirs.scientific_name
            ),
        );
    }
}

/// Opinions of one species on one factor that contradict one another or leave
/// cases out.
pub fn conditions(found: &[OpinionRow], rows: &[SpeciesRow], factors: &[Factor], report: &mut Report<'_>) {
    let mut groups: BTreeMap<(usize, &str), Vec<&OpinionRow>> = BTreeMap::new();
    for row in found {
        groups
            .entry((row.species, row.opinion.factor.as_str()))
            .or_default()
            .push(row);
    }
    for ((species, factor), group) in groups {
        let id = &rows[species].species.id;
        let clashes = clashes(&group, id, factor, report);
        if clashes == 0 {
            gaps(&group, id, factors, report);
        }
    }
}

fn clashes(group: &[&OpinionRow], id: &str, factor: &str, report: &mut Report<'_>) -> usize {
    let mut count = 0;
    for (place, row) in group.iter().enumerate() {
        // One clash a row is enough to find it.
        let clash = group[..place].iter().find_map(|other| {
            let line = other.line;
            match (&row.opinion.given, &other.opinion.given) {
                (None, None) => Some(format!("`{id}` has a response to `{factor}` already on line {line}")),
                (None, Some(_)) | (Some(_), None) => Some(format!(
                    "`{id}` has one response to `{factor}` without a condition and one with (line {line}): give both a condition"
                )),
                (Some(mine), Some(theirs)) if mine.factor != theirs.factor => Some(format!(
                    "the conditions of `{id}` on `{factor}` hang on `{}` here and on `{}` on line {line}, so both may hold at once: let them hang on one factor",
                    mine.factor, theirs.factor
                )),
                (Some(mine), Some(theirs)) => conditions_overlap(mine, theirs).then(|| {
                    format!("overlaps the condition of `{id}` on `{factor}` on line {line}: a case may have one response only")
                }),
            }
        });
        if let Some(text) = clash {
            count += 1;
            report.error(row.line, "given", text);
        }
    }
    count
}

fn gaps(group: &[&OpinionRow], id: &str, factors: &[Factor], report: &mut Report<'_>) {
    let holds: Vec<&Holds> = group
        .iter()
        .filter_map(|row| row.opinion.given.as_ref())
        .map(|given| &given.holds)
        .collect();
    let Some(given) = group[0].opinion.given.as_ref() else {
        return;
    };
    let Some(factor) = factors.iter().find(|factor| factor.id == given.factor) else {
        return;
    };
    let left = uncovered(&holds, factor, factor.plausible());
    if !left.is_empty() {
        report.warning(
            group[0].line,
            "given",
            format!(
                "no condition covers `{}` {}: there `{id}` is unknown on `{}`",
                factor.id,
                left.join(", "),
                group[0].opinion.factor
            ),
        );
    }
}

/// Species without tolerances, and species with the very same ones.
pub fn tolerances(rows: &[SpeciesRow], report: &mut Report<'_>) {
    for (place, row) in rows.iter().enumerate() {
        let species = &row.species;
        if species.opinions.is_empty() {
            report.warning(
                row.line,
                "id",
                format!(
                    "`{}` has no tolerances and will be unknown everywhere",
                    species.id
                ),
            );
            continue;
        }
        let twin = rows[..place]
            .iter()
            .find(|other| same_tolerances(species, &other.species));
        if let Some(twin) = twin {
            report.warning(
                row.line,
                "id",
                format!(
                    "nothing in the tolerances tells `{}` from `{}` on line {}",
                    species.id, twin.species.id, twin.line
                ),
            );
        }
    }
}

pub(super) fn same_tolerances(one: &Species, other: &Species) -> bool {
    let holds_in = |opinions: &Species, wanted: &crate::species::Opinion| {
        opinions.opinions.iter().any(|opinion| {
            opinion.factor == wanted.factor
                && opinion.given == wanted.given
                && opinion.response == wanted.response
        })
    };
    one.opinions.len() == other.opinions.len() && one.opinions.iter().all(|opinion| holds_in(other, opinion))
}

/// Decisive factors on which less than a third of the species have an opinion.
/// A factor and the one it stands in for count as one.
pub fn coverage(rows: &[SpeciesRow], factors: &[Factor], report: &mut Report<'_>) {
    let speaks = |row: &SpeciesRow, factor: &Factor| {
        let ids = [Some(&factor.id), factor.stands_in_for.as_ref()];
        ids.into_iter()
            .flatten()
            .any(|id| row.species.opinions_on(id).next().is_some())
    };
    let has_stand_in = |factor: &Factor| {
        // One that only helps, as the grams behind bands of spray, tells nothing of its own.
        let mut decisive = factors.iter().filter(|other| other.decisive);
        decisive.any(|other| other.stands_in_for.as_deref() == Some(factor.id.as_str()))
    };
    for factor in factors
        .iter()
        .filter(|factor| factor.decisive && !has_stand_in(factor))
    {
        let count = rows.iter().filter(|row| speaks(row, factor)).count();
        if count * 3 < rows.len() {
            let other = factor.stands_in_for.as_ref();
            let other = other.map_or_else(String::new, |other| format!(" or `{other}`"));
            let text = format!(
                "only {count} of {} species {} an opinion on `{}`{other}; the others are unknown wherever it counts",
                rows.len(),
                one_or_many(count, "has", "have"),
                factor.id
            );
            report.warning(0, "", text);
        }
    }
}

/// Sources that no value names.
pub fn unused_sources(sources: &[SourceRow], rows: &[SpeciesRow], report: &mut Report<'_>) {
    let used: BTreeSet<&str> = rows.iter().flat_map(|row| row.species.source_ids()).collect();
    for row in sources
        .iter()
        .filter(|row| !used.contains(row.source.id.as_str()))
    {
        report.warning(
            row.line,
            "id",
            format!("no value names the source `{}`", row.source.id),
        );
    }
}
