//! Pairs of values of one species that cannot both be taken at their word, and
//! whether the catalogue has settled them. A catalogue comes in; pairs go out. It
//! does not say which of the two is right.

use serde::Serialize;

use crate::species::rules::{Level, Light, Moisture, Shade, Status, WETLAND_LISTS, span};
use crate::species::{Catalogue, Form, Species, Trait, month_spans, number_span};

/// Two values of a species that contradict one another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Contradiction {
    /// Id of the species.
    pub species: String,
    /// One value.
    pub first: Side,
    /// What stands against it.
    pub second: Side,
    /// Whether one of them is marked as disputed, or set aside by a response.
    pub resolved: bool,
}

/// One side of a contradiction.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Side {
    /// The trait; `form` for the form, `genus` for the others of the genus.
    pub name: String,
    /// Its value.
    pub value: String,
    /// Id of the source; empty for form and genus.
    pub source: String,
}

impl Side {
    fn of(held: &Trait) -> Side {
        Side {
            name: held.name.clone(),
            value: held.value.clone(),
            source: held.source.clone(),
        }
    }

    fn told(&self) -> String {
        if self.source.is_empty() {
            format!("{} `{}`", self.name, self.value)
        } else {
            format!("{} `{}` ({})", self.name, self.value, self.source)
        }
    }
}

impl Contradiction {
    /// Both values with their sources, and what is needed.
    #[must_use]
    pub fn told(&self) -> String {
        format!(
            "`{}`: {} and {} contradict one another: set one aside, or begin the note of the one that is used with `disputed:` and say why",
            self.species,
            self.first.told(),
            self.second.told()
        )
    }
}

/// All contradictions in a catalogue, resolved or not, by species.
#[must_use]
pub fn contradictions(catalogue: &Catalogue) -> Vec<Contradiction> {
    let mut found = Vec::new();
    for species in &catalogue.species {
        let mut pair = |first: &Trait, second: &Trait| {
            let disputed = is_disputed(first) || is_disputed(second);
            found.push(Contradiction {
                species: species.id.clone(),
                first: Side::of(first),
                second: Side::of(second),
                resolved: disputed || settled_by_response(species, first, second),
            });
        };
        water(species, &mut pair);
        light(species, &mut pair);
        ground(species, &mut pair);
        flowering(species, &mut pair);
        let mut alone = |first: &Trait, name: &str, value: String| {
            found.push(Contradiction {
                species: species.id.clone(),
                first: Side::of(first),
                second: Side {
                    name: name.to_owned(),
                    value,
                    source: String::new(),
                },
                resolved: is_disputed(first),
            });
        };
        size(species, &mut alone);
        salt(species, catalogue, &mut alone);
    }
    found
}

/// Whether a value is marked as one that other sources deny.
fn is_disputed(held: &Trait) -> bool {
    !held.set_aside.is_empty() || held.note.to_lowercase().starts_with("disputed")
}

/// Whether a response says that it is disputed and names one of the two values, or
/// sets it aside; or whether it rests on both.
fn settled_by_response(species: &Species, first: &Trait, second: &Trait) -> bool {
    species.opinions.iter().any(|opinion| {
        let note = opinion.note.to_lowercase();
        let told = |held: &&Trait| {
            let aside = opinion.set_aside.iter().any(|aside| names(&aside.value, held));
            aside || note.starts_with("disputed") && names(&note, held)
        };
        let both = second.name == "recorded_drought_tolerance"
            && note.contains(&format!("{} by rule 3", words(second)));
        both || note.contains("disputed") && [first, second].iter().any(told)
    })
}

/// The level as responses word it: `anaerobic tolerance none`.
fn words(held: &Trait) -> String {
    let name = held.name.trim_start_matches("recorded_").replace('_', " ");
    format!("{name} {}", held.value.to_lowercase())
}

/// Whether a text of a response names this value.
fn names(text: &str, held: &Trait) -> bool {
    let text = text.to_lowercase();
    let planted = held.name == "light_range" && text.contains(&format!("planted in {}", held.value));
    planted || text.contains(&words(held))
}

fn level<'a, T>(
    species: &'a Species,
    name: &str,
    read: impl Fn(&str) -> Option<T>,
) -> Option<(&'a Trait, T)> {
    let held = species.trait_of(name)?;
    Some((held, read(&held.value)?))
}

