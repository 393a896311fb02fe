//! The rules over the whole of each ladder, on species made up for it.

use super::{Level, Shade, Status, derive};
use crate::factor::Factor;
use crate::project::RuleSettings;
use crate::species::{Catalogue, Form, Source, SourceKind, Species, Trait};

const S1: f64 = 0.85;
const S2: f64 = 0.60;

fn factors() -> Vec<Factor> {
    Factor::standard_ids().filter_map(Factor::standard).collect()
}

/// A species with these traits and what the rules give it.
fn species(form: Form, traits: &[(&str, &str)]) -> Species {
    let traits = traits.iter().map(|(name, value)| Trait {
        name: (*name).to_owned(),
        value: (*value).to_owned(),
        source: "list".to_owned(),
        note: String::new(),
        set_aside: Vec::new(),
    });
    let list = Source {
        id: "list".to_owned(),
        kind: SourceKind::Published,
        title: "A list".to_owned(),
        author: String::new(),
        year: String::new(),
        publisher: String::new(),
        note: String::new(),
    };
    let mut catalogue = Catalogue {
        species: vec![Species {
            id: "plant".to_owned(),
            scientific_name: "Planta".to_owned(),
            common_name: "plant".to_owned(),
            form,
            traits: traits.collect(),
            opinions: Vec::new(),
        }],
        sources: vec![list],
    };
    derive(&mut catalogue, &factors(), &RuleSettings::default());
    catalogue.species.remove(0)
}

fn score(species: &Species, factor: &str, value: f32) -> f64 {
    let opinion = species.opinions_on(factor).next().unwrap();
    opinion.response.score(value).unwrap().get()
}

fn class(factor: &str, name: &str) -> f32 {
    f32::from(Factor::standard(factor).unwrap().kind.class_index(name).unwrap())
}

fn water(status: Status, more: &[(&str, &str)]) -> Species {
    let mut traits = vec![("wetland_midwest", status.word())];
    traits.extend(more);
    species(Form::Forb, &traits)
}

/// Common practice, no source: a plant is at its best somewhere; from there the
/// score never rises again towards either end.
#[test]
fn each_status_has_one_summit_on_both_scales() {
    for &status in Status::ALL {
        let plant = water(status, &[]);
        for (factor, classes) in [("moisture", 5_u8), ("drainage", 7)] {
            let scores: Vec<f64> = (0..classes)
                .map(|class| score(&plant, factor, f32::from(class)))
                .collect();
            assert!(scores.contains(&1.0), "{status:?} {scores:?}");
            let top = scores.iter().position(|&score| score == 1.0).unwrap();
            assert!(
                scores[..top].windows(2).all(|pair| pair[0] <= pair[1]),
                "{scores:?}"
            );
            assert!(
                scores[top..].windows(2).all(|pair| pair[0] >= pair[1]),
                "{scores:?}"
            );
        }
    }
}

/// The order of the wetland statuses (National Wetland Plant List: OBL almost always
/// in wetlands, UPL almost never) on every class of moisture and drainage.
#[test]
fn a_wetter_status_never_scores_lower_on_wet_ground_nor_higher_on_dry() {
    for pair in Status::ALL.windows(2) {
        let (drier, wetter) = (water(pair[0], &[]), water(pair[1], &[]));
        for (factor, dry, wet) in [
            ("moisture", ["dry", "dry-mesic"], ["wet-mesic", "wet"]),
            (
                "drainage",
                ["excessively drained", "somewhat excessively drained"],
                ["poorly drained", "very poorly drained"],
            ),
        ] {
            for name in dry {
                let at = class(factor, name);
                assert!(
                    score(&drier, factor, at) >= score(&wetter, factor, at),
                    "{pair:?} {name}"
                );
            }
            // On wet-mesic ground a plant of wet-mesic ground may be better than one of water.
            let at = class(factor, wet[1]);
            assert!(
                score(&drier, factor, at) <= score(&wetter, factor, at) + 0.35,
                "{pair:?} {}",
                wet[1]
            );
        }
    }
    let at = |status, factor: &str, name: &str| score(&water(status, &[]), factor, class(factor, name));
    for (status, suits_marsh, suits_ridge) in [
        (Status::Obl, true, false),
        (Status::Facw, true, false),
        (Status::Fac, false, false),
        (Status::Facu, false, false),
        (Status::Upl, false, true),
    ] {
        assert_eq!(at(status, "moisture", "wet") >= S2, suits_marsh, "{status:?}");
        assert_eq!(at(status, "moisture", "dry") >= S2, suits_ridge, "{status:?}");
        assert_eq!(
            at(status, "drainage", "excessively drained") >= S2,
            suits_ridge,
            "{status:?}"
        );
        assert_eq!(
            at(status, "drainage", "very poorly drained") >= S2,
            suits_marsh,
            "{status:?}"
        );
        assert!(at(status, "moisture", "mesic") >= 0.4, "{status:?}");
    }
}

