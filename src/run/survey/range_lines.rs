//! What `check` tells of where species are documented. Facts come in, lines go out.

use crate::plural::{counted, one_or_many};
use crate::run::prepared::Prepared;

/// What was read of where species are documented.
pub fn range_lines(prepared: &Prepared) -> Vec<String> {
    let (Some(range), Some(section)) = (&prepared.range, &prepared.project.range) else {
        return Vec::new();
    };
    let facts = range.facts();
    let keys: Vec<&str> = range.keys_of_area().take(8).collect();
    let mut lines = vec![
        format!(
            "{} {} the area's extent ({}{}), {} {} {}",
            counted(facts.regions_of_area, "region"),
            one_or_many(facts.regions_of_area, "reaches", "reach"),
            keys.join(", "),
            if facts.regions_of_area > keys.len() {
                ", ..."
            } else {
                ""
            },
            facts.adjoining_regions,
            one_or_many(facts.adjoining_regions, "adjoins", "adjoin"),
            one_or_many(facts.regions_of_area, "it", "them")
        ),
        format!(
            "{}: {}, {} of them of species of the catalogue",
            section.table_as_written,
            counted(facts.table_rows, "row"),
            facts.table_rows_used
        ),
    ];
    if section.records.is_some() {
        lines.push(format!(
            "{} of species of the catalogue within {} km; {} species blurred",
            counted(facts.records_used, "record"),
            section.reach_km,
            facts.blurred_species
        ));
    }
    if section.documented_only {
        lines.push("only species documented in a zone's own regions are listed".to_owned());
    }
    lines
}
