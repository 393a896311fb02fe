use super::*;
use crate::factor::{Harmless, Kind, Unit};
use crate::project::tests::{first_problem, project_with};

#[test]
fn drainage_words_are_known_in_their_usual_spellings() {
    let words = Words::usual(&Factor::standard("drainage").unwrap());
    let class = |word| match words.meaning_of(word) {
        Some(Meaning::Class(index)) => Some(index),
        _ => None,
    };
    assert_eq!(class("Well drained"), Some(2));
    assert_eq!(class(" WELL-DRAINED "), Some(2));
    assert_eq!(class("moderately well"), Some(3));
    assert_eq!(class("VP"), Some(6));
    assert_eq!(class("W"), None);
    assert_eq!(words.meaning_of("W"), None);
    assert_eq!(words.meaning_of("Subaqueous"), Some(Meaning::Missing));
}

#[test]
fn words_meet_whatever_their_case_and_codes_with_a_spreadsheets_zeros() {
    let text = "layer = \"soils.gpkg\"\nattribute = \"d\"\nwords = { \"MouillÉe\" = \"poorly drained\", \"1001\" = \"well drained\", \"0012\" = \"well drained\" }";
    let words = project_with("drainage", text).factors.remove(0).words;
    assert_eq!(words.meaning_of("MOUILLéE"), Some(Meaning::Class(5)));
    assert_eq!(words.meaning_of("1001.0"), Some(Meaning::Class(2)));
    assert_eq!(words.meaning_of("1001.5"), None);
    assert_eq!(words.meaning_of("0012.00"), Some(Meaning::Class(2)));
    assert_eq!(words.meaning_of("12.0"), None, "leading zeros count in text");
}

/// Every spelling must name a class that there is, or say that it is no ground.
#[test]
fn every_drainage_spelling_means_something() {
    let drainage = Factor::standard("drainage").unwrap();
    for (word, class) in words::DRAINAGE {
        let known = drainage.kind.class_index(class).is_some();
        assert!(known || word == "subaqueous", "{word}");
    }
}

#[test]
fn own_words_go_before_the_known_ones() {
    let text = "layer = \"soils.gpkg\"\nattribute = \"d\"\nwords = { \"Ab\" = \"well drained\", \"aB\" = \"poorly drained\", \"07\" = \"poorly drained\", well = \"poorly drained\", \"none\" = \"missing\" }";
    let words = project_with("drainage", text).factors.remove(0).words;
    assert!(words.given());
    assert_eq!(words.meaning_of("Ab"), Some(Meaning::Class(2)));
    assert_eq!(words.meaning_of("aB"), Some(Meaning::Class(5)));
    assert_eq!(
        words.meaning_of("AB"),
        None,
        "two codes that differ in case alone"
    );
    assert_eq!(words.meaning_of("Well"), Some(Meaning::Class(5)));
    assert_eq!(words.meaning_of("None"), Some(Meaning::Missing));
    assert_eq!(words.meaning_of_number(7.0), Some(Meaning::Class(5)));
    assert_eq!(words.meaning_of_number(8.0), None);
}

#[test]
fn words_come_from_a_table_with_byte_order_mark_and_semicolons() {
    let folder = crate::project::tests::site();
    let file = folder.path().join("words.csv");
    let read = |bytes: &[u8]| {
        std::fs::write(&file, bytes).unwrap();
        let text = "layer = \"soils.gpkg\"\nattribute = \"d\"\nwords = \"words.csv\"";
        crate::project::tests::parse_in(folder.path(), "drainage", text)
    };
    let words = read(b"\xef\xbb\xbfword;class\r\n01;well drained\r\n\"a;b\";missing\r\n;\r\n").unwrap();
    let words = &words.factors[0].words;
    assert_eq!(words.meaning_of("01"), Some(Meaning::Class(2)));
    assert_eq!(words.meaning_of("a;b"), Some(Meaning::Missing));
    assert_eq!(words.file(), Some(file.as_path()));

    let told = |bytes: &[u8]| read(bytes).unwrap_err().to_string();
    let no_head = told(b"WD,well drained\nPD,poorly drained\n");
    assert!(
        no_head.contains("words.csv line 1: found the class `well drained` in the first line"),
        "{no_head}"
    );
    let misspelt = told(b"word,class\nWD,wel drained\nPD\n");
    assert!(
        misspelt.contains("words.csv line 2: found the class `wel drained`"),
        "{misspelt}"
    );
    assert!(
        misspelt.contains("words.csv line 3: found 1 column,"),
        "{misspelt}"
    );
    assert!(
        told(b"word,class\nA,well drained\nA,poorly drained\n")
            .contains("line 3: found `A` with two meanings")
    );
    assert!(
        told(b"word,class\n\xe9,well drained\n")
            .contains("words.csv line 2: found a letter that is not UTF-8")
    );
    assert!(told(b"word,class\n").contains("words.csv: found no words"));
}

#[test]
fn a_value_on_a_cut_belongs_beyond_it() {
    let text = "distance_to = \"roads.geojson\"\ncuts = [{ to = 5, class = \"severe\" }, { to = 15, class = \"heavy\" }, { class = \"none\" }]";
    let section = project_with("spray_salt", text).factors.remove(0);
    let cuts = section.cuts.unwrap();
    assert_eq!(cuts.class_of(4.999), Some(4));
    assert_eq!(cuts.class_of(5.0), Some(3));
    assert_eq!(cuts.class_of(15.0), Some(0));
    assert_eq!(cuts.class_of(f64::INFINITY), Some(0));
    assert_eq!(cuts.class_of(f64::NAN), None);
    assert!(matches!(
        section.source,
        FactorSource::Distance { reach_m: 15.0, .. }
    ));
}