#[test]
fn air_and_drought_shift_the_status_and_never_turn_it_round() {
    for &status in &[Status::Upl, Status::Facu, Status::Fac] {
        let mut wettest = 2.0;
        for &level in Level::ALL.iter().rev() {
            let plant = water(status, &[("recorded_anaerobic_tolerance", level.word())]);
            let wet = score(&plant, "moisture", class("moisture", "wet"));
            assert!(wet <= wettest, "{status:?} {level:?}");
            wettest = wet;
        }
        let mut driest = -1.0;
        for &level in Level::ALL {
            let plant = water(status, &[("recorded_drought_tolerance", level.word())]);
            let dry = score(&plant, "moisture", class("moisture", "dry"));
            assert!(dry >= driest, "{status:?} {level:?}");
            driest = dry;
        }
    }
    let marsh = water(Status::Obl, &[("recorded_anaerobic_tolerance", "none")]);
    assert_eq!(score(&marsh, "moisture", class("moisture", "wet")), 1.0);
    let opinion = marsh.opinions_on("moisture").next().unwrap();
    assert_eq!(opinion.set_aside[0].value, "anaerobic tolerance none");
    assert!(opinion.note.contains("disputed"));
}

#[test]
fn water_use_says_nothing() {
    let thirsty = water(Status::Facu, &[("recorded_water_use", "high")]);
    let frugal = water(Status::Facu, &[("recorded_water_use", "low")]);
    assert_eq!(thirsty.opinions, frugal.opinions);
}

#[test]
fn the_second_source_holds_back_and_never_lifts() {
    let alone = water(Status::Facw, &[]);
    let held = water(Status::Facw, &[("moisture_range", "mesic to wet-mesic")]);
    for (factor, classes) in [("moisture", 5_u8), ("drainage", 7)] {
        for class in 0..classes {
            let class = f32::from(class);
            assert!(score(&held, factor, class) <= score(&alone, factor, class));
        }
    }
    assert!(score(&held, "moisture", class("moisture", "wet")) < S2);
    let against = water(Status::Obl, &[("moisture_range", "dry to mesic")]);
    let opinion = against.opinions_on("moisture").next().unwrap();
    assert_eq!(opinion.set_aside[0].value, "moisture range dry to mesic");
}

/// The ladder of light over canopy from 0 to 100 %: intolerant never S1 above 40 %
/// nor S2 above 70 %, tolerant in shade, intermediate between (common practice, no source).
#[test]
fn each_shade_level_keeps_its_place_from_open_to_closed_canopy() {
    for form in [Form::Tree, Form::Shrub, Form::Forb] {
        let plants: Vec<Species> = Shade::ALL
            .iter()
            .map(|shade| species(form, &[("recorded_shade_tolerance", shade.word())]))
            .collect();
        for cover in 0..=100_u8 {
            let at = f32::from(cover);
            let [intolerant, intermediate, tolerant] =
                [0, 1, 2].map(|which| score(&plants[which], "canopy", at));
            if cover > 40 {
                assert!(intolerant < S1, "{form:?} at {cover} %");
            }
            if cover > 70 {
                assert!(intolerant < S2, "{form:?} at {cover} %");
            }
            if cover >= 60 {
                assert!(
                    intolerant <= intermediate && intermediate <= tolerant,
                    "{form:?} at {cover} %"
                );
            }
            if (60..=90).contains(&cover) {
                assert!(tolerant >= S1, "{form:?} at {cover} %");
            }
        }
        for tenths in 0..=40_u8 {
            let at = f32::from(tenths) / 10.0;
            let [intolerant, intermediate, tolerant] =
                [0, 1, 2].map(|which| score(&plants[which], "sun_hours", at));
            assert!(
                intolerant <= intermediate && intermediate <= tolerant,
                "{form:?} at {at} h"
            );
        }
        assert_eq!(score(&plants[0], "sun_hours", 6.0), 1.0);
    }
}

