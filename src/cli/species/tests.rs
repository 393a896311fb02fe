//! What the command prints, on a small catalogue written for it.

use std::path::Path;

use clap::Parser;

use super::{Outcome, SpeciesCommand, SpeciesCommandError, run};

#[derive(Parser)]
struct Program {
    #[command(flatten)]
    command: SpeciesCommand,
}

const SPECIES: &str = "id,scientific_name,common_name,form,height_m,height_m_source\n\
    carex-stricta,Carex stricta,upright sedge,grass,1.3,book\n\
    rhus-typhina,Rhus typhina,staghorn sumac,shrub,,\n";
const TOLERANCES: &str = "species,factor,given,response,source,note\n\
    carex-stricta,drainage,,classes excessively drained=0; somewhat excessively drained=0; well drained=0.3; moderately well drained=0.5; somewhat poorly drained=0.8; poorly drained=1; very poorly drained=1,book,\n\
    carex-stricta,canopy,,curve 0:1 50:1 80:0.5,own,seen in the open\n\
    rhus-typhina,canopy,,range - - 20 90,book,\n\
    rhus-typhina,spray_salt,\"drainage: excessively drained, somewhat excessively drained, well drained, moderately well drained\",classes none=1; slight=1; moderate=0.9; heavy=0.8; severe=0.5,own,\n\
    rhus-typhina,spray_salt,\"drainage: somewhat poorly drained, poorly drained, very poorly drained\",classes none=1; slight=0.9; moderate=0.5; heavy=0.2; severe=0,own,\n";
