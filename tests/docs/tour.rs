//! The tour of the README, run: every `groundfit` command of its console blocks in a
//! copy of the sample, with what it printed held against what the README shows.
//!
//! `README_OUTPUT=write` puts the real output into the README instead. A line of three
//! dots stands for lines left out.

use std::path::Path;
use std::process::Command;
use std::sync::OnceLock;

use tempfile::TempDir;

use super::{files_below, repository, text_of};

/// Where the README says the commands are run.
const SHOWN_FOLDER: &str = "/home/you/groundfit";

/// Stands for lines left out.
const DOTS: &str = "...";

/// One command of the README and the lines shown under it.
struct Shown {
    command: String,
    /// Number of the first line under the command, from 0.
    first: usize,
    output: Vec<String>,
}

fn commands(document: &str) -> Vec<Shown> {
    let mut commands: Vec<Shown> = Vec::new();
    let mut in_console = false;
    for (number, line) in document.lines().enumerate() {
        if line.starts_with("```") {
            in_console = line == "```console";
        } else if let Some(command) = line.strip_prefix("$ ").filter(|_| in_console) {
            commands.push(Shown {
                command: command.to_owned(),
                first: number + 1,
                output: Vec::new(),
            });
        } else if in_console {
            let shown = commands
                .last_mut()
                .expect("a console block starts with a command");
            shown.output.push(line.to_owned());
        }
    }
    commands.retain(|shown| shown.command.starts_with("groundfit "));
    commands
}

/// A folder with a copy of the sample, its files as old as those in the repository.
pub fn copy_of_the_sample() -> TempDir {
    let place = tempfile::tempdir().unwrap();
    let sample = repository().join("sample-data");
    for file in files_below(&sample, &["csv", "geojson", "gpkg", "tif", "toml", "md"]) {
        let relative = file.strip_prefix(repository()).unwrap();
        if !relative.starts_with("sample-data/out") {
            let copy = place.path().join(relative);
            std::fs::create_dir_all(copy.parent().unwrap()).unwrap();
            std::fs::copy(&file, copy).unwrap();
        }
    }
    place
}

/// What a command tells in a folder: first on the error stream, then on the other.
pub fn run_in(folder: &Path, command: &str) -> String {
    let program = Path::new(env!("CARGO_BIN_EXE_groundfit"));
    let mut path = program.parent().unwrap().as_os_str().to_owned();
    path.push(":");
    path.push(std::env::var_os("PATH").unwrap_or_default());
    let done = Command::new("sh")
        .args(["-c", command])
        .current_dir(folder)
        .env("PATH", path)
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    let told = [done.stderr, done.stdout].concat();
    let told = String::from_utf8(told).unwrap();
    assert!(done.status.success(), "$ {command}\n{told}");
    let real = folder.canonicalize().unwrap();
    told.replace(real.to_str().unwrap(), SHOWN_FOLDER)
}

/// The sample with its finished output, made once for all tests.
pub fn mapped_sample() -> &'static Path {
    static SAMPLE: OnceLock<TempDir> = OnceLock::new();
    let place = SAMPLE.get_or_init(|| {
        let place = copy_of_the_sample();
        run_in(place.path(), "groundfit map sample-data/project.toml");
        place
    });
    place.path()
}

/// The lines of an output that are the same in every run: progress is left out, and
/// sizes and seconds, which other versions of the libraries change, lose their number.
fn lasting(lines: &[String]) -> Vec<String> {
    let progress = |line: &&String| line.contains(" rows/s, ") && line.ends_with(" s left");
    let lines = lines.iter().filter(|line| !progress(line));
    lines.map(|line| without_sizes(line)).collect()
}

fn without_sizes(line: &str) -> String {
    let mut words: Vec<&str> = line.split_whitespace().collect();
    for at in 1..words.len() {
        let unit = words[at].trim_end_matches(',');
        if matches!(unit, "bytes" | "MB" | "s") && words[at - 1].parse::<f64>().is_ok() {
            words[at - 1] = "N";
        }
    }
    words.join(" ")
}

