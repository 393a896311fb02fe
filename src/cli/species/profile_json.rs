//! One species for programs: every value with the id of its source, those set aside
//! too.

use serde::Serialize;

use super::Opened;
use crate::species::{Form, Opinion, SetAside, Species, Trait, print_condition, print_response};

#[derive(Serialize)]
pub(super) struct ProfileJson<'a> {
    id: &'a str,
    scientific_name: &'a str,
    common_name: &'a str,
    form: Form,
    traits: &'a [Trait],
    responses: Vec<ResponseJson<'a>>,
}

#[derive(Serialize)]
struct ResponseJson<'a> {
    factor: &'a str,
    given: Option<String>,
    response: String,
    source: &'a str,
    note: &'a str,
    set_aside: &'a [SetAside],
}

impl<'a> ProfileJson<'a> {
    pub(super) fn of(species: &'a Species, opened: &Opened) -> ProfileJson<'a> {
        ProfileJson {
            id: &species.id,
            scientific_name: &species.scientific_name,
            common_name: &species.common_name,
            form: species.form,
            traits: &species.traits,
            responses: species
                .opinions
                .iter()
                .filter_map(|opinion| ResponseJson::of(opinion, opened))
                .collect(),
        }
    }
}

impl<'a> ResponseJson<'a> {
    /// Nothing for a factor that is not there, which reading has told.
    fn of(opinion: &'a Opinion, opened: &Opened) -> Option<ResponseJson<'a>> {
        let factor = opened.factor(&opinion.factor)?;
        Some(ResponseJson {
            factor: &opinion.factor,
            given: given_text(opinion, opened),
            response: print_response(&opinion.response, factor),
            source: &opinion.source,
            note: &opinion.note,
            set_aside: &opinion.set_aside,
        })
    }
}

/// The condition of an opinion as catalogues write it.
pub(super) fn given_text(opinion: &Opinion, opened: &Opened) -> Option<String> {
    let given = opinion.given.as_ref()?;
    Some(print_condition(given, &opened.factors))
}