const SOURCES: &str = "id,kind,title,author,year\nbook,published,A book of plants,A. Author,1999\nown,from memory,\"From memory, unverified\",,\n";

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [
        ("species.csv", SPECIES),
        ("tolerances.csv", TOLERANCES),
        ("sources.csv", SOURCES),
    ] {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

pub(super) fn run_in(folder: &Path, words: &[&str]) -> Result<(Outcome, String), SpeciesCommandError> {
    let place = ["--catalogue", folder.to_str().unwrap()];
    run_words(&[words, &place].concat())
}

/// Runs `species` with these words, without a catalogue on the starter's.
pub(super) fn run_words(words: &[&str]) -> Result<(Outcome, String), SpeciesCommandError> {
    let words = ["species"].iter().chain(words);
    let program = Program::try_parse_from(words).unwrap();
    let mut out = Vec::new();
    let outcome = run(&program.command, &mut out)?;
    Ok((outcome, String::from_utf8(out).unwrap()))
}

fn printed(words: &[&str]) -> String {
    run_in(folder().path(), words).unwrap().1
}

#[test]
fn show_tells_everything_with_numbered_sources() {
    insta::assert_snapshot!(printed(&["show", "Carex Stricta"]));
}

#[test]
fn show_tells_conditions_and_what_is_not_recorded() {
    let text = printed(&["show", "rhus-typhina"]);
    assert!(
        text.contains("only where drainage: excessively drained, somewhat excessively"),
        "{text}"
    );
    assert!(text.contains("no opinion on"), "{text}");
    assert!(text.contains("not recorded here, which does not mean"), "{text}");
}

#[test]
fn a_misspelt_name_gets_the_nearest() {
    let error = run_in(folder().path(), &["show", "rhus tiphina"]).unwrap_err();
    assert_eq!(
        error.to_string(),
        "there is no species `rhus tiphina` in the catalogue; did you mean rhus-typhina?"
    );
    assert!(
        run_in(folder().path(), &["show", "oak"])
            .unwrap_err()
            .to_string()
            .contains("shows all")
    );
}

#[test]
fn filters_narrow_the_list() {
    let all = printed(&["list"]);
    assert!(
        all.contains("carex-stricta  upright sedge   grass  1.3 m") && all.contains("2 of 2 species"),
        "{all}"
    );
    let shrubs = printed(&["list", "--form", "shrub"]);
    assert!(!shrubs.contains("carex") && shrubs.contains("1 of 2"), "{shrubs}");
    assert!(printed(&["list", "--name", "SEDGE"]).contains("1 of 2"));
    let silent = printed(&["list", "--no-opinion", "drainage"]);
    assert!(
        silent.contains("rhus-typhina") && !silent.contains("carex"),
        "{silent}"
    );
}

#[test]
fn standing_a_value_has_three_answers() {
    let wet = printed(&["list", "--stands", "drainage=Poorly drained"]);
    assert!(
        wet.contains("1 of 2") && wet.contains("rhus-typhina: no opinion on drainage"),
        "{wet}"
    );
    // Not standing one factor settles it, whatever else is unknown.
    let shade = printed(&[
        "list",
        "--stands",
        "drainage=poorly drained",
        "--stands",
        "canopy=80",
    ]);
    assert!(
        shade.contains("0 of 2") && !shade.contains("not known"),
        "{shade}"
    );
    // The condition hangs on drainage, which nobody told.
    let untold = printed(&["list", "--stands", "spray_salt=heavy"]);
    assert!(
        untold.contains("0 of 2") && untold.contains("rhus-typhina: no opinion on spray_salt"),
        "{untold}"
    );
    let harmless = printed(&["list", "--stands", "spray_salt=none"]);
    assert!(harmless.contains("2 of 2"), "{harmless}");
}

#[test]
fn filters_that_say_nothing_are_refused() {
    for words in [
        ["list", "--form", "bush"],
        ["list", "--stands", "drainage"],
        ["list", "--stands", "drainage=soggy"],
        ["list", "--stands", "canopy=deep"],
        ["list", "--no-opinion", "salt"],
    ] {
        assert!(
            matches!(
                run_in(folder().path(), &words),
                Err(SpeciesCommandError::Filter { .. })
            ),
            "{words:?}"
        );
    }
}

#[test]
fn json_is_json() {
    for words in [
        ["list", "--json"].as_slice(),
        &["show", "carex-stricta", "--json"],
        &["check", "--json"],
    ] {
        let value: serde_json::Value = serde_json::from_str(&printed(words)).unwrap();
        assert!(value.is_object());
    }
    let text = printed(&["show", "rhus-typhina", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value["responses"][0]["response"], "range - - 20 90");
}

#[test]
fn check_counts_and_fails_on_errors() {
    let folder = folder();
    let (outcome, text) = run_in(folder.path(), &["check"]).unwrap();
    assert_eq!(outcome, Outcome::Done);
    assert!(
        text.contains("2 species, 5 responses, 2 sources: 0 errors"),
        "{text}"
    );
    std::fs::write(
        folder.path().join("species.csv"),
        SPECIES.replace("shrub", "bush"),
    )
    .unwrap();
    let (outcome, text) = run_in(folder.path(), &["check"]).unwrap();
    assert_eq!(outcome, Outcome::Problems);
    assert!(
        text.contains("species.csv:3, column `form`: `bush` is none of"),
        "{text}"
    );
    let (outcome, text) = run_in(folder.path(), &["list"]).unwrap();
    assert_eq!(outcome, Outcome::Problems);
    assert!(text.contains("The catalogue has 1 error;"), "{text}");
}

#[test]
fn a_project_leads_to_its_catalogue_and_factors() {
    let folder = folder();
    let file = folder.path().join("project.toml");
    let words = ["species", "check", "--project", file.to_str().unwrap()];
    let program = Program::try_parse_from(words).unwrap();
    let checked = || {
        let mut out = Vec::new();
        run(&program.command, &mut out).map(|_| String::from_utf8(out).unwrap())
    };
    assert!(matches!(checked(), Err(SpeciesCommandError::Project(_))));
    // A factor of the project's own, on which a species of the catalogue has an opinion.
    std::fs::write(folder.path().join("boundary.geojson"), "{}").unwrap();
    std::fs::write(
        &file,
        "[area]\nboundary = \"boundary.geojson\"\n[catalogue]\nfolder = \".\"\n\
         [factors.mowing]\nkind = \"measured\"\nunit = \"index\"\nlayer = \"boundary.geojson\"\n",
    )
    .unwrap();
    let tolerances = format!("{TOLERANCES}carex-stricta,mowing,,range - - 1 3,own,\n");
    std::fs::write(folder.path().join("tolerances.csv"), tolerances).unwrap();
    let text = checked().unwrap();
    assert!(
        text.contains("6 responses") && text.contains(": 0 errors"),
        "{text}"
    );
    let (outcome, text) = run_in(folder.path(), &["check"]).unwrap();
    assert_eq!(outcome, Outcome::Problems);
    assert!(text.contains("there is no factor `mowing`"), "{text}");
}

#[test]
fn a_catalogue_or_a_project_may_be_given_and_not_both() {
    assert!(Program::try_parse_from(["species", "list"]).is_ok());
    assert!(Program::try_parse_from(["species", "list", "--catalogue", "a", "--project", "b"]).is_err());
}
