//! What the reader makes of good and of broken catalogues.

use std::path::Path;

use proptest::prelude::*;

use crate::factor::Factor;
use crate::species::{Catalogue, CatalogueBytes, CataloguePaths, Form, Problem, SpeciesError};

const SOURCES: &str = "id,kind,title\nbook,published,A book\nown,from memory,Own\n";
const SPECIES: &str = "id,scientific_name,common_name,form,height_m,height_m_source\n\
    carex-stricta,Carex stricta,upright sedge,grass,1.3,book\n\
    acer-rubrum,Acer rubrum,red maple,tree,,\n";
const TOLERANCES: &str = "species,factor,given,response,source,note\n\
    carex-stricta,ph,,range 3.5 4 6 7,book,\n\
    carex-stricta,canopy,,curve 0:1 100:0.3,book,\n\
    acer-rubrum,ph,,range 4 5 7 8,book,seen\n\
    acer-rubrum,soil_salinity,drainage: well drained,threshold 2 slope 5,own,\n";

fn factors() -> Vec<Factor> {
    Factor::standard_ids().filter_map(Factor::standard).collect()
}

fn read(species: &str, tolerances: &str, sources: &str) -> (Catalogue, Vec<Problem>) {
    let bytes = CatalogueBytes {
        traits: None,
        species: species.as_bytes(),
        tolerances: tolerances.as_bytes(),
        sources: sources.as_bytes(),
    };
    Catalogue::from_bytes(&CataloguePaths::in_folder(Path::new("")), bytes, &factors())
}

fn told(problems: &[Problem]) -> String {
    problems
        .iter()
        .map(|problem| format!("{}: {problem}\n", problem.severity))
        .collect::<Vec<_>>()
        .concat()
}

/// All problems after adding lines to the tolerances.
fn with_tolerances(more: &str) -> String {
    told(&read(SPECIES, &format!("{TOLERANCES}{more}"), SOURCES).1)
}

/// All problems after adding lines to the species.
fn with_species(more: &str) -> String {
    told(&read(&format!("{SPECIES}{more}"), TOLERANCES, SOURCES).1)
}

#[test]
fn a_good_catalogue_reads() {
    let (catalogue, problems) = read(SPECIES, TOLERANCES, SOURCES);
    assert!(!problems.iter().any(Problem::is_error), "{}", told(&problems));
    assert_eq!(catalogue.species.len(), 2);
    let sedge = catalogue.find("Upright Sedge").unwrap();
    assert_eq!(sedge.form, Form::Grass);
    assert_eq!(sedge.trait_of("height_m").unwrap().source, "book");
    assert_eq!(catalogue.opinions_on(0, "canopy").count(), 1);
    assert_eq!(catalogue.opinions_on(1, "canopy").count(), 0);
    assert_eq!(catalogue.opinions_on(9, "canopy").count(), 0);
    assert_eq!(catalogue.nearest_ids("carex strcta"), ["carex-stricta"]);
    assert_eq!(catalogue.nearest_ids("carx"), ["carex-stricta"]);
    assert_eq!(catalogue.species[1].opinions[0].note, "seen");
}

#[test]
fn species_can_be_left_out() {
    let (mut catalogue, _) = read(SPECIES, TOLERANCES, SOURCES);
    let unknown = catalogue.leave_out(&["carex-stricta".to_owned(), "carex".to_owned()]);
    assert_eq!(unknown, ["carex"]);
    assert_eq!(catalogue.species.len(), 1);
}

#[test]
fn a_spreadsheet_with_semicolons_and_decimal_commas_reads_the_same() {
    let species = SPECIES
        .replace("1.3", "1;3")
        .replace(',', ";")
        .replace("1;3", "1,3");
    let tolerances = TOLERANCES.replace(',', ";").replace('.', ",");
    let (expected, _) = read(SPECIES, TOLERANCES, SOURCES);
    let (catalogue, problems) = read(&species, &tolerances, SOURCES);
    assert!(!problems.iter().any(Problem::is_error), "{}", told(&problems));
    assert_eq!(catalogue, expected);
    let mixed = tolerances.replace("range 4 5 7 8", "range 4.5 5 7 8");
    assert!(told(&read(&species, &mixed, SOURCES).1).contains("use one of them in the whole file"));
}

#[test]
fn names_that_are_not_there_find_their_neighbours() {
    let text = with_tolerances(
        "carex-strcta,ph,,range 1 2 3 4,book,\n\
         Red maple,canopy,,curve 0:1,book,\n\
         acer-rubrum,cannopy,,curve 0:1,book,\n\
         acer-rubrum,canopy,,curve 0:1,bok,\n\
         acer-rubrum,drainage,,classes poorly draned=1,,\n",
    );
    for line in [
        "tolerances.csv:6, column `species`: there is no species with the id `carex-strcta`; did you mean `carex-stricta`?",
        "tolerances.csv:7, column `species`: there is no species with the id `Red maple`; its id is `acer-rubrum`",
        "tolerances.csv:8, column `factor`: there is no factor `cannopy`; did you mean `canopy`?",
        "tolerances.csv:9, column `source`: there is no source `bok`; did you mean `book`?",
        "tolerances.csv:10, column `response`: `poorly draned` is no class of `drainage`; did you mean `poorly drained`?",
        "tolerances.csv:10, column `source`: is empty",
    ] {
        assert!(text.contains(&format!("error: {line}")), "{line}\nnot in\n{text}");
    }
}

