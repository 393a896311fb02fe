//! The catalogue in sample-data: that it reads without a fault, follows its own
//! printed rules, and says what the trade says.

use std::path::Path;

use super::{Catalogue, CataloguePaths, Form, Species};
use crate::factor::{Factor, Harmless};

/// Default class limits of the limiting rule.
const S1: f64 = 0.85;
const S2: f64 = 0.60;

fn factors() -> Vec<Factor> {
    Factor::standard_ids().filter_map(Factor::standard).collect()
}

fn catalogue() -> Catalogue {
    let paths = CataloguePaths::in_folder(Path::new("sample-data/catalogue"));
    let (catalogue, problems) = Catalogue::read(&paths, &factors()).unwrap();
    let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
    assert!(told.is_empty(), "{told:#?}");
    catalogue
}

fn level<'a>(species: &'a Species, name: &str) -> &'a str {
    species.trait_of(name).map_or("", |value| &value.value)
}

fn class(factor: &str, name: &str) -> f32 {
    f32::from(Factor::standard(factor).unwrap().kind.class_index(name).unwrap())
}

/// The lowest score over the ground given, as (factor, value); nothing when a
/// factor is unknown and not harmless there.
fn rating(species: &Species, ground: &[(&str, f32)]) -> Option<f64> {
    let mut lowest = 1.0_f64;
    for &(id, value) in ground {
        let holds = |given: &super::Condition| {
            ground
                .iter()
                .any(|(other, value)| *other == given.factor && given.holds_for(*value))
        };
        let opinion = species
            .opinions_on(id)
            .find(|opinion| opinion.given.as_ref().is_none_or(holds));
        let harmless = match Factor::standard(id).unwrap().harmless {
            Harmless::Nothing => false,
            Harmless::Below(limit) => f64::from(value) < limit,
            Harmless::UpToClass { last, .. } => value <= f32::from(last),
        };
        match opinion.and_then(|opinion| opinion.response.score(value)) {
            Some(score) => lowest = lowest.min(score.get()),
            None if harmless => {}
            None => return None,
        }
    }
    Some(lowest)
}

fn on(species: &Species, factor: &str, value: f32) -> f64 {
    rating(species, &[(factor, value)]).unwrap()
}

#[test]
fn it_holds_24_species_of_all_forms() {
    let catalogue = catalogue();
    assert_eq!(catalogue.species.len(), 24);
    for form in Form::ALL {
        assert!(
            catalogue.species.iter().any(|species| species.form == form),
            "{form:?}"
        );
    }
    for species in &catalogue.species {
        for factor in ["drainage", "ph", "canopy", "soil_salinity"] {
            assert!(
                species.opinions_on(factor).next().is_some(),
                "{} on {factor}",
                species.id
            );
        }
        // Nothing recorded is left empty, never written as a word that reads as safe.
        assert_ne!(level(species, "toxicity"), "None");
    }
}

/// Common practice, no source.
#[test]
fn a_dry_site_plant_of_full_sun_stands_neither_deep_shade_nor_a_marsh() {
    let catalogue = catalogue();
    for id in [
        "asclepias-tuberosa",
        "bouteloua-curtipendula",
        "schizachyrium-scoparium",
        "rhus-typhina",
        "comptonia-peregrina",
        "juniperus-virginiana",
    ] {
        let species = catalogue.find(id).unwrap();
        assert!(on(species, "canopy", 90.0) < S2, "{id}");
        assert!(
            on(species, "drainage", class("drainage", "very poorly drained")) < S2,
            "{id}"
        );
        let ridge = [
            ("canopy", 0.0),
            ("drainage", class("drainage", "excessively drained")),
        ];
        assert!(rating(species, &ridge).unwrap() >= S2, "{id}");
    }
}

/// Common practice, no source.
#[test]
fn a_wet_site_plant_does_not_stand_a_gravel_ridge() {
    let catalogue = catalogue();
    let obligate: Vec<&Species> = catalogue
        .species
        .iter()
        .filter(|species| level(species, "wetland_midwest") == "OBL")
        .collect();
    assert!(obligate.len() >= 4);
    for species in obligate {
        assert!(
            on(species, "drainage", class("drainage", "excessively drained")) < S2,
            "{}",
            species.id
        );
        assert!(
            on(species, "drainage", class("drainage", "very poorly drained")) >= S1,
            "{}",
            species.id
        );
    }
}

