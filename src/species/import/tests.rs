//! What a table becomes, and what is told of one that cannot be used.

use super::*;

const MAPPING: &str = "scientific_name = 'Name'\nform = 'Type'\nsource = 'own'\n\
    [form_words]\n'bush' = 'shrub'\n\
    [sources.own]\nkind = 'common practice'\ntitle = 'Ours'\n\
    [columns.Height]\ntrait = 'height_m'\nunit = 'ft'\n\
    [columns.Wet]\ntrait = 'wetland_midwest'\n\
    [columns.Water]\ntrait = 'moisture_range'\nwords = { 'moist' = 'wet-mesic' }\n";

fn imported(table: &str, mapping: &str) -> (Imported, String) {
    let factors: Vec<Factor> = Factor::standard_ids().filter_map(Factor::standard).collect();
    let (imported, problems) = import(
        (Path::new("own.csv"), table.as_bytes()),
        (Path::new("map.toml"), mapping),
        &factors,
    );
    let told: Vec<String> = problems
        .iter()
        .map(|problem| format!("{}: {problem}", problem.severity))
        .collect();
    (imported, told.join("\n"))
}

#[test]
fn a_row_becomes_a_species_with_units_words_and_responses() {
    let table = "Name,Type,Height,Wet,Water\nPlanta nova,bush,\"3,5\",FACW,moist/wet\n";
    let (found, told) = imported(table, MAPPING);
    assert_eq!(told, "");
    let species = &found.catalogue.species[0];
    assert_eq!((species.id.as_str(), species.form), ("planta-nova", Form::Shrub));
    let value = |name: &str| species.trait_of(name).map(|held| held.value.clone());
    assert_eq!(value("height_m").as_deref(), Some("1.067"));
    assert_eq!(value("moisture_range").as_deref(), Some("wet-mesic to wet"));
    assert_eq!(species.trait_of("height_m").unwrap().note, "recorded as 3,5 ft");
    assert_eq!(species.trait_of("height_m").unwrap().source, "own");
    assert_eq!(species.opinions_on("drainage").count(), 1);
}

#[test]
fn units_are_turned_as_they_are_defined() {
    for (name, unit, cell, value) in [
        ("height_m", "in", "100", "2.54"),
        ("stem_mm", "in", "2", "50.8"),
        ("root_depth_cm", "in", "10", "25.4"),
        ("recorded_lowest_temperature_c", "degF", "-40", "-40"),
        ("seeds_per_kg", "per lb", "100,000", "220462"),
        ("plants_per_ha", "per acre", "100 to 1000", "247.105 to 2471"),
        ("height_m", "m", "1 - 2", "1 to 2"),
    ] {
        let mapping = MAPPING.replace("'height_m'\nunit = 'ft'", &format!("'{name}'\nunit = '{unit}'"));
        let table = format!("Name,Type,Height,Wet,Water\nPlanta nova,bush,\"{cell}\",FACW,\n");
        let (found, told) = imported(
            &table,
            &mapping
                .replace("Water", "Wet2")
                .replace("[columns.Wet2]", "[columns.Water]"),
        );
        let held = found.catalogue.species[0].trait_of(name);
        assert_eq!(
            held.map(|held| held.value.as_str()),
            Some(value),
            "{name} {unit}: {told}"
        );
    }
}

#[test]
fn a_synonym_is_told_and_the_accepted_name_used() {
    let (found, told) = imported(
        "Name,Type,Height,Wet,Water\nMyrica asplenifolia,bush,3,,\n",
        MAPPING,
    );
    assert!(
        told.contains("own.csv:2, column `Name`: `Myrica asplenifolia` is another name of"),
        "{told}"
    );
    assert_eq!(found.catalogue.species[0].id, "comptonia-peregrina");
}

#[test]
fn every_fault_of_a_table_has_its_line_and_column() {
    let (_, told) = imported(
        "Name,Type,Height,Wet,Water\nPlanta nova,vine,tall,FACC,damp\n,bush,600,,\nPlanta nova,bush,3,,\nPlanta nova,bush,4,,\n",
        MAPPING,
    );
    for part in [
        "own.csv:2, column `Type`: `vine` is none of tree",
        "own.csv:2, column `Height`: height_m: `tall` is no number",
        "own.csv:2, column `Wet`: wetland_midwest: `FACC` is none of",
        "own.csv:2, column `Water`: moisture_range: `damp` is none of",
        "own.csv:3, column `Name`: is empty",
        "own.csv:3, column `Height`: height_m: 182.88 is out of range",
        "own.csv:5, column `Name`: `Planta nova` stands in the table twice",
    ] {
        assert!(told.contains(part), "{part}\n{told}");
    }
}

#[test]
fn every_fault_of_a_mapping_has_its_line() {
    let mapping = "scientific_name = 'Name'\nfrom = 'Type'\nsource = 'list'\n\
        [sources.own]\nkind = 'commn practice'\ntitle = 'Ours'\n\
        [columns.Height]\ntrait = 'hieght_m'\nunit = 'ft'\n\
        [columns.Tall]\ntrait = 'height_m'\nunit = 'furlong'\n";
    let (_, told) = imported("Name,Type\nPlanta nova,bush\n", mapping);
    for part in [
        "map.toml:2: from: is no key here; did you mean `form`?",
        "map.toml: form is missing",
        "map.toml:3: source: there is no [sources.list]",
        "map.toml:5: sources.own.kind: `commn practice` is none of",
        "map.toml:8: columns.Height.trait: `hieght_m` is almost `height_m`",
        "map.toml:12: columns.Tall.unit: found `furlong`, needed one of m, ft",
        "own.csv:1, column `height`: is missing",
    ] {
        assert!(told.contains(part), "{part}\n{told}");
    }
}
