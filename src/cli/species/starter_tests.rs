//! The commands on the catalogue that comes with the program.

use serde_json::Value;

use super::show::write_profile;
use super::tests::run_words;
use super::{CatalogueInput, Opened};
use crate::factor::Units;
use crate::species::Catalogue;

fn printed(words: &[&str]) -> String {
    run_words(words)
        .unwrap_or_else(|error| panic!("{words:?}: {error}"))
        .1
}

fn json(words: &[&str]) -> Value {
    serde_json::from_str(&printed(words)).unwrap()
}

/// Grasses under 1 m for dry ground that flower after midsummer.
#[test]
fn low_late_grasses_for_dry_ground_are_found() {
    let words = [
        "list",
        "--form",
        "grass",
        "--where",
        "height_m < 1",
        "--where",
        "bloom_months > June",
        "--stands",
        "moisture=dry",
    ];
    let told = json(&[&words[..], &["--json"]].concat());
    let species = told["species"].as_array().unwrap();
    assert!(
        species.iter().any(|one| one["id"] == "bouteloua-curtipendula"),
        "{told}"
    );
    for one in species {
        assert_eq!(one["form"], "grass");
        let height: f64 = one["traits"]["height_m"].as_str().unwrap().parse().unwrap();
        assert!(height < 1.0);
        assert!(one["scores"][0].as_f64().unwrap() >= 0.6);
    }
    // The tall ones and the early ones are not among them.
    let text = printed(&words);
    assert!(
        !text.contains("andropogon-gerardii") && !text.contains("koeleria-macrantha"),
        "{text}"
    );
}

#[test]
fn a_profile_fits_the_page_and_marks_memory_and_dispute() {
    let text = printed(&["show", "wild bergamot"]);
    assert!(text.lines().all(|line| line.chars().count() <= 100));
    for words in [
        "  spread                       0.7 m [2, from memory]\n",
        "  height                       1.49 m [1]; recorded as 4.9 ft\n",
        "disputed: ",
        "                      also: July to August [4], set aside\n",
        "AL AB AZ AR",
        "toxicity  not recorded here, which does not mean that the plant is safe",
        "    S1 0.85 |",
        "by rule 10",
        "\nSources\n  [1] USDA",
    ] {
        assert!(text.contains(words), "`{words}` is not in\n{text}");
    }
    let us = printed(&["show", "wild bergamot", "--units", "us"]);
    assert!(
        us.contains("4.89 ft [1]") && us.contains("seeds a pound        1272500 [1]"),
        "{us}"
    );
}

#[test]
fn every_profile_fits_the_page() {
    let input = CatalogueInput::starter();
    let (catalogue, problems) = Catalogue::open(&input.section, &input.factors).unwrap();
    let opened = Opened {
        catalogue,
        problems,
        factors: input.factors,
        section: input.section,
        units: Units::Us,
    };
    for species in &opened.catalogue.species {
        let mut text = Vec::new();
        write_profile(species, &opened, opened.units, &mut text).unwrap();
        let text = String::from_utf8(text).unwrap();
        let long = text.lines().find(|line| line.chars().count() > 100);
        assert_eq!(long, None, "{}", species.id);
    }
}

#[test]
fn every_value_comes_with_its_source() {
    let told = json(&["list", "--json", "--all-values"]);
    let sources: Vec<&str> = told["sources"]
        .as_array()
        .unwrap()
        .iter()
        .map(|source| source["id"].as_str().unwrap())
        .collect();
    let species = told["species"].as_array().unwrap();
    assert_eq!(species.len(), 127);
    let mut aside = 0;
    for one in species {
        for kind in ["traits", "responses"] {
            for value in one[kind].as_array().unwrap() {
                assert!(sources.contains(&value["source"].as_str().unwrap()), "{value}");
                for other in value["set_aside"].as_array().unwrap() {
                    assert!(sources.contains(&other["source"].as_str().unwrap()), "{other}");
                    aside += 1;
                }
            }
        }
    }
    assert!(aside > 50);
    let shown = json(&["show", "acer-rubrum", "--json"]);
    let listed = species.iter().find(|one| one["id"] == "acer-rubrum").unwrap();
    assert_eq!(shown["traits"], listed["traits"]);
    assert_eq!(shown["responses"], listed["responses"]);
}

