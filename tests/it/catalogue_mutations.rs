//! Catalogues as nobody would write them: read or refused with problems that have a
//! place, never a panic; and what is read keeps its promises.

use std::path::Path;

use groundfit::factor::{Factor, Kind};
use groundfit::species::{Catalogue, CatalogueBytes, CataloguePaths, Problem};

use crate::mutation::{Seeded, corpus, rounds, spoil_bytes, spoil_text};
use crate::program::sample;
use crate::small_site::{SOURCES, SPECIES, TOLERANCES};

const ODD: [&str; 40] = [
    "",
    "-",
    "\"",
    "\"\"",
    "'",
    ",",
    ";",
    "\t",
    "\r",
    "\r\n",
    "\n\n",
    "nan",
    "inf",
    "-inf",
    "1e400",
    "-0",
    "0,5",
    "1.0.0",
    "99999999999999999999",
    "range",
    "curve",
    "classes",
    "threshold",
    "slope",
    "range - - - -",
    "curve 1:1 1:0",
    "threshold 2 slope 0",
    "classes well drained=2",
    "drainage: well drained",
    "ph: 5 to 4",
    "ph: below 5",
    "given",
    "species",
    "made-up",
    "drainage",
    "soil_salinity",
    "é",
    "\u{feff}",
    "\u{0}",
    "9999999999999999999999999999999999999999",
];

const CONDITIONED: &str = "\
carex-stricta,soil_salinity,drainage: well drained,threshold 2 slope 5,made-up,
carex-stricta,soil_salinity,\"drainage: poorly drained, very poorly drained\",threshold 1 slope 9,made-up,a note
panicum-virgatum,ph,canopy: below 40,curve 4:0 5:0.6 6:1,made-up,
panicum-virgatum,ph,canopy: 40 and more,range 4 5 7 8,made-up,
";

/// What must hold whatever was read.
fn keeps_its_promises(species: &[u8], tolerances: &[u8], sources: &[u8], factors: &[Factor]) {
    let paths = CataloguePaths::in_folder(Path::new("made/up"));
    let bytes = CatalogueBytes {
        traits: None,
        species,
        tolerances,
        sources,
    };
    let (catalogue, problems) = Catalogue::from_bytes(&paths, bytes, factors);
    for problem in &problems {
        let text = problem.to_string();
        assert!(text.contains(".csv") && !text.contains('\n'), "{text:?}");
    }
    if problems.iter().any(Problem::is_error) {
        return;
    }
    let known = |id: &str| factors.iter().any(|factor| factor.id == id);
    for species in &catalogue.species {
        assert!(!species.id.is_empty());
        assert_eq!(
            catalogue
                .index_of(&species.id)
                .map(|at| &catalogue.species[at].id),
            Some(&species.id)
        );
        for opinion in &species.opinions {
            assert!(known(&opinion.factor) && catalogue.source(&opinion.source).is_some());
            assert!(opinion.given.as_ref().is_none_or(|given| known(&given.factor)));
            let factor = factors.iter().find(|factor| factor.id == opinion.factor).unwrap();
            let values: Vec<f32> = match &factor.kind {
                Kind::Measured(_) => vec![f32::MIN, -1.0, 0.0, 0.5, 7.0, 100.0, f32::MAX, f32::INFINITY],
                Kind::Classes { names, .. } => (0..names.len())
                    .map(|class| f32::from(u16::try_from(class).unwrap()))
                    .collect(),
            };
            for value in values {
                if let Some(score) = opinion.response.score(value) {
                    assert!(
                        (0.0..=1.0).contains(&score.get()),
                        "{} {value}: {score:?}",
                        species.id
                    );
                }
            }
        }
    }
}

fn standard_factors() -> Vec<Factor> {
    Factor::standard_ids().filter_map(Factor::standard).collect()
}

#[test]
fn three_thousand_spoilt_catalogues_are_read_or_refused() {
    let factors = standard_factors();
    let mut seeded = Seeded::new(11);
    let tolerances = format!("{TOLERANCES}{CONDITIONED}");
    keeps_its_promises(
        SPECIES.as_bytes(),
        tolerances.as_bytes(),
        SOURCES.as_bytes(),
        &factors,
    );
    for _ in rounds(3_000) {
        let mut files = [SPECIES, tolerances.as_str(), SOURCES].map(|text| text.as_bytes().to_vec());
        for _ in 0..=seeded.below(2) {
            let file = *seeded.one_of(&[0, 1, 1, 1, 2]);
            let text = String::from_utf8_lossy(&files[file]).into_owned();
            files[file] = spoil_text(&text, &ODD, &mut seeded);
        }
        keeps_its_promises(&files[0], &files[1], &files[2], &factors);
    }
}

#[test]
fn the_spoilt_sample_catalogue_is_read_or_refused() {
    let factors = standard_factors();
    let file = |name: &str| std::fs::read(sample().join("catalogue").join(name)).unwrap();
    let whole = [file("species.csv"), file("tolerances.csv"), file("sources.csv")];
    let mut seeded = Seeded::new(12);
    for _ in rounds(150) {
        let mut files = whole.clone();
        let spoilt = seeded.below(3);
        spoil_bytes(&mut files[spoilt], &mut seeded);
        keeps_its_promises(&files[0], &files[1], &files[2], &factors);
    }
}

#[test]
fn the_corpus_is_read_or_refused_in_the_place_of_any_file() {
    let factors = standard_factors();
    for (_, bytes) in corpus("catalogue") {
        keeps_its_promises(&bytes, TOLERANCES.as_bytes(), SOURCES.as_bytes(), &factors);
        keeps_its_promises(SPECIES.as_bytes(), &bytes, SOURCES.as_bytes(), &factors);
        keeps_its_promises(SPECIES.as_bytes(), TOLERANCES.as_bytes(), &bytes, &factors);
    }
}