/// Common practice, no source: salt is washed out only where the ground drains.
#[test]
fn salt_is_stood_on_drained_ground_only() {
    let catalogue = catalogue();
    let shrub = catalogue.find("dasiphora-fruticosa").unwrap();
    assert_eq!(shrub.form, Form::Shrub);
    let beside_road = |drainage: &str, spray: &str, salinity: f32| {
        let ground = [
            ("drainage", class("drainage", drainage)),
            ("spray_salt", class("spray_salt", spray)),
            ("soil_salinity", salinity),
            ("canopy", 0.0),
            ("ph", 6.5),
        ];
        rating(shrub, &ground).unwrap()
    };
    for drained in ["excessively drained", "well drained", "moderately well drained"] {
        assert!(beside_road(drained, "heavy", 6.0) >= S2, "{drained}");
    }
    assert!(beside_road("poorly drained", "heavy", 6.0) < S2);
    // Either salt alone is enough, and without salt the flat suits.
    assert!(beside_road("poorly drained", "heavy", 0.5) < S2);
    assert!(beside_road("poorly drained", "none", 6.0) < S2);
    assert!(beside_road("poorly drained", "none", 0.5) >= S2);
    let disputed = |factor: &str| {
        shrub
            .opinions_on(factor)
            .any(|opinion| opinion.note.contains("disputed"))
    };
    assert!(disputed("drainage") && disputed("soil_salinity"));
}

/// Common practice, no source: nobody plants on a guess at the road's edge.
#[test]
fn without_an_opinion_on_spray_a_species_is_unknown_from_moderate_up() {
    let catalogue = catalogue();
    let silent: Vec<&Species> = catalogue
        .species
        .iter()
        .filter(|species| species.opinions_on("spray_salt").next().is_none())
        .collect();
    assert!(silent.len() >= 4);
    for species in silent {
        assert_eq!(
            rating(species, &[("spray_salt", class("spray_salt", "none"))]),
            Some(1.0)
        );
        for band in ["moderate", "heavy", "severe"] {
            assert_eq!(
                rating(species, &[("spray_salt", class("spray_salt", band))]),
                None,
                "{}",
                species.id
            );
        }
    }
}

/// Rules 1 to 3 of the catalogue's README, worked again from the recorded levels.
#[test]
fn drainage_follows_the_rules_of_water() {
    let mut worked = 0;
    for species in catalogue().species {
        let opinion = species.opinions_on("drainage").next().unwrap();
        if !opinion.note.contains("by rule 1") {
            continue;
        }
        let regions = [
            "wetland_midwest",
            "wetland_northcentral_northeast",
            "wetland_michigan",
        ];
        let status = regions
            .iter()
            .map(|region| level(&species, region))
            .find(|status| !status.is_empty())
            .unwrap();
        let (mut scores, wet): ([f64; 7], bool) = match status {
            "OBL" => ([0.0, 0.1, 0.3, 0.5, 0.8, 1.0, 1.0], true),
            "FACW" => ([0.1, 0.25, 0.65, 0.85, 1.0, 0.95, 0.65], true),
            "FAC" => ([0.3, 0.5, 0.85, 1.0, 1.0, 0.6, 0.3], false),
            "FACU" => ([0.5, 0.8, 1.0, 1.0, 0.6, 0.25, 0.0], false),
            "UPL" => ([0.9, 1.0, 1.0, 0.85, 0.4, 0.1, 0.0], false),
            other => panic!("status {other}"),
        };
        if !wet {
            let wettest: [f64; 3] = match level(&species, "recorded_anaerobic_tolerance") {
                "None" => [0.6, 0.3, 0.0],
                "Low" => [1.0, 0.6, 0.3],
                _ => [1.0; 3],
            };
            for (score, most) in scores[4..].iter_mut().zip(wettest) {
                *score = score.min(most);
            }
            let (least, most): ([f64; 2], [f64; 2]) = match level(&species, "recorded_drought_tolerance") {
                "High" if status == "FAC" => ([0.6, 0.8], [1.0; 2]),
                "High" => ([0.85, 0.9], [1.0; 2]),
                "Low" => ([0.0; 2], [0.4, 0.65]),
                "None" => ([0.0; 2], [0.2, 0.4]),
                _ => ([0.0; 2], [1.0; 2]),
            };
            for (score, (least, most)) in scores.iter_mut().zip(least.into_iter().zip(most)) {
                *score = score.max(least).min(most);
            }
        }
        for (index, wanted) in (0_u16..).zip(scores) {
            assert_eq!(
                on(&species, "drainage", f32::from(index)),
                wanted,
                "{} in class {index}",
                species.id
            );
        }
        worked += 1;
    }
    assert_eq!(worked, 23);
}