#[test]
fn two_species_are_told_apart() {
    let text = printed(&["compare", "red maple", "sugar maple"]);
    for words in [
        "  form                            tree",
        "somewhat poorly drained       S1 1.00",
        "red maple stands, and sugar maple does not\n",
        "  drainage: somewhat poorly drained, poorly drained\n",
        "  ph: pH 3.7 to 4.7, pH 7.3 to 7.9\n",
    ] {
        assert!(text.contains(words), "`{words}` is not in\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 100));
    let same = printed(&["compare", "acer-rubrum", "Acer rubrum"]);
    assert!(
        same.contains("red maple stands nothing that red maple does not"),
        "{same}"
    );
    assert!(same.contains("  moisture: alike"), "{same}");
    let told = json(&["compare", "red maple", "sugar maple", "--json"]);
    let moisture = &told["responses"][0];
    assert_eq!(
        (&moisture["factor"], moisture["rows"].as_array().unwrap().len()),
        (&"moisture".into(), 5)
    );
    assert!(run_words(&["compare", "red maple", "red mapel"]).is_err());
}

#[test]
fn a_condition_of_one_alone_is_held_against_what_holds_everywhere() {
    let all = json(&["list", "--json", "--all-values"]);
    let has_condition = |one: &&Value| {
        let mut responses = one["responses"].as_array().unwrap().iter();
        responses.any(|response| response["factor"] == "soil_salinity" && !response["given"].is_null())
    };
    let species = all["species"].as_array().unwrap();
    let salted = species.iter().find(has_condition).unwrap()["id"]
        .as_str()
        .unwrap();
    let told = json(&["compare", salted, "acer-rubrum", "--json"]);
    let cases: Vec<&Value> = told["responses"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|response| response["factor"] == "soil_salinity")
        .collect();
    assert_eq!(cases.len(), 2);
    for case in cases {
        assert!(case["given"].as_str().unwrap().starts_with("drainage: "));
        assert!(
            case["rows"][0]["scores"]
                .as_array()
                .unwrap()
                .iter()
                .all(Value::is_f64)
        );
    }
}

#[test]
fn the_table_is_the_lower_of_water_and_light() {
    let told = json(&["table", "--json"]);
    let species = told["species"].as_array().unwrap();
    assert_eq!(species.len(), 127);
    let cell = |id: &str, water: &str, light: &str| {
        let one = species.iter().find(|one| one["id"] == id).unwrap();
        let cells = one["cells"].as_array().unwrap();
        let cell = cells
            .iter()
            .find(|cell| cell["water"] == water && cell["light"] == light);
        cell.unwrap()["class"].as_str().unwrap().to_owned()
    };
    assert_eq!(cell("acer-saccharum", "mesic", "shade"), "S1");
    assert_eq!(cell("acer-saccharum", "wet", "shade"), "N");
    assert_eq!(cell("schizachyrium-scoparium", "dry", "full sun"), "S1");
    assert_eq!(cell("schizachyrium-scoparium", "dry", "shade"), "N");
    assert_eq!(cell("carex-stricta", "wet", "full sun"), "S1");
    let text = printed(&["table", "--by", "drainage", "--form", "fern"]);
    assert!(
        text.contains("  northern maidenhair  ") && text.lines().count() < 12,
        "{text}"
    );
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
}

#[test]
fn coverage_counts_every_value_once() {
    let told = json(&["coverage", "--json"]);
    let all = json(&["list", "--json", "--all-values"]);
    let species = all["species"].as_array().unwrap();
    for (kind, of) in [("factors", "responses"), ("traits", "traits")] {
        let counted: u64 = told[kind]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(|one| {
                ["published", "common_practice", "from_memory"].map(|key| one[key].as_u64().unwrap())
            })
            .sum();
        let there: usize = species.iter().map(|one| one[of].as_array().unwrap().len()).sum();
        assert_eq!(counted, there as u64, "{kind}");
    }
    let text = printed(&["coverage"]);
    assert!(
        text.contains("127 species") && text.contains("derived by a rule"),
        "{text}"
    );
}
