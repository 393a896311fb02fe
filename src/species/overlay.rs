//! A project's own catalogue laid over the starter's, value by value: where both
//! say something the project's is used, and the starter's is set aside beside it.

use super::{Catalogue, Opinion, SetAside, Source, Species, Trait, print_response};
use crate::factor::Factor;

/// Why a value of the starter catalogue is not used.
const NOTE: &str = "in the starter catalogue; the project's own value is used";

/// `own` over `starter`. Species of the starter come first, in its order; those
/// that only the project has follow.
pub(super) fn lay_over(own: Catalogue, starter: Catalogue, factors: &[Factor]) -> Catalogue {
    let mut catalogue = starter;
    let renamed = add_sources(&mut catalogue.sources, own.sources);
    rename(&mut catalogue.species, &renamed);
    for species in own.species {
        match catalogue.species.iter_mut().find(|held| held.id == species.id) {
            Some(held) => merge(held, species, factors),
            None => catalogue.species.push(species),
        }
    }
    catalogue
}

/// Adds the project's sources. A starter source whose id the project uses for
/// another one gets another id; the pairs of old and new ids go out.
fn add_sources(held: &mut Vec<Source>, own: Vec<Source>) -> Vec<(String, String)> {
    let mut renamed = Vec::new();
    for source in own {
        let Some(place) = held.iter().position(|other| other.id == source.id) else {
            held.push(source);
            continue;
        };
        if held[place].citation() == source.citation() {
            continue;
        }
        let id = format!("starter-{}", source.id);
        renamed.push((source.id.clone(), id.clone()));
        held[place].id = id;
        held.push(source);
    }
    renamed
}

fn rename(species: &mut [Species], renamed: &[(String, String)]) {
    let set = |source: &mut String| {
        if let Some((_, id)) = renamed.iter().find(|(old, _)| old == source) {
            source.clone_from(id);
        }
    };
    for species in species {
        for value in &mut species.traits {
            set(&mut value.source);
            value
                .set_aside
                .iter_mut()
                .for_each(|other| set(&mut other.source));
        }
        for opinion in &mut species.opinions {
            set(&mut opinion.source);
            opinion
                .set_aside
                .iter_mut()
                .for_each(|other| set(&mut other.source));
        }
    }
}

/// Puts the project's values of one species over the starter's.
fn merge(held: &mut Species, own: Species, factors: &[Factor]) {
    held.scientific_name = own.scientific_name;
    held.common_name = own.common_name;
    held.form = own.form;
    for value in own.traits {
        put_trait(&mut held.traits, value);
    }
    put_opinions(&mut held.opinions, own.opinions, factors);
}

fn put_trait(held: &mut Vec<Trait>, mut own: Trait) {
    match held.iter_mut().find(|other| other.name == own.name) {
        Some(other) => {
            if other.value != own.value {
                own.set_aside.push(SetAside {
                    value: other.value.clone(),
                    source: other.source.clone(),
                    note: NOTE.to_owned(),
                });
            }
            *other = own;
        }
        None => held.push(own),
    }
}

fn put_opinions(held: &mut Vec<Opinion>, own: Vec<Opinion>, factors: &[Factor]) {
    let is_own = |opinion: &Opinion| own.iter().any(|other| other.factor == opinion.factor);
    let (replaced, kept): (Vec<Opinion>, Vec<Opinion>) = held.drain(..).partition(is_own);
    *held = kept;
    for mut opinion in own {
        let factor = factors.iter().find(|factor| factor.id == opinion.factor);
        let others = replaced
            .iter()
            .filter(|other| other.factor == opinion.factor && other.response != opinion.response);
        if let Some(factor) = factor {
            opinion.set_aside.extend(others.map(|other| SetAside {
                value: print_response(&other.response, factor),
                source: other.source.clone(),
                note: NOTE.to_owned(),
            }));
        }
        held.push(opinion);
    }
}