/// Rules 4 and 5.
#[test]
fn shade_follows_the_rules_of_light() {
    let catalogue = catalogue();
    let mut seen = Vec::new();
    for species in &catalogue.species {
        let opinion = species.opinions_on("canopy").next().unwrap();
        let at = |cover: f32| on(species, "canopy", cover);
        // What another source corrects is marked.
        if opinion.source != "usda-plants" {
            assert!(opinion.note.contains("disputed"), "{}", species.id);
            continue;
        }
        let tolerance = level(species, "recorded_shade_tolerance");
        match tolerance {
            "Intolerant" => {
                for cover in 41_u8..=100 {
                    let score = at(f32::from(cover));
                    assert!(
                        score < S1 && (cover <= 70 || score < S2),
                        "{} at {cover} %",
                        species.id
                    );
                }
            }
            "Intermediate" => assert!(at(50.0) >= S1 && at(60.0) >= S2 && at(95.0) < S2),
            "Tolerant" => {
                assert!(at(85.0) >= S1, "{}", species.id);
                if species.form != Form::Tree {
                    assert!(at(0.0) < S2, "{} in the open", species.id);
                    assert!((S2..S1).contains(&at(20.0)), "{} in light shade", species.id);
                }
            }
            other => panic!("shade tolerance {other}"),
        }
        seen.push(tolerance);
    }
    for tolerance in ["Intolerant", "Intermediate", "Tolerant"] {
        assert!(seen.contains(&tolerance), "{tolerance}");
    }
}

/// Rule 6.
#[test]
fn ph_follows_the_recorded_limits() {
    for species in catalogue().species {
        let lowest: f32 = level(&species, "recorded_ph_lowest").parse().unwrap();
        let highest: f32 = level(&species, "recorded_ph_highest").parse().unwrap();
        let quarter = (highest - lowest) / 4.0;
        let near = |value: f32, wanted: f64| {
            let score = on(&species, "ph", value);
            assert!(
                (score - wanted).abs() < 1e-3,
                "{} at pH {value}: {score}",
                species.id
            );
        };
        near(lowest, 0.6);
        near(highest, 0.6);
        near(lowest - 1.0, 0.0);
        near(highest + 1.0, 0.0);
        near(lowest + quarter + 0.001, 1.0);
        near(highest - quarter - 0.001, 1.0);
    }
}

/// Rule 7.
#[test]
fn salinity_follows_the_class_limits() {
    for species in catalogue().species {
        let (limit, next) = match level(&species, "recorded_salinity_tolerance") {
            "None" => (2.0, 4.0),
            "Low" => (4.0, 8.0),
            "Medium" => (8.0, 16.0),
            other => panic!("salinity tolerance {other}"),
        };
        // The first line of the conditioned shrub is the one on drained ground.
        let opinion = species.opinions_on("soil_salinity").next().unwrap();
        let score = |salinity: f32| opinion.response.score(salinity).unwrap().get();
        assert!((score(limit) - 0.9).abs() < 1e-3, "{}", species.id);
        assert!(score(next) >= S2 && score(next + 0.05) < S2, "{}", species.id);
    }
}

#[test]
fn memory_and_derivation_are_never_passed_off_as_published() {
    let catalogue = catalogue();
    for species in &catalogue.species {
        for opinion in &species.opinions {
            let note = &opinion.note;
            let fits = match opinion.source.as_str() {
                "usda-plants" | "nwpl-2016" | "michigan-2014" | "lumis-1975" => note.contains("derived from"),
                "memory" => note.contains("from memory, unverified"),
                "common-practice" => !note.contains("derived from"),
                other => panic!("source {other}"),
            };
            assert!(fits, "{} on {}: {note}", species.id, opinion.factor);
            // The plant database says nothing of spray.
            assert!(opinion.factor != "spray_salt" || opinion.source != "usda-plants");
        }
    }
}