#[test]
fn doubled_and_synonymous_species_are_told() {
    let text = with_species("acer-rubrum,Acer rubrum,Red Maple,tree,,\n,Acer nigrum,black maple,tre,,\n");
    assert!(
        text.contains("error: species.csv:4, column `id`: `acer-rubrum` stands already on line 3"),
        "{text}"
    );
    assert!(
        text.contains("error: species.csv:4, column `scientific_name`: `Acer rubrum` stands already"),
        "{text}"
    );
    assert!(
        text.contains("warning: species.csv:4, column `common_name`"),
        "{text}"
    );
    assert!(
        text.contains("error: species.csv:5, column `id`: is empty"),
        "{text}"
    );
    assert!(
        text.contains("`tre` is none of tree, shrub, grass, forb, fern; did you mean `tree`?"),
        "{text}"
    );
    let near = with_species("acer-rubra,Acer rubra,other maple,tree,,\n");
    assert!(
        near.contains("warning: species.csv:4, column `scientific_name`: `Acer rubra` is almost"),
        "{near}"
    );
    let species = "id,scientific_name,common_name,form,synonyms,synonyms_source\n\
        rhus-copallinum,Rhus copallinum,winged sumac,tree,Rhus latifolia | Schmaltzia copallinum,book\n\
        rhus-latifolia,Rhus latifolia,sumac,tree,,\n";
    let text = told(&read(species, "species,factor,response,source\n", SOURCES).1);
    assert!(
        text.contains("`Rhus latifolia` is another name of `Rhus copallinum`, the accepted one"),
        "{text}"
    );
}

#[test]
fn contradictions_are_told() {
    let text = with_tolerances("acer-rubrum,ph,,range 5 6 7 8,book,\n");
    assert!(
        text.contains(
            "tolerances.csv:6, column `given`: `acer-rubrum` has a response to `ph` already on line 4"
        ),
        "{text}"
    );
    let text = with_tolerances("acer-rubrum,soil_salinity,,threshold 1 slope 5,book,\n");
    assert!(text.contains("without a condition and one with"), "{text}");
    let text = with_tolerances(
        "acer-rubrum,soil_salinity,\"drainage: poorly drained, well drained\",threshold 1 slope 5,book,\n",
    );
    assert!(
        text.contains("tolerances.csv:6, column `given`: overlaps the condition"),
        "{text}"
    );
    let text = with_tolerances("acer-rubrum,soil_salinity,canopy: 0..40,threshold 1 slope 5,book,\n");
    assert!(
        text.contains("hang on `canopy` here and on `drainage` on line 5"),
        "{text}"
    );
    let text = with_tolerances("acer-rubrum,canopy,canopy: 0..40,curve 0:1,book,\n");
    assert!(text.contains("cannot hang on `canopy` itself"), "{text}");
    let text = with_tolerances(
        "acer-rubrum,canopy,ph 0..4,curve 0:1,book,\nacer-rubrum,canopy,pH: 1..2,curve 0:1,book,\n",
    );
    assert!(
        text.contains("a condition is written") && text.contains("no factor `pH`; did you mean `ph`?"),
        "{text}"
    );
}

#[test]
fn cases_left_out_are_warned_of() {
    let text = with_tolerances("acer-rubrum,drainage,,classes well drained=1; poorly drained=0.5,book,\n");
    assert!(
        text.contains(
            "warning: tolerances.csv:6, column `response`: gives no score for excessively drained, somewhat"
        ),
        "{text}"
    );
    assert!(
        text.contains(
            "warning: tolerances.csv:5, column `given`: no condition covers `drainage` excessively drained,"
        ),
        "{text}"
    );
}

#[test]
fn values_no_ground_has_are_told() {
    let text = with_tolerances(
        "carex-stricta,soil_salinity,,threshold 400 slope 2,book,\nacer-rubrum,canopy,,range - - 40 700,book,\n",
    );
    assert!(
        text.contains("tolerances.csv:6, column `response`: 400 is no value of `soil_salinity`"),
        "{text}"
    );
    assert!(
        text.contains("700 is no value of `canopy`, which runs from 0 to 100 %"),
        "{text}"
    );
    // Growth may end at a salinity no ground reaches.
    assert!(
        !with_tolerances("carex-stricta,soil_salinity,,threshold 4 slope 0.1,book,\n")
            .contains("is no value")
    );
}

