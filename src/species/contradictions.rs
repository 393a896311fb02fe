//! Recorded values of one species that do not go together. Each pair comes out with
//! what both say and whether the catalogue has settled it: a value that is marked as
//! disputed, or an opinion with values set aside, tells the reader what was used and why.

use serde::Serialize;

use super::rules::{Level, Light, Moisture, Shade, Status, WETLAND_LISTS, span};
use super::{Form, Species, Trait};

/// Two recorded values that contradict one another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Contradiction {
    /// The trait that is doubted.
    pub name: &'static str,
    /// What both say.
    pub text: String,
    /// Whether the catalogue marks the value, or an opinion drawn from it, as disputed.
    pub settled: bool,
}

/// How the note of a disputed value begins.
pub(super) const DISPUTED: &str = "disputed";

/// All contradictions of one species.
#[must_use]
pub fn contradictions(species: &Species) -> Vec<Contradiction> {
    let rules = [
        wet_without_air,
        dry_with_floods,
        wet_in_drought,
        dry_without_drought,
        planted_against_status,
        planted_against_shade,
        size_against_form,
        lime_on_acid_ground,
        salt_against_spray,
    ];
    rules.into_iter().filter_map(|rule| rule(species)).collect()
}

/// A recorded value, its word, and its trait.
fn level<'a, T: Copy>(
    species: &'a Species,
    name: &str,
    read: impl Fn(&str) -> Option<T>,
) -> Option<(T, &'a Trait)> {
    let held = species.trait_of(name)?;
    Some((read(&held.value)?, held))
}

/// The first wetland status there is.
fn status(species: &Species) -> Option<(Status, &Trait)> {
    let lists = WETLAND_LISTS.iter();
    lists
        .map(|(id, _)| format!("wetland_{id}"))
        .find_map(|name| level(species, &name, Status::from_word))
}

fn is_disputed(held: &Trait) -> bool {
    !held.set_aside.is_empty() || held.note.starts_with(DISPUTED)
}

/// Whether an opinion on one of these factors shows what it sets aside.
fn shows(species: &Species, factors: &[&str]) -> bool {
    let mut opinions = species.opinions.iter();
    opinions.any(|opinion| {
        factors.contains(&opinion.factor.as_str())
            && (!opinion.set_aside.is_empty() || opinion.note.contains(DISPUTED))
    })
}

const WATER: [&str; 2] = ["moisture", "drainage"];
const LIGHT: [&str; 2] = ["canopy", "sun_hours"];

fn pair(
    species: &Species,
    name: &'static str,
    one: &Trait,
    other: &Trait,
    factors: &[&str],
) -> Contradiction {
    Contradiction {
        name,
        text: format!(
            "{} {} ({}) against {} {} ({})",
            one.name, one.value, one.source, other.name, other.value, other.source
        ),
        settled: is_disputed(one) || is_disputed(other) || shows(species, factors),
    }
}

fn wet_without_air(species: &Species) -> Option<Contradiction> {
    let (status, wet) = status(species)?;
    let name = "recorded_anaerobic_tolerance";
    let (air, held) = level(species, name, Level::from_word)?;
    let against = status == Status::Obl && air <= Level::Low || status == Status::Facw && air == Level::None;
    against.then(|| pair(species, name, wet, held, &WATER))
}

fn dry_with_floods(species: &Species) -> Option<Contradiction> {
    let (status, dry) = status(species)?;
    let name = "recorded_anaerobic_tolerance";
    let (air, held) = level(species, name, Level::from_word)?;
    (status == Status::Upl && air == Level::High).then(|| pair(species, name, dry, held, &WATER))
}

fn wet_in_drought(species: &Species) -> Option<Contradiction> {
    let (status, wet) = status(species)?;
    let name = "recorded_drought_tolerance";
    let (drought, held) = level(species, name, Level::from_word)?;
    (status >= Status::Facw && drought == Level::High).then(|| pair(species, name, wet, held, &WATER))
}

fn dry_without_drought(species: &Species) -> Option<Contradiction> {
    let (status, dry) = status(species)?;
    let name = "recorded_drought_tolerance";
    let (drought, held) = level(species, name, Level::from_word)?;
    let against =
        status == Status::Upl && drought <= Level::Low || status == Status::Facu && drought == Level::None;
    against.then(|| pair(species, name, dry, held, &WATER))
}

