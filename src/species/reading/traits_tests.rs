//! What the traits file gives, and what is wrong with it.

use std::path::Path;

use crate::factor::Factor;
use crate::species::{Catalogue, CatalogueBytes, CataloguePaths};

const SPECIES: &str = "id,scientific_name,common_name,form,family,family_source\n\
    carex-stricta,Carex stricta,upright sedge,grass,Cyperaceae,list\n";
const SOURCES: &str = "id,kind,title\nlist,published,A list\nmemory,from memory,Memory\n";

fn read(traits: &str, tolerances: &str) -> (Catalogue, Vec<String>) {
    let mut paths = CataloguePaths::in_folder(Path::new(""));
    paths.traits = Some("traits.csv".into());
    let bytes = CatalogueBytes {
        species: SPECIES.as_bytes(),
        traits: Some(traits.as_bytes()),
        tolerances: tolerances.as_bytes(),
        sources: SOURCES.as_bytes(),
    };
    let factors: Vec<Factor> = Factor::standard_ids().filter_map(Factor::standard).collect();
    let (catalogue, problems) = Catalogue::from_bytes(&paths, bytes, &factors);
    (catalogue, problems.iter().map(ToString::to_string).collect())
}

#[test]
fn a_value_keeps_its_source_and_the_values_set_aside() {
    let (catalogue, _) = read(
        "species,trait,value,source,note,standing\n\
         carex-stricta,height_m,0.9,memory,taller in water,set aside\n\
         carex-stricta,height_m,0.7,list,,\n",
        "species,factor,response,source,standing\n\
         carex-stricta,ph,range 4 5 7 8,list,\n\
         carex-stricta,ph,range 4 5 8 9,memory,set aside\n",
    );
    let species = &catalogue.species[0];
    let height = species.trait_of("height_m").unwrap();
    assert_eq!((height.value.as_str(), height.source.as_str()), ("0.7", "list"));
    assert_eq!(height.set_aside[0].value, "0.9");
    assert_eq!(height.set_aside[0].note, "taller in water");
    assert_eq!(species.opinions.len(), 1);
    assert_eq!(species.opinions[0].set_aside[0].value, "range 4 5 8 9");
}

#[test]
fn what_is_set_aside_may_be_told_in_words() {
    let (catalogue, problems) = read(
        "species,trait,value,source,note,standing\n",
        "species,factor,response,source,note,standing\n\
         carex-stricta,canopy,curve 0:1 80:0.5,list,,\n\
         carex-stricta,canopy,shade tolerance tolerant,memory,too lenient,set aside\n\
         carex-stricta,canopy,curve 0:1 80:hm,memory,,set aside\n\
         carex-stricta,ph,about neutral,memory,,\n",
    );
    let [canopy] = &catalogue.species[0].opinions[..] else {
        panic!("{catalogue:?}");
    };
    let [aside] = &canopy.set_aside[..] else {
        panic!("{canopy:?}");
    };
    assert_eq!(
        (aside.value.as_str(), aside.note.as_str()),
        ("shade tolerance tolerant", "too lenient")
    );
    // A response that is used, or that is meant as one, must be one.
    for told in [
        "tolerances.csv:4, column `response`",
        "tolerances.csv:5, column `response`",
    ] {
        assert!(
            problems.iter().any(|text| text.starts_with(told)),
            "{problems:#?}"
        );
    }
}

#[test]
fn every_fault_has_its_line() {
    let (_, problems) = read(
        "species,trait,value,source,standing\n\
         carex-strikta,height_m,1,list,\n\
         carex-stricta,family,Poaceae,list,\n\
         carex-stricta,height_m,1,lost,aside\n\
         carex-stricta,spread_m,1,list,set aside\n\
         carex-stricta,bloom_months,,list,\n",
        "species,factor,response,source,standing\ncarex-stricta,ph,range 4 5 8 9,memory,set aside\n",
    );
    for told in [
        "traits.csv:2, column `species`: there is no species with the id `carex-strikta`; did you mean `carex-stricta`?",
        "traits.csv:3, column `trait`: `carex-stricta` has a value for `family` already: mark one of them `set aside`",
        "traits.csv:4, column `source`",
        "traits.csv:4, column `standing`: `aside` is neither empty (used) nor `set aside`; did you mean `set aside`?",
        "traits.csv:5, column `standing`: sets a value of `spread_m` aside, and `carex-stricta` has no other",
        "traits.csv:6, column `value`: is empty",
        "tolerances.csv:2, column `standing`: sets aside the only response",
    ] {
        assert!(
            problems.iter().any(|text| text.starts_with(told)),
            "{told}\n{problems:#?}"
        );
    }
}
