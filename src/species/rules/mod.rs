//! Rules that turn recorded levels into responses. The traits of a species come
//! in; opinions go out, each saying from which level and by which rule. What is
//! recorded is published; the scores are ours (common practice, no source), so
//! every number stands in these files, and `told` prints them all.
//!
//! A rule never makes up a level: where nothing is recorded there is no opinion.

mod evidence;
mod ground;
mod levels;
mod light;
mod ph;
mod salt;
mod told;
mod water;

#[cfg(test)]
mod ladder_tests;

use evidence::Evidence;
pub use evidence::WETLAND_LISTS;
pub(super) use levels::{Level, Light, Moisture, Shade, SprayLevel, Status, span};
pub use told::told;

use super::{Catalogue, Opinion, Response, SetAside, Source, Species, print_response};
use crate::factor::Factor;
use crate::project::RuleSettings;
use crate::score::Score;

/// Gives every species the responses that follow from its recorded levels, on
/// all factors on which the catalogue itself says nothing. Where it does, its own
/// response is used, and one that follows from the levels and differs is set
/// aside beside it. Gives back how many opinions were derived.
pub fn derive(catalogue: &mut Catalogue, factors: &[Factor], settings: &RuleSettings) -> usize {
    let mut count = 0;
    for species in &mut catalogue.species {
        // Those that the catalogue's files give; one may itself say that it is derived.
        let own: Vec<String> = species.opinions.iter().map(|own| own.factor.clone()).collect();
        for opinion in derived(species, &catalogue.sources, settings) {
            let Some(factor) = factors.iter().find(|factor| factor.id == opinion.factor) else {
                continue;
            };
            if own.contains(&opinion.factor) {
                set_aside(species, &opinion, factor);
            } else {
                species.opinions.push(opinion);
                count += 1;
            }
        }
    }
    count
}

/// How the note of an opinion that a rule gave begins.
const DERIVED: &str = "derived from ";

/// How the note of an opinion ends whose evidence disagrees.
const DISPUTED: &str = "disputed, see what is set aside";

/// Keeps what a rule gives beside the response that is used instead.
fn set_aside(species: &mut Species, derived: &Opinion, factor: &Factor) {
    let used = species
        .opinions
        .iter_mut()
        .find(|own| own.factor == derived.factor);
    if let Some(used) = used.filter(|used| used.response != derived.response) {
        used.set_aside.push(SetAside {
            value: print_response(&derived.response, factor),
            source: derived.source.clone(),
            note: derived.note.clone(),
        });
    }
}

/// All that the rules give for one species, in the order of the rules.
fn derived(species: &Species, sources: &[Source], settings: &RuleSettings) -> Vec<Opinion> {
    let evidence = Evidence {
        species,
        sources,
        settings,
    };
    let mut opinions = water::opinions(&evidence);
    opinions.extend(light::opinions(&evidence));
    opinions.extend(ph::opinion(&evidence));
    opinions.extend(salt::opinions(&evidence));
    opinions.extend(ground::opinions(&evidence));
    opinions
}

/// An opinion that holds everywhere; `note` goes on after "derived from".
fn opinion(factor: &str, response: Response, source: &str, note: &str) -> Opinion {
    Opinion {
        factor: factor.to_owned(),
        given: None,
        response,
        source: source.to_owned(),
        note: format!("{DERIVED}{note}"),
        set_aside: Vec::new(),
    }
}

/// A score for each class of a factor.
fn classes(scores: &[f64]) -> Response {
    Response::Classes(scores.iter().map(|&score| Some(Score::clamped(score))).collect())
}