/// An upland plant of wet ground, or a wetland plant of dry.
fn planted_against_status(species: &Species) -> Option<Contradiction> {
    let (status, told) = status(species)?;
    let name = "moisture_range";
    let ((from, to), held) = level(species, name, |text| span(text, Moisture::from_word))?;
    let against = status <= Status::Facu && from >= Moisture::WetMesic
        || status == Status::Upl && to == Moisture::Wet
        || status >= Status::Facw && to <= Moisture::DryMesic
        || status == Status::Obl && to <= Moisture::Mesic;
    against.then(|| pair(species, name, told, held, &WATER))
}

fn planted_against_shade(species: &Species) -> Option<Contradiction> {
    let (shade, told) = level(species, "recorded_shade_tolerance", Shade::from_word)?;
    let name = "light_range";
    let ((from, to), held) = level(species, name, |text| span(text, Light::from_word))?;
    let against = shade == Shade::Intolerant && (from >= Light::PartShade || to == Light::Shade)
        || shade == Shade::Tolerant && to <= Light::PartSun;
    against.then(|| pair(species, name, told, held, &LIGHT))
}

/// A tree of two metres, a herb of five.
fn size_against_form(species: &Species) -> Option<Contradiction> {
    let name = "height_m";
    let (metres, held) = level(species, name, |text| text.parse::<f64>().ok())?;
    let usual = match species.form {
        Form::Tree => 3.0..=60.0,
        Form::Shrub => 0.05..=12.0,
        Form::Grass | Form::Forb | Form::Fern => 0.05..=3.5,
    };
    (!usual.contains(&metres)).then(|| Contradiction {
        name,
        text: format!(
            "{} m ({}) for a {}, of which most are {} to {} m",
            held.value,
            held.source,
            species.form.word(),
            usual.start(),
            usual.end()
        ),
        settled: is_disputed(held),
    })
}

fn lime_on_acid_ground(species: &Species) -> Option<Contradiction> {
    let name = "recorded_carbonate_tolerance";
    let (lime, held) = level(species, name, Level::from_word)?;
    let (highest, ph) = level(species, "recorded_ph_highest", |text| text.parse::<f64>().ok())?;
    (lime == Level::High && highest < 6.5).then(|| pair(species, name, ph, held, &["ph", "carbonates"]))
}

/// Salt in the soil stood best, salt in the air worst.
fn salt_against_spray(species: &Species) -> Option<Contradiction> {
    let name = "recorded_salinity_tolerance";
    let (soil, held) = level(species, name, Level::from_word)?;
    let spray = species
        .trait_of("spray_tolerance")
        .filter(|spray| spray.value == "low")?;
    (soil == Level::High).then(|| pair(species, name, spray, held, &["soil_salinity"]))
}

/// All contradictions of a catalogue, each with the place of its species: those
/// of single species, and salinity High where others of the genus stay below Medium.
#[must_use]
pub fn all_contradictions(species: &[Species]) -> Vec<(usize, Contradiction)> {
    let each = species.iter().enumerate();
    each.flat_map(|(place, one)| {
        let found = contradictions(one)
            .into_iter()
            .chain(salt_against_genus(one, species));
        found.map(move |found| (place, found))
    })
    .collect()
}

fn salt_against_genus(one: &Species, species: &[Species]) -> Option<Contradiction> {
    let name = "recorded_salinity_tolerance";
    let genus = |of: &Species| of.scientific_name.split_whitespace().next().map(str::to_owned);
    let salinity = |of: &Species| level(of, name, Level::from_word).map(|found| found.0);
    let (_, held) = level(one, name, Level::from_word).filter(|(level, _)| *level == Level::High)?;
    let mut others = species
        .iter()
        .filter(|other| other.id != one.id && genus(other) == genus(one));
    let lower = others.find(|other| salinity(other).is_some_and(|level| level < Level::Medium))?;
    Some(Contradiction {
        name,
        text: format!("{name} high ({}), and lower in {}", held.source, lower.id),
        settled: is_disputed(held),
    })
}

#[cfg(test)]
#[path = "contradictions_tests.rs"]
mod tests;
