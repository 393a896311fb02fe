use geojson::{FeatureCollection, GeoJson, GeometryValue};

use super::*;
use crate::output::example_site::{Example, awkward};

fn written(example: &Example) -> String {
    let mut out = Vec::new();
    write_geojson_to(&mut out, &example.site()).unwrap();
    String::from_utf8(out).unwrap()
}

fn read(text: &str) -> FeatureCollection {
    match text.parse::<GeoJson>().unwrap() {
        GeoJson::FeatureCollection(collection) => collection,
        other => panic!("{other}"),
    }
}

#[test]
fn the_bytes_of_two_zones_are_these() {
    insta::assert_snapshot!(written(&Example::two_zones()));
}

#[test]
fn rings_turn_as_rfc_7946_wants_and_are_closed() {
    let collection = read(&written(&Example::two_zones()));
    assert_eq!(collection.features.len(), 2);
    for feature in &collection.features {
        let GeometryValue::Polygon { coordinates } = &feature.geometry.as_ref().unwrap().value else {
            panic!("one kind of geometry");
        };
        for (index, ring) in coordinates.iter().enumerate() {
            assert_eq!(ring.first(), ring.last());
            let area: f64 = ring
                .windows(2)
                .map(|pair| (pair[1][0] - pair[0][0]) * (pair[1][1] + pair[0][1]))
                .sum();
            assert_eq!(
                area < 0.0,
                index == 0,
                "exterior counter-clockwise, holes clockwise"
            );
        }
    }
}

#[test]
fn ids_box_and_members_are_as_rfc_7946_wants() {
    let text = written(&Example::two_zones());
    let collection = read(&text);
    let ids: Vec<String> = collection
        .features
        .iter()
        .map(|feature| match feature.id.as_ref().unwrap() {
            geojson::feature::Id::String(id) => id.clone(),
            geojson::feature::Id::Number(id) => panic!("{id}"),
        })
        .collect();
    assert_eq!(ids, ["z-500000-4800000", "z-500050-4800000"]);
    assert_eq!(collection.bbox.unwrap(), [-93.0, 43.35, -92.998_766, 43.350_617]);
    assert!(!text.contains("\"crs\""), "section 4: no crs member");
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    for name in ["coordinates", "geometries", "geometry", "properties"] {
        assert!(value.get(name).is_none(), "section 7.1: {name} in a collection");
    }
}

#[test]
fn flat_columns_come_first_and_are_the_same_for_every_zone() {
    let text = written(&Example::two_zones());
    let names = |line: &str| -> Vec<String> {
        let start = line.find("\"properties\":").unwrap() + 13;
        let line = line.trim_end_matches(',');
        let properties: serde_json::Map<String, serde_json::Value> =
            serde_json::from_str(&line[start..line.len() - 1]).unwrap();
        assert!(
            properties
                .iter()
                .all(|(name, value)| name == "species" || !(value.is_array() || value.is_object()))
        );
        // The map sorts its names; their places in the text give the order.
        let mut names: Vec<String> = properties.keys().cloned().collect();
        names.sort_by_key(|name| line.find(&format!("\"{name}\":")).unwrap());
        names
    };
    let lines: Vec<&str> = text
        .lines()
        .filter(|line| line.starts_with("{\"type\":\"Feature\""))
        .collect();
    assert_eq!(names(lines[0]), names(lines[1]));
    assert_eq!(
        names(lines[0]),
        [
            "zone",
            "area_ha",
            "area_ac",
            "best_class",
            "best_class_words",
            "listed",
            "recommended",
            "limited_by",
            "ground_drainage",
            "ground_ph",
            "ground_spray_salt",
            "ground_distance",
            "ground",
            "not_rated_share",
            "below_support_of",
            "cautions",
            "species",
        ]
    );
}

