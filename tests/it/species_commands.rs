//! `species` from outside: the starter catalogue, exports that a project can use, exit
//! codes, help, and readers that stop early.

use std::ffi::OsStr;

use crate::program::{groundfit, names_in, sample, through_shell};

#[test]
fn the_starter_catalogue_answers_what_people_ask() {
    let told = groundfit([
        "species",
        "list",
        "--form",
        "grass",
        "--where",
        "height_m < 1",
        "--where",
        "bloom_months > June",
        "--stands",
        "moisture=dry",
    ])
    .expect(0);
    assert!(
        told.out.contains("sideoats grama") && !told.out.contains("big bluestem"),
        "{}",
        told.out
    );
    let told = groundfit(["species", "list", "--where", "feeds has monarch", "--json"])
        .expect(0)
        .json();
    assert!(
        told["species"]
            .as_array()
            .unwrap()
            .iter()
            .any(|one| one["id"] == "asclepias-incarnata")
    );
    let refused = groundfit(["species", "list", "--where", "hight < 1"]).expect(2);
    assert!(refused.err.contains("did you mean `height"), "{}", refused.err);
    groundfit(["species", "compare", "red maple", "no such plant"]).expect(2);
    groundfit(["species", "list", "--units", "furlongs"]).expect(2);
    groundfit(["species", "rules"]).expect(0);
    groundfit(["species", "coverage", "--json"]).expect(0).json();
    groundfit(["species", "table", "--by", "drainage", "--json"])
        .expect(0)
        .json();
    groundfit(["species", "check"]).expect(0);
}

#[test]
fn an_export_is_a_catalogue_that_a_project_can_use() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("mine");
    let out_name = out.display().to_string();
    groundfit(["species", "export", &out_name]).expect(0);
    let names = [
        "README.md",
        "sources.csv",
        "species.csv",
        "tolerances.csv",
        "traits.csv",
    ];
    assert_eq!(names_in(&out), names);
    let again = groundfit(["species", "export", &out_name]).expect(3);
    assert!(again.err.contains("nothing was written"), "{}", again.err);
    groundfit(["species", "export", &out_name, "--overwrite"]).expect(0);
    let checked = groundfit(["species", "check", "--catalogue", &out_name]).expect(0);
    assert!(checked.out.contains(": 0 errors"), "{}", checked.out);
    let values = ["species", "list", "--json", "--all-values"];
    let starter = groundfit(values).expect(0);
    let read = groundfit(values.iter().copied().chain(["--catalogue", &out_name])).expect(0);
    assert_eq!(starter.out, read.out);

    let project = std::fs::read_to_string(sample().join("project.toml")).unwrap();
    let project = project.replace("\"catalogue\"", &format!("{out_name:?}"));
    let layers = sample().display().to_string();
    let file = folder.path().join("project.toml");
    std::fs::write(&file, project).unwrap();
    for name in names_in(layers.as_ref()) {
        if name != "project.toml" {
            let _ = std::os::unix::fs::symlink(sample().join(&name), folder.path().join(&name));
        }
    }
    let file = file.display().to_string();
    let told = groundfit(["why", &file, "431800", "4987700", "--json"])
        .expect(0)
        .json();
    assert_eq!(told["species"].as_array().unwrap().len(), 127);
}

#[test]
fn the_help_of_every_species_command_has_examples() {
    for command in [
        "list", "show", "compare", "table", "coverage", "check", "export", "rules",
    ] {
        let run = groundfit(["species", command, "--help"]).expect(0);
        assert!(run.out.contains("Examples:"), "{command}: {}", run.out);
    }
}

#[test]
fn a_reader_that_stops_early_ends_it_quietly() {
    for words in [
        &["species", "show", "red maple"][..],
        &["species", "list", "--json", "--all-values"],
        &["species", "list"],
        &["species", "table"],
        &["species", "rules"],
    ] {
        let words: Vec<&OsStr> = words.iter().map(OsStr::new).collect();
        // The subshell tells the program's own exit code on the error stream.
        let run = through_shell(
            "{ \"$0\" \"$@\"; echo \"code $?\" >&2; } | head -1 > /dev/null",
            &words,
        );
        assert_eq!(run.err, "code 0\n", "{words:?}");
    }
}
