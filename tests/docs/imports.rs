//! The house rules on imports: along the path of the data only, as the table in
//! DEVELOPERS.md has them, and each outside thing in its place.

use std::collections::{BTreeMap, BTreeSet};

use super::markdown::{code_within, table_under};
use super::module_tree::{Module, modules};
use super::rust_tokens::code_tokens;
use super::{files_below, repository, text_of};

/// The path of the data: each may name what stands before it. The ground words come
/// first, then the stages, then what binds them together.
const PATH: [&str; 23] = [
    "factor",
    "free_memory",
    "score",
    "nearest",
    "plural",
    "severity",
    "in_order",
    "soil",
    "grid",
    "gis",
    "project",
    "site",
    "species",
    "rating",
    "zones",
    "range",
    "planting",
    "output",
    "report",
    "error",
    "run",
    "cli",
    "main",
];

/// Arrows that are refused although they point back.
const REFUSED: [(&str, &str); 3] = [("rating", "gis"), ("zones", "gis"), ("report", "output")];

/// Those who may name what: the parts that bind others together are known to few.
const KNOWN_TO: [(&str, &[&str]); 3] = [("error", &["run", "cli"]), ("run", &["cli"]), ("cli", &["main"])];

/// Code without the tests.
fn code() -> Vec<Module> {
    let src = repository().join("src");
    let mut modules = modules(&src);
    modules.retain(|module| !module.is_test);
    let main = src.join("main.rs");
    modules.push(Module {
        tokens: code_tokens(&std::fs::read_to_string(&main).unwrap()),
        file: main,
        path: vec!["main".to_owned()],
        is_test: false,
    });
    modules
}

/// For each top module those that it names, with one place where it does.
fn arrows() -> BTreeMap<String, BTreeMap<String, String>> {
    let mut arrows: BTreeMap<String, BTreeMap<String, String>> = BTreeMap::new();
    for module in code() {
        let from = arrows.entry(module.top().to_owned()).or_default();
        for path in module.named_paths() {
            let Some(to) = path.first().filter(|&to| to != module.top()) else {
                continue;
            };
            from.entry(to.clone())
                .or_insert_with(|| format!("{} names {}", module.file.display(), path.join("::")));
        }
    }
    arrows.remove("lib");
    arrows
}

fn fault(from: &str, to: &str) -> Option<String> {
    let place = |name: &str| PATH.iter().position(|&known| known == name);
    let (Some(here), Some(there)) = (place(from), place(to)) else {
        return Some(format!("{from} or {to} has no place on the path of the data"));
    };
    let may = KNOWN_TO.iter().find(|(known, _)| *known == to);
    if there >= here {
        Some(format!("{to} comes after {from} on the path of the data"))
    } else if REFUSED.contains(&(from, to)) {
        Some(format!("{from} must not name {to}"))
    } else if let Some((_, few)) = may.filter(|(_, few)| !few.contains(&from)) {
        Some(format!("only {} may name {to}", few.join(" and ")))
    } else {
        None
    }
}