/// What differs between the lines shown and those printed, if anything.
fn difference(shown: &[String], printed: &[String]) -> Option<String> {
    let (shown, printed) = (lasting(shown), lasting(printed));
    let parts: Vec<&[String]> = shown.split(|line| line == DOTS).collect();
    let mut at = 0;
    for (number, part) in parts.iter().enumerate() {
        let (is_first, is_last) = (number == 0, number + 1 == parts.len());
        if printed.len() < at + part.len() + usize::from(!is_first) {
            return Some(format!("only {} lines are printed", printed.len()));
        }
        // The first part begins the output, the last one ends it; dots leave out a line or more.
        let begins = match () {
            () if is_first => 0..=0,
            () if is_last => printed.len() - part.len()..=printed.len() - part.len(),
            () => at + 1..=printed.len() - part.len(),
        };
        let nearest = *begins.start();
        let Some(begin) = begins
            .into_iter()
            .find(|&begin| printed[begin..].starts_with(part))
        else {
            let mut pairs = part.iter().zip(&printed[nearest..]);
            let pair = pairs.find(|(shown, printed)| shown != printed);
            return pair.map(|(shown, printed)| format!("shown:   {shown}\nprinted: {printed}"));
        };
        at = begin + part.len();
    }
    (at < printed.len()).then(|| format!("not shown: {}", printed[at]))
}

/// The lines to show. Where some are left out, those shown stay as they are while
/// they fit; else as many as now before and after a single line of dots, or all.
fn shortened(shown: &[String], printed: Vec<String>) -> Vec<String> {
    if difference(shown, &printed).is_none() {
        return shown.to_vec();
    }
    let parts: Vec<&[String]> = shown.split(|line| line == DOTS).collect();
    match parts[..] {
        [head, tail] if head.len() + tail.len() < printed.len() => {
            let last = &printed[printed.len() - tail.len()..];
            [&printed[..head.len()], &[DOTS.to_owned()], last].concat()
        }
        _ => printed,
    }
}

fn lines_of(text: &str) -> Vec<String> {
    text.trim_end()
        .lines()
        .map(|line| line.trim_end().to_owned())
        .collect()
}

#[test]
fn the_tour_of_the_readme_prints_what_it_shows() {
    let document = text_of("README.md");
    let commands = commands(&document);
    for needed in ["new", "check", "map", "why", "zones", "species"] {
        let begin = format!("groundfit {needed} ");
        assert!(
            commands.iter().any(|shown| shown.command.starts_with(&begin)),
            "no {needed} in the tour"
        );
    }
    let place = copy_of_the_sample();
    let mut lines: Vec<String> = document.lines().map(str::to_owned).collect();
    let mut faults = Vec::new();
    let mut printed_all = Vec::new();
    for shown in &commands {
        let printed = lines_of(&run_in(place.path(), &shown.command));
        if let Some(difference) = difference(&shown.output, &printed) {
            faults.push(format!("$ {}\n{difference}", shown.command));
        }
        printed_all.push(printed);
    }
    if std::env::var_os("README_OUTPUT").is_some_and(|what| what == "write") {
        for (shown, printed) in commands.iter().zip(printed_all).rev() {
            let range = shown.first..shown.first + shown.output.len();
            lines.splice(range, shortened(&shown.output, printed));
        }
        std::fs::write(repository().join("README.md"), lines.join("\n") + "\n").unwrap();
        return;
    }
    assert!(
        faults.is_empty(),
        "the README shows other output than is printed (README_OUTPUT=write cargo test puts it right):\n{}",
        faults.join("\n\n")
    );
}

#[test]
fn only_what_lasts_is_compared() {
    let lines = |text: &str| lines_of(text);
    let shown = lines("a  1 bytes\n...\nlast");
    assert_eq!(
        difference(
            &shown,
            &lines("rating: 1 of 2 rows, 3 rows/s, 4 s left\na 27 bytes\nb\nc\nlast")
        ),
        None
    );
    assert!(difference(&shown, &lines("a 27 bytes\nlast")).is_some());
    assert!(difference(&shown, &lines("a 27 cells\nb\nlast")).is_some());
    assert!(difference(&lines("a\nb"), &lines("a")).is_some());
    assert!(difference(&lines("a"), &lines("a\nb")).is_some());
    assert_eq!(
        difference(&lines("a\n...\nc\n...\ne"), &lines("a\nb\nc\nd\ne")),
        None
    );
    assert!(difference(&lines("a\n...\nc\n...\ne"), &lines("a\nc\nd\ne")).is_some());
    assert!(difference(&lines("a\n...\nx\n...\ne"), &lines("a\nb\nc\nd\ne")).is_some());
    assert!(difference(&lines("3 zones"), &lines("4 zones")).is_some());
}
