//! The example of a table of one's own: imported, checked, and laid over the starter
//! catalogue.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use crate::program::{files_below, groundfit, names_in, sample};

fn example(name: &str) -> PathBuf {
    sample().join("own-plants").join(name)
}

fn import(table: &Path, out: &Path, more: &[&str], code: i32) -> String {
    let mapping = example("mapping.toml");
    let mut words: Vec<&OsStr> = vec!["species".as_ref(), "import".as_ref(), table.as_ref()];
    words.extend([
        "--mapping".as_ref(),
        mapping.as_os_str(),
        "--out".as_ref(),
        out.as_os_str(),
    ]);
    words.extend(more.iter().map(|word| OsStr::new(*word)));
    groundfit(words).expect(code).out
}

#[test]
fn the_example_is_written_whole_and_passes_its_check() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("own");
    let told = import(&example("plants.csv"), &out, &["--dry-run"], 0);
    assert!(
        told.contains("5 species, 49 traits, 18 responses by the rules; nothing written"),
        "{told}"
    );
    assert!(names_in(folder.path()).is_empty());
    import(&example("plants.csv"), &out, &[], 0);
    assert_eq!(
        names_in(&out),
        ["sources.csv", "species.csv", "tolerances.csv", "traits.csv"]
    );
    let path = out.display().to_string();
    groundfit(["species", "check", "--catalogue", &path]).expect(0);
    // A folder that holds files is never written over.
    let before = files_below(&out);
    import(&example("plants.csv"), &out, &[], 1);
    assert_eq!(files_below(&out), before);
}

#[test]
fn a_table_with_faults_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(example("plants.csv")).unwrap();
    let table = folder.path().join("plants.csv");
    std::fs::write(&table, text.replace("FACU", "FACX").replace(";55;", ";tall;")).unwrap();
    let told = import(&table, &folder.path().join("own"), &[], 1);
    assert!(
        told.contains("plants.csv:4, column `Wetland`: wetland_midwest: `FACX` is none of"),
        "{told}"
    );
    assert!(
        told.contains("plants.csv:6, column `Height (ft)`: height_m: `tall` is no number"),
        "{told}"
    );
    assert_eq!(names_in(folder.path()), ["plants.csv"]);
}

#[test]
fn over_the_starter_ones_own_values_come_first_and_sources_keep_apart() {
    let folder = tempfile::tempdir().unwrap();
    import(&example("plants.csv"), &folder.path().join("own"), &[], 0);
    let text = std::fs::read_to_string(sample().join("project.toml")).unwrap();
    let text = text.replace("folder = \"catalogue\"", "folder = \"own\"\nstarter = true");
    let project = folder.path().join("project.toml");
    std::fs::write(&project, text).unwrap();
    for name in files_below(&sample())
        .keys()
        .filter(|name| name.components().count() == 1)
    {
        if name.as_os_str() != "project.toml" {
            std::fs::copy(sample().join(name), folder.path().join(name)).unwrap();
        }
    }
    let project = project.display().to_string();
    let shown = groundfit([
        "species",
        "show",
        "carex-stricta",
        "--json",
        "--project",
        &project,
    ])
    .expect(0);
    let shown = shown.out;
    // Ours is used, the starter's height stands beside it with its own source.
    for part in ["0.61 to 0.914", "1.28", "own-list", "usda-plants"] {
        assert!(shown.contains(part), "{part}\n{shown}");
    }
    let told = groundfit(["species", "check", "--project", &project])
        .expect(0)
        .out;
    assert!(told.contains("127 species"), "{told}");
    assert!(!told.contains("error:"), "{told}");
}