#[test]
fn imports_point_back_along_the_path_of_the_data() {
    let arrows = arrows();
    let mut faults = Vec::new();
    for (from, targets) in &arrows {
        for (to, place) in targets {
            faults.extend(fault(from, to).map(|fault| format!("{place}: {fault}")));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    // The walk has seen the whole crate.
    assert!(arrows["run"].contains_key("output") && arrows["main"].contains_key("cli"));
    assert!(arrows["grid"].is_empty(), "grid names nothing of the crate");
}

#[test]
fn an_arrow_along_the_path_or_to_a_hidden_part_is_a_fault() {
    assert!(fault("species", "cli").is_some());
    assert!(fault("project", "site").is_some());
    assert!(fault("zones", "gis").is_some());
    assert!(fault("output", "error").is_some());
    assert!(fault("shed", "grid").is_some());
    assert!(fault("zones", "rating").is_none());
}

#[test]
fn the_import_table_is_that_of_the_code() {
    let in_table: BTreeMap<String, BTreeSet<String>> =
        table_under(&text_of("DEVELOPERS.md"), "## The import table")
            .iter()
            .map(|row| {
                (
                    code_within(&row[0])[0].clone(),
                    code_within(&row[1]).into_iter().collect(),
                )
            })
            .collect();
    let arrows = arrows();
    let in_code: BTreeMap<String, BTreeSet<String>> = arrows
        .iter()
        .map(|(from, targets)| (from.clone(), targets.keys().cloned().collect()))
        .collect();
    let mut faults = Vec::new();
    for name in in_code.keys().chain(in_table.keys()).collect::<BTreeSet<_>>() {
        match (in_code.get(name), in_table.get(name)) {
            (Some(_), None) => faults.push(format!("the table has no row for {name}")),
            (None, Some(_)) => faults.push(format!("the table has a row for {name}, which is gone")),
            (Some(code), Some(table)) => {
                let untold = code
                    .difference(table)
                    .map(|to| format!("{}, untold", arrows[name][to]));
                let stale = table
                    .difference(code)
                    .map(|to| format!("{name} does not name {to} any more"));
                faults.extend(untold.chain(stale));
            }
            (None, None) => unreachable!("the name comes from one of the two"),
        }
    }
    assert!(
        faults.is_empty(),
        "DEVELOPERS.md, \"The import table\":\n{}",
        faults.join("\n")
    );
}

/// Files outside `home` whose code has one of the sequences of tokens.
fn outside(home: &str, sequences: &[&[&str]]) -> Vec<String> {
    let code = code();
    let has = |module: &&Module| sequences.iter().any(|sequence| module.has(sequence));
    assert!(
        code.iter().filter(has).any(|module| module.top() == home),
        "not even {home} has it"
    );
    let strangers = code.iter().filter(has).filter(|module| module.top() != home);
    strangers
        .map(|module| module.file.display().to_string())
        .collect()
}

#[test]
fn gis_alone_names_gdal() {
    let strangers = outside(
        "gis",
        &[&["gdal", "::"], &["gdal_sys", "::"], &["use", "gdal", ";"]],
    );
    assert!(strangers.is_empty(), "{strangers:?}");
}

#[test]
fn gis_alone_has_unsafe_code() {
    let strangers = outside(
        "gis",
        &[
            &["unsafe", "{"],
            &["unsafe", "impl"],
            &["unsafe", "fn"],
            &["unsafe", "extern"],
        ],
    );
    assert!(strangers.is_empty(), "{strangers:?}");
}

#[test]
fn cli_alone_prints() {
    let prints: [&[&str]; 7] = [
        &["println", "!"],
        &["print", "!"],
        &["eprintln", "!"],
        &["eprint", "!"],
        &["dbg", "!"],
        &["stdout", "("],
        &["stderr", "("],
    ];
    let strangers = outside("cli", &prints);
    assert!(strangers.is_empty(), "{strangers:?}");
}

#[test]
fn rating_and_zones_open_no_file() {
    let files: [&[&str]; 5] = [
        &["fs", "::"],
        &["std", "::", "fs"],
        &["File", "::"],
        &["OpenOptions", "::"],
        &["io", "::", "stdin"],
    ];
    let pure = [
        "rating", "zones", "grid", "factor", "score", "nearest", "plural", "severity",
    ];
    let code = code();
    let strangers: Vec<_> = code
        .iter()
        .filter(|module| pure.contains(&module.top()))
        .filter(|module| files.iter().any(|sequence| module.has(sequence)))
        .map(|module| &module.file)
        .collect();
    assert!(strangers.is_empty(), "{strangers:?}");
    assert!(
        code.iter()
            .any(|module| module.top() == "output" && module.has(files[2]))
    );
}

#[test]
fn a_stage_takes_its_section_and_never_the_whole_project() {
    let whole = |module: &&Module| {
        module
            .named_paths()
            .iter()
            .any(|path| path[..] == ["project", "Project"])
    };
    let code = code();
    let tops: BTreeSet<&str> = code.iter().filter(whole).map(Module::top).collect();
    assert_eq!(tops, BTreeSet::from(["cli", "run"]));
}

#[test]
fn every_source_file_belongs_to_the_module_tree() {
    let src = repository().join("src");
    let mut known: BTreeSet<_> = modules(&src).into_iter().map(|module| module.file).collect();
    known.insert(src.join("main.rs"));
    let astray: Vec<_> = files_below(&src, &["rs"])
        .into_iter()
        .filter(|file| !known.contains(file))
        .collect();
    assert!(astray.is_empty(), "{astray:?}");
}

#[test]
fn names_of_files_say_what_is_in_them() {
    let nothing = ["utils", "util", "helpers", "common", "misc", "types", "prelude"];
    for file in files_below(&repository().join("src"), &["rs"]) {
        let relative = file.strip_prefix(repository()).unwrap().with_extension("");
        let empty = relative
            .iter()
            .any(|part| nothing.iter().any(|&name| part == name));
        assert!(!empty, "{} has a name that says nothing", file.display());
    }
}
