//! Runs the built program and keeps what it said; copies of the sample site.

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use tempfile::TempDir;

/// A date that goes into the files, so that they do not tell when a test ran.
pub const DATE: &str = "1767225600";

/// What a run of the program left.
#[derive(Debug)]
pub struct Run {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Run {
    fn of(output: Output) -> Run {
        let run = Run {
            code: output.status.code(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        };
        assert!(
            !run.err.contains("panicked") && !run.err.contains("ERROR"),
            "{}",
            run.err
        );
        run
    }

    /// The run, if it ended with this exit code.
    pub fn expect(self, code: i32) -> Run {
        assert_eq!(
            self.code,
            Some(code),
            "stdout:\n{}\nstderr:\n{}",
            self.out,
            self.err
        );
        self
    }

    /// What it printed, as JSON.
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap()
    }

    /// The error stream with the folder taken out of the paths.
    pub fn err_without(&self, folder: &Path) -> String {
        let real = folder.canonicalize().unwrap();
        self.err
            .replace(&real.display().to_string(), "FOLDER")
            .replace(&folder.display().to_string(), "FOLDER")
    }
}

/// The program, ready to be given arguments.
pub fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_groundfit"));
    command.env("SOURCE_DATE_EPOCH", DATE).env("NO_COLOR", "1");
    command
}

/// Runs the program.
pub fn groundfit<A: AsRef<OsStr>>(arguments: impl IntoIterator<Item = A>) -> Run {
    Run::of(program().args(arguments).output().unwrap())
}

/// Runs the main job into `output`, quietly.
pub fn map(project: &Path, output: &Path, options: &[&str]) -> Run {
    let mut command = program();
    command.arg("map").arg(project).arg("--output").arg(output);
    Run::of(command.arg("--quiet").args(options).output().unwrap())
}

/// Runs a shell line with the program as `$0` and the arguments as `$@`.
pub fn through_shell(line: &str, arguments: &[&OsStr]) -> Run {
    let mut command = Command::new("sh");
    command.env("SOURCE_DATE_EPOCH", DATE).env("NO_COLOR", "1");
    command
        .args(["-c", line, env!("CARGO_BIN_EXE_groundfit")])
        .args(arguments);
    Run::of(command.output().unwrap())
}

/// A copy of the sample site.
pub fn sample_copy() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    copy_folder(&sample(), folder.path());
    let project = folder.path().join("project.toml");
    (folder, project)
}

/// The sample site where it lies; for runs that write elsewhere.
pub fn sample() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data")
}

fn copy_folder(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_file() {
            std::fs::copy(entry.path(), target).unwrap();
        } else if entry.file_name() != "out" {
            copy_folder(&entry.path(), &target);
        }
    }
}

/// Every file below a folder with its bytes, by its path in the folder.
pub fn files_below(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut files = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(here) = folders.pop() {
        for entry in std::fs::read_dir(&here).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().to_owned();
                files.insert(name, std::fs::read(&path).unwrap());
            }
        }
    }
    files
}

/// The names in a folder.
pub fn names_in(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}
