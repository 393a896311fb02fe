//! Contradictions in species made up for it, and in the starter catalogue.

use super::{all_contradictions, contradictions};
use crate::factor::Factor;
use crate::project::CatalogueSection;
use crate::species::{Catalogue, Form, Species, Trait};

fn species(form: Form, traits: &[(&str, &str)]) -> Species {
    let traits = traits.iter().map(|(name, value)| Trait {
        name: (*name).to_owned(),
        value: (*value).to_owned(),
        source: "list".to_owned(),
        note: String::new(),
        set_aside: Vec::new(),
    });
    Species {
        id: "plant".to_owned(),
        scientific_name: "Planta".to_owned(),
        common_name: "plant".to_owned(),
        form,
        traits: traits.collect(),
        opinions: Vec::new(),
    }
}

#[test]
fn each_pair_that_does_not_go_together_is_found() {
    for (form, traits) in [
        (
            Form::Forb,
            [
                ("wetland_midwest", "OBL"),
                ("recorded_anaerobic_tolerance", "none"),
            ],
        ),
        (
            Form::Forb,
            [
                ("wetland_michigan", "UPL"),
                ("recorded_anaerobic_tolerance", "high"),
            ],
        ),
        (
            Form::Forb,
            [
                ("wetland_midwest", "FACW"),
                ("recorded_drought_tolerance", "high"),
            ],
        ),
        (
            Form::Forb,
            [("wetland_midwest", "UPL"), ("recorded_drought_tolerance", "low")],
        ),
        (
            Form::Forb,
            [("wetland_midwest", "UPL"), ("moisture_range", "wet-mesic to wet")],
        ),
        (
            Form::Forb,
            [
                ("recorded_shade_tolerance", "tolerant"),
                ("light_range", "full sun"),
            ],
        ),
        (
            Form::Forb,
            [
                ("recorded_shade_tolerance", "intolerant"),
                ("light_range", "part sun to shade"),
            ],
        ),
        (Form::Tree, [("height_m", "1.2"), ("family", "Pinaceae")]),
        (
            Form::Shrub,
            [
                ("recorded_ph_highest", "5.5"),
                ("recorded_carbonate_tolerance", "high"),
            ],
        ),
        (
            Form::Shrub,
            [
                ("recorded_salinity_tolerance", "high"),
                ("spray_tolerance", "low"),
            ],
        ),
    ] {
        let mut plant = species(form, &traits);
        let found = contradictions(&plant);
        assert_eq!(found.len(), 1, "{traits:?}");
        assert!(!found[0].settled, "{traits:?}");
        let doubted = plant
            .traits
            .iter_mut()
            .find(|held| held.name == found[0].name)
            .unwrap();
        doubted.note = "disputed: it is so".to_owned();
        assert!(contradictions(&plant)[0].settled, "{traits:?}");
    }
    let sound = [
        ("wetland_midwest", "FACU"),
        ("recorded_anaerobic_tolerance", "low"),
        ("recorded_drought_tolerance", "medium"),
        ("moisture_range", "dry to mesic"),
        ("recorded_shade_tolerance", "intermediate"),
        ("light_range", "full sun to part shade"),
        ("height_m", "0.8"),
    ];
    assert_eq!(contradictions(&species(Form::Forb, &sound)), []);
}

/// Each contradiction of the starter catalogue is marked, with both values and why.
#[test]
fn the_starter_catalogue_settles_all_its_contradictions() {
    let factors: Vec<Factor> = Factor::standard_ids().filter_map(Factor::standard).collect();
    let (catalogue, _) = Catalogue::open(&CatalogueSection::default(), &factors).unwrap();
    let all = all_contradictions(&catalogue.species);
    assert!(all.len() >= 18, "only {} found", all.len());
    let open: Vec<String> = all
        .iter()
        .filter(|(_, found)| !found.settled)
        .map(|(place, found)| format!("{}: {}", catalogue.species[*place].id, found.text))
        .collect();
    assert!(open.is_empty(), "{open:#?}");
}