fn water<'a>(species: &'a Species, pair: &mut impl FnMut(&'a Trait, &'a Trait)) {
    let status = WETLAND_LISTS
        .iter()
        .find_map(|(id, _)| level(species, &format!("wetland_{id}"), Status::from_word));
    let Some((told, status)) = status else {
        return;
    };
    if let Some((held, air)) = level(species, "recorded_anaerobic_tolerance", Level::from_word)
        && (status >= Status::Facw && air == Level::None || status == Status::Upl && air == Level::High)
    {
        pair(told, held);
    }
    if let Some((held, drought)) = level(species, "recorded_drought_tolerance", Level::from_word)
        && (status >= Status::Facw && drought == Level::High
            || status == Status::Upl && drought <= Level::Low)
    {
        pair(told, held);
    }
    let (driest, wettest) = match status {
        Status::Obl => (Moisture::WetMesic, Moisture::Wet),
        Status::Facw => (Moisture::Mesic, Moisture::Wet),
        Status::Fac => (Moisture::DryMesic, Moisture::Wet),
        Status::Facu => (Moisture::Dry, Moisture::WetMesic),
        Status::Upl => (Moisture::Dry, Moisture::Mesic),
    };
    if let Some((held, (from, to))) = level(species, "moisture_range", |text| span(text, Moisture::from_word))
        && (to < driest || from > wettest)
    {
        pair(told, held);
    }
}

fn light<'a>(species: &'a Species, pair: &mut impl FnMut(&'a Trait, &'a Trait)) {
    let shade = level(species, "recorded_shade_tolerance", Shade::from_word);
    let planted = level(species, "light_range", |text| span(text, Light::from_word));
    if let (Some((told, shade)), Some((held, (_, darkest)))) = (shade, planted)
        && (shade == Shade::Intolerant && darkest >= Light::PartShade
            || shade == Shade::Tolerant && darkest <= Light::PartSun)
    {
        pair(told, held);
    }
}

/// Ground with carbonates is never acid.
fn ground<'a>(species: &'a Species, pair: &mut impl FnMut(&'a Trait, &'a Trait)) {
    let number = |text: &str| number_span(text).map(|(_, most)| most);
    let highest = level(species, "recorded_ph_highest", number);
    let carbonates = level(species, "recorded_carbonate_tolerance", Level::from_word);
    if let (Some((told, highest)), Some((held, Level::High))) = (highest, carbonates)
        && highest < 6.0
    {
        pair(told, held);
    }
}

/// Words for seasons as months from 0, as they are in a temperate north.
const SEASONS: [(&str, (usize, usize)); 11] = [
    ("early spring", (2, 3)),
    ("mid spring", (3, 4)),
    ("late spring", (4, 5)),
    ("spring", (2, 4)),
    ("early summer", (5, 6)),
    ("mid summer", (6, 6)),
    ("late summer", (7, 8)),
    ("summer", (5, 7)),
    ("fall", (8, 10)),
    ("autumn", (8, 10)),
    ("winter", (11, 1)),
];

fn flowering<'a>(species: &'a Species, pair: &mut impl FnMut(&'a Trait, &'a Trait)) {
    let season = level(species, "recorded_bloom_season", |text| {
        let named = SEASONS.iter().find(|(name, _)| name.eq_ignore_ascii_case(text));
        named.map(|(_, months)| *months)
    });
    let months = level(species, "bloom_months", |text| month_spans(text).ok());
    if let (Some((told, season)), Some((held, spans))) = (season, months) {
        let apart = spans.iter().map(|span| months_apart(season, *span)).min();
        if apart > Some(2) {
            pair(told, held);
        }
    }
}

/// The months from the end of one span to the begin of the other, the shorter way
/// round the year; 0 where they meet.
fn months_apart(one: (usize, usize), other: (usize, usize)) -> usize {
    let months = |(from, to): (usize, usize)| (0..=(to + 12 - from) % 12).map(move |on| (from + on) % 12);
    let around = |from: usize, to: usize| {
        let steps = (to + 12 - from) % 12;
        steps.min(12 - steps)
    };
    months(one)
        .flat_map(|from| months(other).map(move |to| around(from, to)))
        .min()
        .unwrap_or(0)
}

fn size(species: &Species, alone: &mut impl FnMut(&Trait, &str, String)) {
    let Some((held, (_, height))) = level(species, "height_m", number_span) else {
        return;
    };
    let against = match species.form {
        Form::Tree => height < 2.0,
        Form::Shrub => height > 10.0,
        Form::Grass | Form::Forb => height > 4.0,
        Form::Fern => height > 2.0,
    };
    if against {
        alone(held, "form", species.form.word().to_owned());
    }
}

fn salinity(species: &Species) -> Option<(&Trait, Level)> {
    level(species, "recorded_salinity_tolerance", Level::from_word)
}

/// Salinity tolerance high where no other of the genus is more than low.
fn salt(species: &Species, catalogue: &Catalogue, alone: &mut impl FnMut(&Trait, &str, String)) {
    let Some((held, Level::High)) = salinity(species) else {
        return;
    };
    let genus = |species: &Species| {
        species
            .scientific_name
            .split_whitespace()
            .next()
            .map(str::to_owned)
    };
    let mut others = catalogue
        .species
        .iter()
        .filter(|other| other.id != species.id && genus(other) == genus(species))
        .filter_map(salinity)
        .peekable();
    if others.peek().is_some() && others.all(|(_, level)| level <= Level::Low) {
        let name = genus(species).unwrap_or_default();
        alone(
            held,
            "genus",
            format!("{name}, of which all others are low or none"),
        );
    }
}

#[cfg(test)]
#[path = "contradictions_tests.rs"]
mod tests;
