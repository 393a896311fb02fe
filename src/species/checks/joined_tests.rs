//! A catalogue over the starter's: what only the two together show, and whose value
//! is used.

use std::path::Path;

use crate::factor::Factor;
use crate::project::{CatalogueFiles, CatalogueSection};
use crate::species::{Catalogue, Problem};

const SOURCES: &str = "id,kind,title\nown,common practice,Our nursery\n";

/// The catalogue of these files over the starter's.
fn over(species: &str, traits: &str) -> (Catalogue, Vec<Problem>) {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path
    };
    let section = CatalogueSection {
        own: Some(CatalogueFiles {
            species: file("species.csv", species),
            traits: Some(file(
                "traits.csv",
                &format!("species,trait,value,source,note,standing\n{traits}"),
            )),
            tolerances: file("tolerances.csv", "species,factor,given,response,source,note\n"),
            sources: file("sources.csv", SOURCES),
        }),
        starter: true,
        ..CatalogueSection::default()
    };
    let factors: Vec<Factor> = Factor::standard_ids().filter_map(Factor::standard).collect();
    Catalogue::open(&section, &factors).unwrap()
}

fn told(species: &str, traits: &str) -> String {
    let (_, problems) = over(species, traits);
    let lines = problems.iter().map(|problem| {
        let file = problem.file.file_name().map(Path::new).unwrap();
        format!(
            "{} {}:{}: {}",
            problem.severity,
            file.display(),
            problem.line.unwrap_or(0),
            problem.text
        )
    });
    lines.collect::<Vec<_>>().join("\n")
}

const SPECIES: &str = "id,scientific_name,common_name,form\n";

#[test]
fn the_own_value_is_used_and_the_starters_stands_beside_it() {
    let (catalogue, problems) = over(
        &format!("{SPECIES}carex-stricta,Carex stricta,upright sedge,grass\n"),
        "carex-stricta,height_m,0.9,own,,\n",
    );
    assert!(!problems.iter().any(Problem::is_error), "{problems:#?}");
    let held = catalogue
        .find("carex-stricta")
        .unwrap()
        .trait_of("height_m")
        .unwrap();
    assert_eq!((held.value.as_str(), held.source.as_str()), ("0.9", "own"));
    assert_eq!(held.set_aside[0].value, "1.28");
    assert_eq!(held.set_aside[0].source, "usda-plants");
}

#[test]
fn a_name_that_is_anothers_in_the_starter_is_told_with_the_accepted_one() {
    let told = told(
        &format!(
            "{SPECIES}myrica,Myrica asplenifolia,sweetgale fern,shrub\nsedge,Carex stricta,our sedge,grass\n"
        ),
        "",
    );
    assert!(
        told.contains("`Myrica asplenifolia` is another name of `Comptonia peregrina`, the accepted one"),
        "{told}"
    );
    assert!(
        told.contains("`Carex stricta` is `carex-stricta` in the starter catalogue and `sedge` here"),
        "{told}"
    );
}

#[test]
fn an_own_species_without_tolerances_is_told_though_the_starter_has_many() {
    let text = told(&format!("{SPECIES}planta,Planta nova,new plant,forb\n"), "");
    assert!(
        text.contains("`planta` has no tolerances and will be unknown everywhere"),
        "{text}"
    );
    let silent = told(
        &format!("{SPECIES}carex-stricta,Carex stricta,upright sedge,grass\n"),
        "carex-stricta,height_m,0.9,own,,\n",
    );
    assert_eq!(silent, "");
}

#[test]
fn an_own_value_that_contradicts_the_starters_is_told() {
    let species = format!("{SPECIES}helianthus-x,Helianthus x,plant,forb\n");
    let traits =
        "helianthus-x,recorded_ph_highest,5.5,own,,\nhelianthus-x,recorded_carbonate_tolerance,high,own,,\n";
    let text = told(&species, traits);
    assert!(
        text.contains("recorded_ph_highest `5.5` (own) and recorded_carbonate_tolerance `high` (own)"),
        "{text}"
    );
}

#[test]
fn faults_of_values_stand_at_their_line_and_column() {
    let text = told(
        &format!("{SPECIES}planta,Planta nova,new plant,forb\n"),
        "planta,recorded_ph_lowest,8,own,,\nplanta,recorded_ph_highest,6,own,,\nplanta,height_ft,3,own,,\nplanta,height_m,12,own,,\nplanta,moisture_range,damp,own,,\n",
    );
    for part in [
        "error traits.csv:3: recorded_ph_highest of `planta` is 6 and recorded_ph_lowest is 8",
        "warning traits.csv:4: `height_ft` is a text to this program; it reads `height_m`",
        "warning traits.csv:5: height_m of `planta` is 12, needed at most 5 of a forb",
        "error traits.csv:6: moisture_range: `damp` is none of dry, dry-mesic",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
}
