//! The modules of the crate, found as the compiler finds them: from `lib.rs` along
//! the `mod` items. Tells for each what it names of the crate's other modules.

use std::path::{Path, PathBuf};

use super::rust_tokens::code_tokens;

/// A module, or a file that is compiled for tests alone.
pub struct Module {
    /// Its file.
    pub file: PathBuf,
    /// Its path in the crate: `["zones", "outlines", "arcs"]`.
    pub path: Vec<String>,
    /// Its code; nothing for a file of tests.
    pub tokens: Vec<String>,
    /// Whether it is compiled for tests alone.
    pub is_test: bool,
}

impl Module {
    /// The top module it belongs to; `lib` for the contents page.
    pub fn top(&self) -> &str {
        self.path.first().map_or("lib", String::as_str)
    }

    /// Every path it names that starts at the crate's root: `["zones", "Share"]`.
    pub fn named_paths(&self) -> Vec<Vec<String>> {
        named_paths(&self.tokens, &self.path)
    }

    /// Whether its code has these tokens one after the other.
    pub fn has(&self, sequence: &[&str]) -> bool {
        let mut windows = self.tokens.windows(sequence.len());
        windows.any(|window| window.iter().zip(sequence).all(|(token, wanted)| token == wanted))
    }
}

/// All modules below `src/lib.rs`, that file included, and the files of their tests.
pub fn modules(src: &Path) -> Vec<Module> {
    let mut found = Vec::new();
    walk(&src.join("lib.rs"), src, Vec::new(), &mut found);
    found
}

fn walk(file: &Path, folder: &Path, path: Vec<String>, found: &mut Vec<Module>) {
    let text = std::fs::read_to_string(file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
    let tokens = code_tokens(&text);
    for module in tokens.windows(3).filter(|window| window[0] == "mod") {
        // `super` would count from there, and the paths below would be wrong.
        assert_eq!(
            module[2],
            ";",
            "{}: module {} needs a file of its own",
            file.display(),
            module[1]
        );
        let name = &module[1];
        let mut below = path.clone();
        below.push(name.clone());
        let inner = folder.join(name);
        let own_file = folder.join(format!("{name}.rs"));
        let child = if own_file.exists() {
            own_file
        } else {
            inner.join("mod.rs")
        };
        walk(&child, &inner, below, found);
    }
    for test in test_files(&text, file, folder) {
        let tests_of_tests = test.with_extension("");
        let tests_of_tests = if test.ends_with("mod.rs") {
            test.parent().unwrap()
        } else {
            &tests_of_tests
        };
        let others = if tests_of_tests.is_dir() {
            super::files_below(tests_of_tests, &["rs"])
        } else {
            Vec::new()
        };
        for file in others
            .into_iter()
            .filter(|other| *other != test)
            .chain([test.clone()])
        {
            found.push(Module {
                file,
                path: path.clone(),
                tokens: Vec::new(),
                is_test: true,
            });
        }
    }
    found.push(Module {
        file: file.to_owned(),
        path,
        tokens,
        is_test: false,
    });
}

/// Files of modules that are compiled for tests alone.
fn test_files(text: &str, file: &Path, folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let mut lines = text.lines().map(str::trim);
    while let Some(line) = lines.next() {
        if line != "#[cfg(test)]" {
            continue;
        }
        let mut place = None;
        for line in lines.by_ref() {
            if let Some(rest) = line.strip_prefix("#[path = \"") {
                place = rest.strip_suffix("\"]").map(|name| file.with_file_name(name));
            } else if !line.starts_with("#[") {
                let name = line.split_whitespace().skip_while(|&word| word != "mod").nth(1);
                if let Some(name) = name.and_then(|name| name.strip_suffix(';')) {
                    let own_file = folder.join(format!("{name}.rs"));
                    let usual = if own_file.exists() {
                        own_file
                    } else {
                        folder.join(name).join("mod.rs")
                    };
                    files.push(place.unwrap_or(usual));
                }
                break;
            }
        }
    }
    files
}

/// Paths that begin with `crate`, `super` or the crate's name, from the root.
fn named_paths(tokens: &[String], of_module: &[String]) -> Vec<Vec<String>> {
    let mut paths = Vec::new();
    for at in 0..tokens.len() {
        let starts = matches!(tokens[at].as_str(), "crate" | "super" | "groundfit");
        if !starts || at > 0 && tokens[at - 1] == "::" {
            continue;
        }
        let mut base: Vec<String> = Vec::new();
        let mut next = at;
        if tokens[at] == "super" {
            base = of_module.to_vec();
            while tokens.get(next).is_some_and(|token| token == "super") {
                base.pop();
                next += 2;
            }
            next -= 2;
        }
        if tokens.get(next + 1).is_some_and(|token| token == "::") {
            follow(tokens, next + 2, &base, &mut paths);
        }
    }
    paths
}

/// Follows a path, or a tree of them, from `at` on; gives what comes after it.
fn follow(tokens: &[String], at: usize, base: &[String], paths: &mut Vec<Vec<String>>) -> usize {
    let mut path = base.to_vec();
    let mut next = at;
    loop {
        match tokens.get(next).map(String::as_str) {
            Some("{") => {
                next += 1;
                while tokens.get(next).is_some_and(|token| token != "}") {
                    next = follow(tokens, next, &path, paths);
                    while tokens.get(next).is_some_and(|token| token != "," && token != "}") {
                        next += 1;
                    }
                    if tokens.get(next).is_some_and(|token| token == ",") {
                        next += 1;
                    }
                }
                return next + 1;
            }
            Some(name) if name.starts_with(|sign: char| sign.is_alphabetic() || sign == '_') => {
                path.push(name.to_owned());
                next += 1;
            }
            _ => break,
        }
        if tokens.get(next).is_none_or(|token| token != "::") {
            break;
        }
        next += 1;
    }
    paths.push(path);
    next
}

#[test]
fn paths_are_followed_to_the_root() {
    let text =
        "use crate::gis::{self, Features as F}; use super::super::grid::Grid; use super::{near, far::Off};
        fn f() -> crate::zones::Share { self::own(); super::run() }";
    let of_module = ["site".to_owned(), "area".to_owned()];
    let paths = named_paths(&code_tokens(text), &of_module);
    let paths: Vec<String> = paths.iter().map(|path| path.join("::")).collect();
    assert_eq!(
        paths,
        [
            "gis::self",
            "gis::Features",
            "grid::Grid",
            "site::near",
            "site::far::Off",
            "zones::Share",
            "site::run"
        ]
    );
}
