//! Which pairs contradict, and what settles them.

use super::*;
use crate::species::{Opinion, Response, SetAside};

fn species(name: &str, form: Form, traits: &[(&str, &str)]) -> Species {
    let held = |(name, value): &(&str, &str)| Trait {
        name: (*name).to_owned(),
        value: (*value).to_owned(),
        source: "list".to_owned(),
        note: String::new(),
        set_aside: Vec::new(),
    };
    Species {
        id: name.to_lowercase().replace(' ', "-"),
        scientific_name: name.to_owned(),
        common_name: name.to_owned(),
        form,
        traits: traits.iter().map(held).collect(),
        opinions: Vec::new(),
    }
}

fn found(form: Form, traits: &[(&str, &str)]) -> Vec<Contradiction> {
    contradictions(&Catalogue {
        species: vec![species("Planta prima", form, traits)],
        sources: Vec::new(),
    })
}

#[test]
fn pairs_that_contradict_are_found_and_others_are_not() {
    let wet = ("wetland_midwest", "OBL");
    let dry = ("wetland_midwest", "UPL");
    for (form, pair, count) in [
        (Form::Forb, [wet, ("recorded_anaerobic_tolerance", "none")], 1),
        (Form::Forb, [wet, ("recorded_anaerobic_tolerance", "low")], 0),
        (Form::Forb, [dry, ("recorded_anaerobic_tolerance", "high")], 1),
        (Form::Forb, [wet, ("recorded_drought_tolerance", "high")], 1),
        (Form::Forb, [dry, ("recorded_drought_tolerance", "low")], 1),
        (Form::Forb, [dry, ("recorded_drought_tolerance", "medium")], 0),
        (Form::Forb, [wet, ("moisture_range", "dry to mesic")], 1),
        (Form::Forb, [wet, ("moisture_range", "mesic to wet")], 0),
        (Form::Forb, [dry, ("moisture_range", "wet")], 1),
        (
            Form::Forb,
            [
                ("recorded_shade_tolerance", "intolerant"),
                ("light_range", "part shade to shade"),
            ],
            1,
        ),
        (
            Form::Forb,
            [
                ("recorded_shade_tolerance", "tolerant"),
                ("light_range", "full sun"),
            ],
            1,
        ),
        (
            Form::Forb,
            [
                ("recorded_shade_tolerance", "tolerant"),
                ("light_range", "full sun to shade"),
            ],
            0,
        ),
        (
            Form::Forb,
            [
                ("recorded_ph_highest", "5.5"),
                ("recorded_carbonate_tolerance", "high"),
            ],
            1,
        ),
        (
            Form::Forb,
            [
                ("recorded_bloom_season", "fall"),
                ("bloom_months", "April to May"),
            ],
            1,
        ),
        (
            Form::Forb,
            [
                ("recorded_bloom_season", "late spring"),
                ("bloom_months", "July to August"),
            ],
            0,
        ),
        (Form::Tree, [("height_m", "1.5"), ("habit", "tree")], 1),
        (Form::Forb, [("height_m", "12"), ("habit", "herb")], 1),
        (Form::Shrub, [("height_m", "9"), ("habit", "shrub")], 0),
    ] {
        let found = found(form, &pair);
        assert_eq!(found.len(), count, "{pair:?}");
        assert!(found.iter().all(|pair| !pair.resolved), "{pair:?}");
    }
}

#[test]
fn high_salinity_stands_against_a_genus_that_has_none() {
    let level = |name, level| species(name, Form::Forb, &[("recorded_salinity_tolerance", level)]);
    let of = |others: Vec<Species>| {
        let mut species = vec![level("Planta prima", "high")];
        species.extend(others);
        contradictions(&Catalogue {
            species,
            sources: Vec::new(),
        })
    };
    assert_eq!(of(vec![level("Planta altera", "low")]).len(), 1);
    assert!(of(vec![level("Planta altera", "medium")]).is_empty());
    assert!(of(vec![level("Alia altera", "none")]).is_empty());
}

#[test]
fn a_mark_a_value_set_aside_or_a_disputed_response_settles_a_pair() {
    let pair = [
        ("wetland_midwest", "OBL"),
        ("recorded_anaerobic_tolerance", "none"),
    ];
    let resolved = |change: &dyn Fn(&mut Species)| {
        let mut plant = species("Planta prima", Form::Forb, &pair);
        change(&mut plant);
        let found = contradictions(&Catalogue {
            species: vec![plant],
            sources: Vec::new(),
        });
        found[0].resolved
    };
    let aside = |value: &str| SetAside {
        value: value.to_owned(),
        source: "other".to_owned(),
        note: String::new(),
    };
    assert!(!resolved(&|_| ()));
    assert!(resolved(
        &|plant| "disputed: grows in water".clone_into(&mut plant.traits[0].note)
    ));
    assert!(resolved(&|plant| plant.traits[1].set_aside.push(aside("high"))));
    let response = |plant: &mut Species, value: &str| {
        plant.opinions.push(Opinion {
            factor: "moisture".to_owned(),
            given: None,
            response: Response::curve(vec![(0.0, 1.0), (1.0, 0.0)]).unwrap(),
            source: "list".to_owned(),
            note: "derived from it; disputed, see what is set aside".to_owned(),
            set_aside: vec![aside(value)],
        });
    };
    assert!(resolved(&|plant| response(plant, "anaerobic tolerance none")));
    assert!(!resolved(&|plant| response(plant, "drought tolerance high")));
}

#[test]
fn both_values_and_sources_are_told() {
    let told = found(
        Form::Forb,
        &[("wetland_midwest", "UPL"), ("recorded_drought_tolerance", "low")],
    )[0]
    .told();
    for part in [
        "`planta-prima`",
        "wetland_midwest `UPL` (list)",
        "recorded_drought_tolerance `low` (list)",
    ] {
        assert!(told.contains(part), "{told}");
    }
}
