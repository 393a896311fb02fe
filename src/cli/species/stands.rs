//! Whether a species stands values of the ground that a person names.

use super::{Opened, SpeciesCommandError, refused};
use crate::factor::{Factor, Kind};
use crate::nearest::nearest;
use crate::score::Score;
use crate::species::Species;

/// The lowest score that counts as standing a value: the default limit of class S2.
pub(super) const STANDS_FROM: f64 = 0.60;

/// One value of the ground.
#[derive(Debug, Clone)]
pub(super) struct Ground<'a> {
    /// As the person wrote it.
    pub(super) written: String,
    pub(super) factor: &'a Factor,
    pub(super) value: f32,
}

impl<'a> Ground<'a> {
    /// The value written `factor=value`.
    ///
    /// # Errors
    /// No such factor, no such class, or no number.
    pub(super) fn read(text: &str, opened: &'a Opened) -> Result<Ground<'a>, SpeciesCommandError> {
        let (id, value) = text
            .split_once('=')
            .ok_or_else(|| refused(format!("`--stands {text}` needs the form factor=value")))?;
        let factor = find_factor(id, opened)?;
        let value = match &factor.kind {
            Kind::Classes { names, .. } => {
                factor.kind.class_index(value).map(f32::from).ok_or_else(|| {
                    let near = nearest(value, names.iter().map(String::as_str));
                    let hint = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
                    refused(format!(
                        "`{value}` is no class of {}, which has {}{hint}",
                        factor.id,
                        names.join(", ")
                    ))
                })?
            }
            Kind::Measured(unit) => value
                .trim()
                .parse()
                .ok()
                .filter(|number: &f32| number.is_finite())
                .ok_or_else(|| {
                    refused(format!(
                        "`{value}` is no number for {}, which is measured in {unit}",
                        factor.id
                    ))
                })?,
        };
        Ok(Ground {
            written: text.trim().to_owned(),
            factor,
            value,
        })
    }
}

/// The factor with this id.
///
/// # Errors
/// No such factor.
pub(super) fn find_factor<'a>(id: &str, opened: &'a Opened) -> Result<&'a Factor, SpeciesCommandError> {
    let id = id.trim();
    opened.factor(id).ok_or_else(|| {
        let ids: Vec<&str> = opened.factors.iter().map(|factor| factor.id.as_str()).collect();
        let near = nearest(id, ids.iter().copied());
        let hint = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
        refused(format!(
            "there is no factor `{id}`; there are {}{hint}",
            ids.join(", ")
        ))
    })
}

/// The score on one value; nothing where the species has no opinion that is known to
/// hold and the value is not harmless. `ground` decides on conditions.
pub(super) fn score(species: &Species, asked: &Ground<'_>, ground: &[Ground<'_>]) -> Option<f64> {
    let holding = species.opinions_on(&asked.factor.id).find(|opinion| {
        opinion.given.as_ref().is_none_or(|given| {
            let decides = ground.iter().find(|other| other.factor.id == given.factor);
            decides.is_some_and(|other| given.holds_for(other.value))
        })
    });
    let score = holding.and_then(|opinion| opinion.response.score(asked.value));
    let harmless = asked.factor.harmless.holds_for(asked.value);
    score.map(Score::get).or(harmless.then_some(1.0))
}