#[test]
fn silent_and_like_species_are_warned_of() {
    let text = with_species("salix-discolor,Salix discolor,pussy willow,shrub,,\n");
    assert!(
        text.contains("warning: species.csv:4, column `id`: `salix-discolor` has no tolerances"),
        "{text}"
    );
    let tolerances = "species,factor,response,source\n\
        carex-stricta,ph,range 3.5 4 6 7,book\nacer-rubrum,ph,range 3.50 4 6 7.0,own\n";
    let text = told(&read(SPECIES, tolerances, SOURCES).1);
    assert!(
        text.contains(
            "species.csv:3, column `id`: nothing in the tolerances tells `acer-rubrum` from `carex-stricta`"
        ),
        "{text}"
    );
    assert!(
        text.contains("warning: tolerances.csv: only 0 of 2 species have an opinion on `spray_salt`"),
        "{text}"
    );
    assert!(!text.contains("on `ph`;"), "{text}");
}

#[test]
fn traits_need_sources() {
    let text = with_species(
        "salix-discolor,Salix discolor,pussy willow,shrub,3,\nsalix-humilis,Salix humilis,prairie willow,shrub,3,boook\n",
    );
    assert!(
        text.contains("species.csv:4, column `height_m_source`: is empty"),
        "{text}"
    );
    assert!(
        text.contains(
            "species.csv:5, column `height_m_source`: there is no source `boook`; did you mean `book`?"
        ),
        "{text}"
    );
    let text = told(
        &read(
            &SPECIES.replace("height_m_source", "heigth_m_source"),
            TOLERANCES,
            SOURCES,
        )
        .1,
    );
    assert!(
        text.contains("column `height_m`: has no column `height_m_source`"),
        "{text}"
    );
    assert!(
        text.contains("column `heigth_m_source`: there is no column `heigth_m`; did you mean `height_m`?"),
        "{text}"
    );
}

#[test]
fn sources_are_checked() {
    let text = told(&read(SPECIES, TOLERANCES, "id,kind,title\nbook,publshed,A book\nown,from memory,\nown,from memory,Own\n,published,x\nspare,published,Spare\n").1);
    for part in [
        "sources.csv:2, column `kind`: `publshed` is none of published, common practice, from memory; did you mean `published`?",
        "sources.csv:3, column `title`: is empty",
        "sources.csv:4, column `id`: `own` stands already on line 3",
        "sources.csv:5, column `id`: is empty",
        "warning: sources.csv:6, column `id`: no value names the source `spare`",
    ] {
        assert!(text.contains(part), "{part}\nnot in\n{text}");
    }
}

#[test]
fn every_file_that_cannot_be_read_is_named() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("species.csv"), SPECIES).unwrap();
    let error = Catalogue::read(&CataloguePaths::in_folder(folder.path()), &factors()).unwrap_err();
    let SpeciesError::Unreadable { files } = error else {
        panic!("{error}");
    };
    assert_eq!(files.len(), 2, "{files:?}");
    assert!(
        files[0].contains("tolerances.csv: ") && files[1].contains("sources.csv: "),
        "{files:?}"
    );
}

/// What a person sees who saved a catalogue in haste.
#[test]
fn a_broken_catalogue_as_shown() {
    let species = SPECIES
        .replace("scientific_name", "scientfic_name")
        .replace("grass", "gras");
    let tolerances = format!(
        "{TOLERANCES}acer-rubrum,canopy,,range 5 4 70 60,book,\nacer-rubrum,ph,drainage: wel drained,curve 1:2,book,a, b\n"
    );
    insta::assert_snapshot!(told(&read(&species, &tolerances, SOURCES).1));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    /// Bytes changed, left out or doubled anywhere: problems, never a panic.
    #[test]
    fn mutated_catalogues_never_panic(
        which in 0usize..3,
        edits in prop::collection::vec((any::<prop::sample::Index>(), prop_oneof![any::<u8>(), Just(b'"'), Just(b','), Just(b'\n'), Just(b';')], 0u8..3), 1..12),
    ) {
        let mut files = [SPECIES, TOLERANCES, SOURCES].map(|text| text.as_bytes().to_vec());
        for (at, byte, how) in edits {
            let file = &mut files[which];
            let at = at.index(file.len());
            match how {
                0 => file[at] = byte,
                1 => { file.remove(at); if file.is_empty() { file.push(byte); } }
                _ => file.insert(at, byte),
            }
        }
        let bytes = CatalogueBytes { traits: None, species: &files[0], tolerances: &files[1], sources: &files[2] };
        let (catalogue, problems) = Catalogue::from_bytes(&CataloguePaths::in_folder(Path::new("")), bytes, &factors());
        // Without an error every value has a source that is there.
        if !problems.iter().any(Problem::is_error) {
            for species in &catalogue.species {
                prop_assert!(species.opinions.iter().all(|opinion| catalogue.source(&opinion.source).is_some()));
                prop_assert!(species.traits.iter().all(|value| catalogue.source(&value.source).is_some()));
            }
        }
    }
}
