//! What a species makes of ground on which plants must stay low or thin: from its height
//! and stem at maturity, never from what is planted. In come traits and limits; out go
//! opinions like those of the catalogue. It does not know where the ground is.

use super::{Form, Opinion, Response, Species};
use crate::project::PlantLimit;
use crate::score::Score;

/// The trait with the height at maturity, in metres.
const HEIGHT: &str = "height_m";
/// The trait with the thickness of a stem at maturity, in millimetres.
const STEM: &str = "stem_mm";

/// Gives every species an opinion on each limit, by the id of its factor, as far as its
/// traits tell; one that the catalogue has itself stands.
///
/// # Missing
/// A species whose height or stem is not known gets none, and is unknown on limited
/// ground, unless the other of the two settles the matter.
pub fn add_limits(species: &mut [Species], limits: &[(String, PlantLimit)]) {
    for species in species {
        for (factor, limit) in limits {
            if species.opinions_on(factor).next().is_none()
                && let Some(opinion) = opinion(species, factor, limit)
            {
                species.opinions.push(opinion);
            }
        }
    }
}

fn opinion(species: &Species, factor: &str, limit: &PlantLimit) -> Option<Opinion> {
    let mut fits = Some(true);
    let (mut source, mut notes) = (String::new(), Vec::new());
    let tests = [
        (limit.highest_m, grown(species, HEIGHT), "m high"),
        (limit.thickest_stem_mm, stem(species), "mm thick"),
    ];
    for (most, found, words) in tests {
        let Some(most) = most else { continue };
        let Some(found) = found else {
            // Not known, unless it is out already.
            fits = fits.filter(|fits| !fits);
            continue;
        };
        notes.push(match found.most {
            Some(grows_to) => format!("grows to {grows_to} {words}, {most} is the most"),
            None => format!(
                "its form: {words} {}",
                if found.beyond { "beyond" } else { "below" }
            ),
        });
        if found.most.map_or(found.beyond, |grows_to| grows_to > most) {
            fits = Some(false);
        }
        if source.is_empty() {
            source = found.source;
        }
    }
    let score = if fits? { Score::BEST } else { Score::NONE };
    Some(Opinion {
        factor: factor.to_owned(),
        given: None,
        // Free ground asks nothing, so it has no score there.
        response: Response::Classes(vec![None, Some(score)]),
        source,
        note: notes.join("; "),
        set_aside: Vec::new(),
    })
}

/// What a plant grows to.
struct Grown {
    /// The number, where there is one.
    most: Option<f64>,
    /// Without a number: whether it is beyond any limit.
    beyond: bool,
    source: String,
}

/// The greatest number of a trait: `6` and `4-6` alike are 6.
fn grown(species: &Species, name: &str) -> Option<Grown> {
    let value = species.trait_of(name)?;
    let numbers = value
        .value
        .split(|sign: char| !(sign.is_ascii_digit() || sign == '.'));
    let most = numbers
        .filter_map(|number| number.parse::<f64>().ok())
        .reduce(f64::max)?;
    Some(Grown {
        most: Some(most),
        beyond: false,
        source: value.source.clone(),
    })
}

/// A stem by its trait, else by the form: trees are beyond a limit, herbs and ferns below
/// (common practice, no source); of shrubs it is not known.
fn stem(species: &Species) -> Option<Grown> {
    grown(species, STEM).or_else(|| {
        let beyond = match species.form {
            Form::Tree => true,
            Form::Grass | Form::Forb | Form::Fern => false,
            Form::Shrub => return None,
        };
        Some(Grown {
            most: None,
            beyond,
            source: String::new(),
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::species::Trait;

    fn species(form: Form, traits: &[(&str, &str)]) -> Species {
        let of = |&(name, value): &(&str, &str)| Trait {
            name: name.to_owned(),
            value: value.to_owned(),
            source: "book".to_owned(),
            note: String::new(),
            set_aside: Vec::new(),
        };
        Species {
            id: "x".to_owned(),
            scientific_name: "X".to_owned(),
            common_name: "x".to_owned(),
            form,
            traits: traits.iter().map(of).collect(),
            opinions: Vec::new(),
        }
    }

    fn fits(species: &Species, highest_m: Option<f64>, thickest_stem_mm: Option<f64>) -> Option<bool> {
        let limit = PlantLimit {
            highest_m,
            thickest_stem_mm,
        };
        let mut all = [species.clone()];
        add_limits(&mut all, &[("under_line".to_owned(), limit)]);
        let opinion = all[0].opinions.first()?;
        let Response::Classes(scores) = &opinion.response else {
            panic!("{opinion:?}")
        };
        assert_eq!(scores[usize::from(PlantLimit::FREE)], None);
        Some(scores[usize::from(PlantLimit::LIMITED)].unwrap() == Score::BEST)
    }

    /// 25 ft (7.6 m) under lines: common practice, no single source; stems over 4 in (100 mm)
    /// are fixed objects (FHWA-SA-16-043, chapter 4).
    #[test]
    fn the_mature_plant_is_tested() {
        let tall = species(Form::Tree, &[("height_m", "20.7")]);
        let low = species(Form::Shrub, &[("height_m", "1-3")]);
        assert_eq!(fits(&tall, Some(7.6), None), Some(false));
        assert_eq!(fits(&low, Some(7.6), None), Some(true));
        assert_eq!(fits(&low, Some(3.0), None), Some(true));
        assert_eq!(fits(&low, Some(2.9), None), Some(false));
        assert_eq!(fits(&tall, None, Some(100.0)), Some(false));
        assert_eq!(fits(&species(Form::Forb, &[]), None, Some(100.0)), Some(true));
        let thin = species(Form::Tree, &[("stem_mm", "90"), ("height_m", "5")]);
        assert_eq!(fits(&thin, Some(7.6), Some(100.0)), Some(true));
    }

    #[test]
    fn what_is_not_known_is_neither() {
        let shrub = species(Form::Shrub, &[]);
        assert_eq!(fits(&shrub, Some(7.6), None), None);
        assert_eq!(fits(&shrub, None, Some(100.0)), None);
        let tall = species(Form::Shrub, &[("height_m", "9")]);
        assert_eq!(fits(&tall, Some(7.6), Some(100.0)), Some(false));
        assert_eq!(
            fits(&species(Form::Tree, &[]), Some(7.6), Some(100.0)),
            Some(false)
        );
    }
}
