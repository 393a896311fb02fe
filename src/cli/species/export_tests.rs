//! Exported files read back as what was exported.

use std::path::Path;

use super::tests::{run_in, run_words};
use super::{CatalogueInput, Outcome, SpeciesCommandError};
use crate::species::Catalogue;

fn export(folder: &Path, more: &[&str]) -> Result<(Outcome, String), SpeciesCommandError> {
    run_words(&[&["export", folder.to_str().unwrap()], more].concat())
}

fn opened(input: &CatalogueInput) -> Catalogue {
    let (catalogue, problems) = Catalogue::open(&input.section, &input.factors).unwrap();
    assert!(problems.iter().all(|problem| !problem.is_error()), "{problems:?}");
    catalogue
}

#[test]
fn the_exported_starter_reads_back_the_same() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("new/catalogue");
    let (_, told) = export(&folder, &[]).unwrap();
    assert!(told.contains("127 species"), "{told}");
    let starter = opened(&CatalogueInput::starter());
    let read = opened(&CatalogueInput::in_folder(&folder));
    assert_eq!(read.species.len(), starter.species.len());
    for (one, other) in read.species.iter().zip(&starter.species) {
        assert_eq!(one, other);
    }
    assert_eq!(read.sources, starter.sources);
    assert!(starter.species.iter().any(|species| {
        let mut opinions = species.opinions.iter();
        opinions.any(|opinion| opinion.given.is_some())
    }));
    let (outcome, told) = run_in(&folder, &["check"]).unwrap();
    assert_eq!(outcome, Outcome::Done, "{told}");
    assert!(told.contains(": 0 errors"), "{told}");
}

#[test]
fn the_page_tells_the_rules_and_what_is_remembered() {
    let place = tempfile::tempdir().unwrap();
    export(place.path(), &[]).unwrap();
    let page = std::fs::read_to_string(place.path().join("README.md")).unwrap();
    let starter = opened(&CatalogueInput::starter());
    let remembered = |id: &str| starter.source(id).unwrap().kind == crate::species::SourceKind::FromMemory;
    let traits = starter.species.iter().flat_map(|species| &species.traits);
    let count = traits.filter(|value| remembered(&value.source)).count();
    assert!(
        count > 100 && page.contains(&format!("traits {count} are from memory")),
        "{page}"
    );
    let (_, rules) = run_words(&["rules"]).unwrap();
    assert!(rules.contains("**Rule 1, water.**") && page.ends_with(&rules));
    // The rules begin their lines with a table row each; none is cut.
    assert!(
        page.lines()
            .filter(|line| line.starts_with("| moisture |"))
            .count()
            == 1
    );
}

#[test]
fn nothing_is_overwritten_unless_asked_for() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("traits.csv");
    std::fs::write(&file, "mine").unwrap();
    let error = export(place.path(), &[]).unwrap_err();
    assert!(error.to_string().contains("found traits.csv in "), "{error}");
    assert_eq!(error.exit_code(), 3);
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
    assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 1);
    export(place.path(), &["--overwrite"]).unwrap();
    assert!(
        std::fs::read_to_string(&file)
            .unwrap()
            .starts_with("species,trait,")
    );
    assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 5);
    let beneath = file.join("folder");
    assert!(matches!(
        export(&beneath, &[]),
        Err(SpeciesCommandError::Unwritable { .. })
    ));
}

#[test]
fn a_catalogue_with_errors_is_not_exported() {
    let place = tempfile::tempdir().unwrap();
    let (from, to) = (place.path().join("from"), place.path().join("to"));
    export(&from, &[]).unwrap();
    let file = from.join("species.csv");
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, text.replacen(",tree\n", ",bush\n", 1)).unwrap();
    let error = run_in(&from, &["export", to.to_str().unwrap()]).unwrap_err();
    assert!(
        error.to_string().contains("the catalogue has 1 error,"),
        "{error}"
    );
    assert!(!to.exists());
}
