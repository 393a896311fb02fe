//! A catalogue as the texts of its four files.

use super::Imported;
use crate::factor::Factor;
use crate::species::{print_condition, print_response};

impl Imported {
    /// The files of the catalogue: name, text, rows under the header.
    #[must_use]
    pub fn files(&self, factors: &[Factor]) -> Vec<(&'static str, Vec<u8>, u64)> {
        let mut species = vec![row(&["id", "scientific_name", "common_name", "form"])];
        let mut traits = vec![row(&["species", "trait", "value", "source", "note", "standing"])];
        let mut tolerances = vec![row(&[
            "species", "factor", "given", "response", "source", "note", "standing",
        ])];
        let mut sources = vec![row(&[
            "id",
            "kind",
            "title",
            "author",
            "year",
            "publisher",
            "note",
        ])];
        for held in &self.catalogue.species {
            species.push(row(&[
                &held.id,
                &held.scientific_name,
                &held.common_name,
                held.form.word(),
            ]));
            for value in &held.traits {
                traits.push(row(&[
                    &held.id,
                    &value.name,
                    &value.value,
                    &value.source,
                    &value.note,
                    "",
                ]));
            }
            for opinion in &held.opinions {
                let Some(factor) = factors.iter().find(|factor| factor.id == opinion.factor) else {
                    continue;
                };
                let given = opinion
                    .given
                    .as_ref()
                    .map_or_else(String::new, |given| print_condition(given, factors));
                let response = print_response(&opinion.response, factor);
                let aside = opinion
                    .set_aside
                    .iter()
                    .map(|aside| format!("; set aside: {} ({})", aside.value, aside.source));
                let note = format!("imported; {}{}", opinion.note, aside.collect::<String>());
                tolerances.push(row(&[
                    &held.id,
                    &opinion.factor,
                    &given,
                    &response,
                    &opinion.source,
                    &note,
                    "",
                ]));
            }
        }
        for source in &self.catalogue.sources {
            let cells = [
                &source.title,
                &source.author,
                &source.year,
                &source.publisher,
                &source.note,
            ];
            let mut line = row(&[&source.id, source.kind.words()]);
            line.extend(cells.into_iter().cloned());
            sources.push(line);
        }
        [
            ("species.csv", species),
            ("traits.csv", traits),
            ("tolerances.csv", tolerances),
            ("sources.csv", sources),
        ]
        .into_iter()
        .map(|(name, rows)| (name, bytes(&rows), rows.len() as u64 - 1))
        .collect()
    }
}

fn row(cells: &[&str]) -> Vec<String> {
    cells.iter().map(|cell| (*cell).to_owned()).collect()
}

fn bytes(rows: &[Vec<String>]) -> Vec<u8> {
    let quoted = |cell: &String| {
        if cell.contains([',', '"', '\n', ';']) {
            format!("\"{}\"", cell.replace('"', "\"\""))
        } else {
            cell.clone()
        }
    };
    let lines = rows
        .iter()
        .map(|row| row.iter().map(quoted).collect::<Vec<_>>().join(","));
    lines.map(|line| line + "\n").collect::<String>().into_bytes()
}