/// "Tolerant" says that a plant stands shade, not that it stands full sun.
#[test]
fn full_sun_needs_a_second_source_for_tolerant_herbs_and_shrubs() {
    for form in [Form::Shrub, Form::Grass, Form::Forb, Form::Fern] {
        let plant = |more: &[(&str, &str)]| {
            let mut traits = vec![("recorded_shade_tolerance", "tolerant")];
            traits.extend(more);
            species(form, &traits)
        };
        let untold = plant(&[]);
        for (factor, open) in [("canopy", 0.0), ("sun_hours", 10.0)] {
            assert!(score(&untold, factor, open) < S1, "{form:?}");
            let told = plant(&[("light_range", "full sun to shade")]);
            assert_eq!(score(&told, factor, open), 1.0);
            let woodland = plant(&[("light_range", "part shade to shade")]);
            assert!(score(&woodland, factor, open) < S2);
        }
        let note = &untold.opinions_on("canopy").next().unwrap().note;
        assert!(note.contains("no second source for the sunny end"), "{note}");
    }
}

/// USDA PLANTS, characteristics, salinity tolerance: None 0 to 2 dS/m, Low 2.1 to 4,
/// Medium 4.1 to 8, High over 8, at 10 % or less growth loss.
#[test]
fn salinity_classes_are_reproduced_at_their_limits() {
    for (level, limit, next) in [("none", 2.0, 4.0), ("low", 4.0, 8.0), ("medium", 8.0, 16.0)] {
        let plant = species(Form::Grass, &[("recorded_salinity_tolerance", level)]);
        assert!(
            (score(&plant, "soil_salinity", limit) - 0.9).abs() < 1e-3,
            "{level}"
        );
        assert!(
            (score(&plant, "soil_salinity", next) - 0.6).abs() < 1e-3,
            "{level}"
        );
        assert!(score(&plant, "soil_salinity", limit) >= 0.9);
    }
    let hardy = species(Form::Grass, &[("recorded_salinity_tolerance", "high")]);
    assert!(score(&hardy, "soil_salinity", 8.0) > 0.9);
}

#[test]
fn ph_settings_are_used() {
    let plant = species(
        Form::Tree,
        &[("recorded_ph_lowest", "5"), ("recorded_ph_highest", "7")],
    );
    for (value, wanted) in [
        (4.0, 0.0),
        (5.0, 0.6),
        (5.5, 1.0),
        (6.5, 1.0),
        (7.0, 0.6),
        (8.0, 0.0),
    ] {
        assert!((score(&plant, "ph", value) - wanted).abs() < 1e-9, "{value}");
    }
}

/// A zone from memory gives no opinion, a published one does.
#[test]
fn hardiness_comes_from_published_zones_alone() {
    let plant = species(Form::Tree, &[("hardiness_zone", "4")]);
    assert_eq!(score(&plant, "hardiness", -34.4), 1.0);
    assert_eq!(score(&plant, "hardiness", -40.0), 0.0);
    let (mut catalogue, _) = crate::species::starter::read();
    derive(&mut catalogue, &factors(), &RuleSettings::default());
    for species in &catalogue.species {
        let zone = species.trait_of("hardiness_zone");
        let published = zone.and_then(|zone| catalogue.source(&zone.source));
        let published = published.is_some_and(|source| source.kind == SourceKind::Published);
        let speaks = species.opinions_on("hardiness").next().is_some();
        assert_eq!(speaks, published, "{}", species.id);
    }
}

#[test]
fn without_levels_there_are_no_opinions() {
    assert!(
        species(Form::Forb, &[("height_m", "1"), ("recorded_water_use", "high")])
            .opinions
            .is_empty()
    );
}