#[test]
fn listed_species_alone_stand_in_the_list() {
    let collection = read(&written(&Example::two_zones()));
    let species = collection.features[0]
        .property("species")
        .unwrap()
        .as_array()
        .unwrap()
        .clone();
    assert_eq!(species.len(), 2);
    assert_eq!(species[1]["id"], "carex-stricta");
    assert_eq!(
        species[1]["rating"], 0.8499,
        "cut, so that S2 does not read as S1"
    );
    assert_eq!(species[1]["factors"], "2 of 4");
    assert_eq!(species[1]["limited_by"], serde_json::json!(["ph", "drainage"]));
    assert_eq!(
        collection.features[1].property("species").unwrap(),
        &serde_json::json!([])
    );
}

#[test]
fn beyond_reach_and_not_known_are_told_apart() {
    let collection = read(&written(&Example::two_zones()));
    let dry = &collection.features[1];
    assert!(dry.property("ground_distance").unwrap().is_null());
    assert!(dry.property("ground_ph").unwrap().is_null());
    let ground = dry.property("ground").unwrap().as_str().unwrap();
    assert!(
        ground.contains("pH not known") && ground.contains("distance beyond reach"),
        "{ground}"
    );
}

#[test]
fn at_most_five_of_a_form_are_recommended() {
    let mut example = Example::two_zones();
    let entry = example.zones[0].species[0].clone();
    let oak = example.species[2].clone();
    example.zones[0].species = (0..7)
        .map(|number| {
            example.species.push(crate::species::Species {
                id: format!("oak-{number}"),
                common_name: format!("oak {number}"),
                ..oak.clone()
            });
            ZoneSpecies {
                species: 3 + u32::try_from(number).unwrap(),
                ..entry.clone()
            }
        })
        .collect();
    let collection = read(&written(&example));
    let names = collection.features[0]
        .property("recommended")
        .unwrap()
        .as_str()
        .unwrap();
    assert_eq!(names.split("; ").count(), 5);
    assert!(names.starts_with("oak 0 (Quercus bicolor); oak 1 "), "{names}");
    assert_eq!(
        collection.features[0]
            .property("species")
            .unwrap()
            .as_array()
            .unwrap()
            .len(),
        7
    );
}

#[test]
fn awkward_names_come_back_as_they_went() {
    let example = awkward();
    let collection = read(&written(&example));
    let title = collection.foreign_members.as_ref().unwrap()["title"]
        .as_str()
        .unwrap();
    assert_eq!(title, example.title);
    let species = collection.features[0].property("species").unwrap();
    assert_eq!(species[0]["common_name"], example.species[2].common_name.as_str());
    assert_eq!(species[1]["common_name"], example.species[0].common_name.as_str());
    let columns: Vec<String> = zone_columns(&example.factors)
        .into_iter()
        .map(|column| column.name)
        .collect();
    assert!(columns.contains(&"ground_ph".to_owned()) && columns.contains(&"ground_PH_2".to_owned()));
}

#[test]
fn no_zones_give_an_empty_collection() {
    let text = written(&Example::empty());
    let collection = read(&text);
    assert!(collection.features.is_empty() && collection.bbox.is_none());
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("zones.geojson");
    assert_eq!(write_geojson(&path, &Example::empty().site()).unwrap(), 0);
    crate::output::Expected::GeoJson { features: 0 }
        .verify(&path)
        .unwrap();
}

#[test]
fn every_misfit_is_listed() {
    let mut example = Example::two_zones();
    example.outlines.pop();
    example.geographic[0].exterior.pop();
    example.zones[1].ground.pop();
    example.zones[1].stable_id = example.zones[0].stable_id.clone();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("zones.geojson");
    match write_geojson(&path, &example.site()).unwrap_err() {
        OutputError::Zones { problems } => assert_eq!(problems.len(), 4, "{problems:?}"),
        other => panic!("{other}"),
    }
    assert!(!path.exists());
}

#[test]
fn a_full_disk_gives_one_clear_error() {
    let error = write_geojson(Path::new("/dev/full"), &Example::two_zones().site()).unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("could not write /dev/full: No space left"),
        "{error}"
    );
}
