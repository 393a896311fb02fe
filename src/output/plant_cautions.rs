//! Cautions of plants that poison, prick or fall, as the catalogue records them.

use crate::species::Species;

/// A trait that tells of a hazard.
struct Hazard {
    name: &'static str,
    /// What stands before its value.
    label: &'static str,
    /// What stands before the names of plants that have it.
    plants: &'static str,
}

const fn hazard(name: &'static str, label: &'static str, plants: &'static str) -> Hazard {
    Hazard { name, label, plants }
}

const POISONOUS: &str = "poisonous to people or animals";
const FALLING: &str = "that drop limbs, fruit or pods";

const HAZARDS: [Hazard; 5] = [
    hazard("toxicity", "toxicity", POISONOUS),
    hazard("toxicity_note", "poisonous", POISONOUS),
    hazard("thorns", "thorns", "that prick or cut"),
    hazard("falls", "falls", FALLING),
    hazard("falling_limbs", "falling limbs", FALLING),
];

/// Words of such a trait that mark nothing. "None" among published toxicities means
/// not recorded, which is not safe.
const NO_HAZARD: [&str; 4] = ["none", "no", "unknown", "not recorded"];

/// The hazards that are recorded of a species, with what is said of each.
fn recorded(species: &Species) -> impl Iterator<Item = (&'static Hazard, &str)> {
    HAZARDS.iter().filter_map(|hazard| {
        let value = species.trait_of(hazard.name)?.value.trim();
        let is_one = !NO_HAZARD.iter().any(|none| none.eq_ignore_ascii_case(value));
        is_one.then_some((hazard, value))
    })
}

/// What the catalogue records of a plant that poisons, pricks or falls, in its own
/// words: `toxicity: slight`.
///
/// # Missing
/// Nothing where the catalogue is silent, which does not mean that the plant is safe.
#[must_use]
pub fn plant_cautions(species: &Species) -> Vec<String> {
    recorded(species)
        .map(|(hazard, value)| format!("{}: {}", hazard.label, value.to_lowercase()))
        .collect()
}

/// One sentence on the plants of a list that the catalogue marks, or nothing.
#[must_use]
pub fn plants_caution<'a>(listed: impl Iterator<Item = &'a Species>) -> Option<String> {
    let mut groups: Vec<(&str, Vec<&str>)> = Vec::new();
    for species in listed {
        let name = Some(species.common_name.trim()).filter(|name| !name.is_empty());
        let name = name.unwrap_or(&species.scientific_name);
        for (hazard, _) in recorded(species) {
            match groups.iter_mut().find(|(plants, _)| *plants == hazard.plants) {
                Some((_, names)) if names.last() == Some(&name) => {}
                Some((_, names)) => names.push(name),
                None => groups.push((hazard.plants, vec![name])),
            }
        }
    }
    if groups.is_empty() {
        return None;
    }
    groups.sort_by_key(|(plants, _)| HAZARDS.iter().position(|hazard| hazard.plants == *plants));
    let groups: Vec<String> = groups
        .iter()
        .map(|(plants, names)| format!("{plants}: {}", names.join(", ")))
        .collect();
    Some(format!(
        "Plants to handle or place with care, {}; that the catalogue is silent on the others does not make them safe.",
        groups.join("; ")
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::species::{Form, Trait};

    fn plant(name: &str, traits: &[(&str, &str)]) -> Species {
        let traits = traits.iter().map(|(name, value)| Trait {
            name: (*name).to_owned(),
            value: (*value).to_owned(),
            source: "made up".to_owned(),
            note: String::new(),
            set_aside: Vec::new(),
        });
        Species {
            id: "made-up".to_owned(),
            scientific_name: "Rhus typhina".to_owned(),
            common_name: name.to_owned(),
            form: Form::Shrub,
            traits: traits.collect(),
            opinions: vec![],
        }
    }

    #[test]
    fn plants_are_marked_where_the_catalogue_knows() {
        let silent = plant(
            "sumac",
            &[("toxicity", "None"), ("thorns", "none"), ("height_m", "3")],
        );
        let marked = plant(
            "cherry",
            &[
                ("toxicity", "Slight"),
                ("toxicity_note", "Wilted leaves poison cattle"),
                ("thorns", "on old wood"),
            ],
        );
        let other = plant("dogwood", &[("thorns", "spurs")]);
        assert!(plant_cautions(&silent).is_empty());
        assert_eq!(
            plant_cautions(&marked),
            [
                "toxicity: slight",
                "poisonous: wilted leaves poison cattle",
                "thorns: on old wood"
            ]
        );
        assert_eq!(plants_caution([&silent].into_iter()), None);
        let told = plants_caution([&silent, &other, &marked].into_iter()).unwrap();
        assert!(
            told.contains(
                "care, poisonous to people or animals: cherry; that prick or cut: dogwood, cherry; that the catalogue is silent"
            ),
            "{told}"
        );
    }

    /// Every hazard of the starter catalogue is one that outputs mark.
    #[test]
    fn hazards_that_the_program_knows_are_marked() {
        let known = crate::species::KNOWN_TRAITS.iter();
        for known in known.filter(|known| known.part == crate::species::Part::Hazards) {
            assert!(
                HAZARDS.iter().any(|hazard| hazard.name == known.name),
                "{}",
                known.name
            );
        }
    }
}
