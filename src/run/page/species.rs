//! Species, their profiles and their tolerances, for the page.

use super::{PageParts, shortened};
use crate::factor::{Factor, Kind, Units};
use crate::output::plant_cautions::plant_cautions;
use crate::output::words::factor_words;
use crate::report::{OpinionData, SpeciesAreasData, SpeciesData, ValueData};
use crate::run::species_areas::SpeciesArea;
use crate::run::spread::Spread;
use crate::species::{
    Catalogue, Opinion, Part, Source, SourceKind, Species, month_spans, print_condition, print_response,
    told_note, trait_label, trait_shown,
};

/// Citations in the order in which they are first asked for.
pub struct SourcePlaces<'a> {
    catalogue: &'a Catalogue,
    ids: Vec<&'a str>,
}

impl<'a> SourcePlaces<'a> {
    /// None yet.
    pub fn new(catalogue: &'a Catalogue) -> SourcePlaces<'a> {
        SourcePlaces {
            catalogue,
            ids: Vec::new(),
        }
    }

    fn place(&mut self, id: &'a str) -> usize {
        self.ids.iter().position(|other| *other == id).unwrap_or_else(|| {
            self.ids.push(id);
            self.ids.len() - 1
        })
    }

    /// The note of a value: whether it is remembered, what is said of it, and what is set
    /// aside, each with the number of its source.
    fn note(
        &mut self,
        source: &str,
        told: &str,
        aside: impl Iterator<Item = (String, &'a str, &'a str)>,
    ) -> String {
        let kind = self.catalogue.source(source).map(|source| source.kind);
        let memory = (kind == Some(SourceKind::FromMemory)).then(|| "from memory, unverified".to_owned());
        let mut parts: Vec<String> = memory.into_iter().collect();
        parts.extend(told.strip_prefix("; ").map(str::to_owned));
        for (value, source, why) in aside {
            let number = self.place(source) + 1;
            let why = if why.is_empty() {
                String::new()
            } else {
                format!(": {why}")
            };
            parts.push(format!("also: {value} [{number}], set aside{why}"));
        }
        parts.join("; ")
    }

    /// The citations by place.
    pub fn citations(&self) -> Vec<String> {
        let citation = |id: &&str| {
            let source = self.catalogue.source(id);
            source.map_or_else(|| format!("`{id}`, not in the sources file"), Source::citation)
        };
        self.ids.iter().map(citation).collect()
    }
}

/// The species of a run.
pub fn species<'a>(parts: &PageParts<'a>, sources: &mut SourcePlaces<'a>) -> Vec<SpeciesData> {
    let areas = parts.for_page.areas.iter();
    let catalogue: &'a Catalogue = &parts.prepared.catalogue;
    let mut all = Vec::with_capacity(catalogue.species.len());
    for (species, areas) in catalogue.species.iter().zip(areas) {
        all.push(SpeciesData {
            id: species.id.clone(),
            common: species.common_name.clone(),
            scientific: species.scientific_name.clone(),
            form: species.form.word(),
            cautions: plant_cautions(species),
            bloom: bloom(species),
            profile: profile(species, parts.prepared.project.units, sources),
            opinions: opinions(species, parts, sources),
            areas: areas_data(areas),
        });
    }
    all
}

fn areas_data(areas: &SpeciesArea) -> SpeciesAreasData {
    let short = |area: f64| shortened(area, 0);
    SpeciesAreasData {
        suits: areas.suits.map(short),
        suits_in_spots: short(areas.suits_in_spots),
        limited: areas.limited.iter().copied().map(short).collect(),
        unknown: short(areas.unknown),
    }
}

/// Months of flowering; nothing where none are recorded, or in words that name no months.
fn bloom(species: &Species) -> Option<[u8; 12]> {
    let spans = month_spans(&species.trait_of("bloom_months")?.value).ok()?;
    let mut months = [0; 12];
    for (from, to) in spans {
        // A span may run over the turn of the year.
        let length = (to + 12 - from) % 12;
        for month in from..=from + length {
            months[month % 12] = 1;
        }
    }
    Some(months)
}

/// Traits by part; those the program does not know come last.
fn profile<'a>(
    species: &'a Species,
    units: Units,
    sources: &mut SourcePlaces<'a>,
) -> Vec<(&'static str, Vec<ValueData>)> {
    let mut profile = Vec::new();
    for part in Part::IN_ORDER {
        let values = species.traits_in(part);
        if values.is_empty() {
            continue;
        }
        let mut rows = Vec::with_capacity(values.len());
        for held in values {
            let aside = held.set_aside.iter().map(|other| {
                (
                    trait_shown(&held.name, &other.value, units),
                    other.source.as_str(),
                    other.note.as_str(),
                )
            });
            rows.push(ValueData {
                label: trait_label(&held.name, units).to_owned(),
                value: trait_shown(&held.name, &held.value, units),
                source: sources.place(&held.source),
                note: sources.note(&held.source, &told_note(&held.note, &held.set_aside), aside),
            });
        }
        profile.push((part.map_or("Other traits", Part::heading), rows));
    }
    profile
}

fn opinions<'a>(
    species: &'a Species,
    parts: &PageParts<'a>,
    sources: &mut SourcePlaces<'a>,
) -> Vec<OpinionData> {
    let known = parts.prepared.project.known_factors();
    let own = parts.prepared.site.factors();
    let mut all = Vec::with_capacity(species.opinions.len());
    for opinion in &species.opinions {
        let Some(factor) = own
            .iter()
            .chain(&known)
            .find(|factor| factor.id == opinion.factor)
        else {
            continue;
        };
        let place = own.iter().position(|own| own.id == opinion.factor);
        let aside = opinion
            .set_aside
            .iter()
            .map(|other| (other.value.clone(), other.source.as_str(), other.note.as_str()));
        let told = told_note(&opinion.note, &opinion.set_aside);
        all.push(OpinionData {
            factor: place,
            given: opinion
                .given
                .as_ref()
                .map_or_else(String::new, |given| print_condition(given, &known)),
            value: ValueData {
                label: factor_words(&factor.id),
                value: response_words(opinion, factor),
                source: sources.place(&opinion.source),
                note: sources.note(&opinion.source, &told, aside),
            },
            scores: place.map_or_else(Vec::new, |place| {
                scores(opinion, factor, &parts.for_page.spreads[place])
            }),
        });
    }
    all
}

fn response_words(opinion: &Opinion, factor: &Factor) -> String {
    let written = print_response(&opinion.response, factor);
    match factor.kind {
        Kind::Measured(unit) => format!("{written} ({unit})"),
        Kind::Classes { .. } => written,
    }
}

/// Scores of each class, or at the limits of the spread's steps and midway between.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "a few classes and steps; values are held in single precision"
)]
fn scores(opinion: &Opinion, factor: &Factor, spread: &Spread) -> Vec<Option<f64>> {
    let score = |value: f32| {
        opinion
            .response
            .score(value)
            .map(|score| shortened(score.get(), 3))
    };
    match (&factor.kind, spread.ends) {
        (Kind::Classes { names, .. }, _) => (0..names.len()).map(|class| score(class as f32)).collect(),
        (Kind::Measured(_), Some((least, greatest))) => {
            let (least, greatest) = (f64::from(least), f64::from(greatest));
            let halves = spread.areas_m2.len() * 2;
            let value = |half: usize| (least + (greatest - least) * half as f64 / halves as f64) as f32;
            (0..=halves).map(value).map(score).collect()
        }
        (Kind::Measured(_), None) => Vec::new(),
    }
}