#[test]
fn units_are_converted_to_the_factors() {
    let section = project_with("canopy", "layer = \"canopy.tif\"\nunit = \"fraction\"")
        .factors
        .remove(0);
    let FactorSource::Raster { unit, band, .. } = section.source else {
        panic!("a layer without attribute is a raster");
    };
    assert_eq!(unit.unwrap().apply(0.25), 25.0);
    assert_eq!(band, 1);
    let section = project_with("slope", "elevation = \"elevation.tif\"\nvertical_unit = \"ft\"")
        .factors
        .remove(0);
    let FactorSource::Slope { vertical_unit, .. } = section.source else {
        panic!("slope comes from elevation");
    };
    assert_eq!(vertical_unit.unwrap().apply(10.0), 3.048);
}

#[test]
fn a_project_adds_and_changes_factors() {
    let text = "kind = \"classes\"\nclasses = [\"bare\", \"thin\", \"thick\"]\nordered = true\nlayer = \"litter.tif\"\nharmless_below = \"thick\"\ndecisive = true\nstands_in_for = \"moisture\"";
    let factor = project_with("litter", text).factors.remove(0).factor;
    assert_eq!(
        factor.harmless,
        Harmless::UpToClass {
            last: 1,
            told_from: 1
        }
    );
    assert_eq!(factor.stands_in_for.as_deref(), Some("moisture"));
    assert!(factor.decisive && !factor.remediable);
    let text = "kind = \"measured\"\nunit = \"CM\"\nlayer = \"litter.tif\"\nharmless_below = 2";
    let factor = project_with("litter", text).factors.remove(0).factor;
    assert_eq!(factor.kind, Kind::Measured(Unit::Centimetre));
    assert_eq!(factor.harmless, Harmless::Below(2.0));
    let text = "layer = \"canopy.tif\"\ndecisive = false\nremediable = false\nstands_in_for = \"nothing\"";
    let factor = project_with("canopy", text).factors.remove(0).factor;
    assert!(!factor.decisive && !factor.remediable && factor.stands_in_for.is_none());
}

#[test]
fn each_misuse_of_a_factor_is_told() {
    let cases = [
        (
            "ph",
            "elevation = \"elevation.tif\"",
            "needed one of the factors that are computed from it",
        ),
        (
            "ph",
            "layer = \"canopy.tif\"\nwords = { a = \"b\" }",
            "which is measured",
        ),
        (
            "ph",
            "layer = \"canopy.tif\"\ncuts = [{ to = 1, class = \"a\" }, { class = \"b\" }]",
            "which is measured",
        ),
        (
            "canopy",
            "distance_to = \"roads.geojson\"\nreach_m = 5",
            "needed a factor measured in m",
        ),
        (
            "distance",
            "distance_to = \"roads.geojson\"",
            "missing; it must be given",
        ),
        (
            "spray_salt",
            "distance_to = \"roads.geojson\"\nreach_m = 5",
            "needed `cuts`",
        ),
        (
            "spray_salt",
            "distance_to = \"roads.geojson\"\nreach_m = 5\ncuts = [{ to = 9, class = \"heavy\" }, { class = \"none\" }]",
            "found 5, needed at least 9",
        ),
        (
            "spray_salt",
            "layer = \"canopy.tif\"\ncuts = [{ class = \"none\" }]",
            "found 1 cut, needed two or more",
        ),
        (
            "canopy",
            "layer = \"canopy.tif\"\nfilter = \"a > 1\"",
            "found `filter` with a raster",
        ),
        (
            "canopy",
            "layer = \"soils.gpkg\"\nattribute = \"c\"\nband = 2",
            "found `band` with polygons",
        ),
        (
            "canopy",
            "layer = \"canopy.tif\"\nunit = \"m\"",
            "`%`, `fraction`",
        ),
        (
            "slope",
            "elevation = \"elevation.tif\"\nunit = \"deg\"",
            "computed value",
        ),
        (
            "texture",
            "layer = \"soils.gpkg\"\nattribute = \"t\"\nharmless_below = \"silt\"",
            "needed `ordered = true`",
        ),
        (
            "canopy",
            "layer = \"canopy.tif\"\nstands_in_for = \"canopy\"",
            "needed another one",
        ),
        (
            "litter",
            "kind = \"measured\"\nlayer = \"litter.tif\"",
            "missing; it must be given",
        ),
        (
            "litter",
            "kind = \"measured\"\nunit = \"in\"\nlayer = \"litter.tif\"",
            "needed one of `%`",
        ),
        (
            "litter",
            "kind = \"classes\"\nclasses = [\"a\", \"A\"]\nlayer = \"litter.tif\"",
            "found the class `A` twice",
        ),
        (
            "Litter",
            "kind = \"measured\"\nunit = \"cm\"\nlayer = \"litter.tif\"",
            "needed a name of small letters",
        ),
    ];
    for (factor, text, needed) in cases {
        let told = first_problem(factor, text);
        assert!(told.contains(needed), "{factor}: {text}\n{told}");
    }
}

#[test]
fn factors_that_stand_in_for_each_other_are_told() {
    let text =
        "layer = \"canopy.tif\"\n[factors.sun_hours]\nlayer = \"canopy.tif\"\nstands_in_for = \"canopy\"";
    let told = first_problem("canopy", text);
    assert!(told.contains("canopy for sun_hours for canopy"), "{told}");
}
