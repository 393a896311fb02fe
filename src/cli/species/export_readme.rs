//! The page that goes with exported files: how they are written, by which rules the
//! responses came about, and how much of it is remembered.

use std::fmt::Write;

use super::Opened;
use super::coverage::rows;
use crate::species::rules;
use crate::species::{Counts, SourceCounts};

/// The page, as Markdown.
pub(super) fn readme(opened: &Opened) -> String {
    let counts = SourceCounts::of(&opened.catalogue, &opened.factors);
    let (responses, traits) = (Counts::total(&counts.factors), Counts::total(&counts.traits));
    let mut page = String::from(FORM);
    // Writing to a text cannot fail.
    let _ = write!(
        page,
        "## What is from memory\n\n\
         Of {} responses {} rest on something remembered and not looked up, {} on common practice without a single\n\
         source; {} follow from a recorded level by a rule and count here with the source of the level. Of {} values of\n\
         traits {} are from memory and {} common practice. Confirm them before relying on them, and name what you\n\
         confirmed them with.\n\n",
        all(&responses),
        responses.from_memory,
        responses.common_practice,
        responses.derived,
        all(&traits),
        traits.from_memory,
        traits.common_practice,
    );
    table(&mut page, &rows(&counts.factors, true));
    table(&mut page, &rows(&counts.traits, false));
    page.push_str("## The rules\n\n");
    page.push_str(&rules::told(&opened.section.rules));
    page
}

fn all(counts: &Counts) -> usize {
    counts.published + counts.common_practice + counts.from_memory
}

fn table(page: &mut String, rows: &[Vec<String>]) {
    for (place, row) in rows.iter().enumerate() {
        let _ = writeln!(page, "| {} |", row.join(" | "));
        if place == 0 {
            let _ = writeln!(page, "|{}", " --- |".repeat(row.len()));
        }
    }
    page.push('\n');
}

const FORM: &str = "# A catalogue of species

Four CSV files for a spreadsheet or an editor. `species check --catalogue FOLDER` reads them and tells every
problem with its line; `species show NAME --catalogue FOLDER` draws the responses. To use them, name the folder
in a project: `[catalogue]` with `folder = \"FOLDER\"`. Do not set `starter` then: all that the rules give stands
in the files already, and a change to a recorded level in `traits.csv` does not change a response.

- `species.csv`: `id`, `scientific_name`, `common_name`, `form` (tree, shrub, grass, forb or fern).
- `traits.csv`: one value a line: `species`, `trait`, `value`, `source`, `note`, `standing`.
- `tolerances.csv`: one response a line: `species`, `factor`, `given`, `response`, `source`, `note`, `standing`.
- `sources.csv`: `id`, `kind` (published, common practice, from memory), `title`, `author`, `year`, `publisher`,
  `note`.

A line whose `standing` is `set aside` tells what another source says; it is not used, and the value beside it is
disputed. What is not known has no line.

| response | meaning |
| --- | --- |
| `range 4.5 5.5 7.0 7.8` | score 0 at the outer limits and beyond, 1 between the inner two, straight lines between; `- -` for an open end |
| `curve 0:1 40:0.85 70:0.4` | points value:score, straight lines between, level beyond |
| `classes well drained=1; poorly drained=0.3` | a score for each class; a class left out is unknown |
| `threshold 2.0 slope 7.3` | 1 up to the threshold, then a loss of so many per cent a unit |

`given` limits a line to ground on which something else holds: `drainage: well drained, moderately well drained`,
or `canopy: 0..40` (40 itself left out). The lines of one species on one factor must not overlap.

";
