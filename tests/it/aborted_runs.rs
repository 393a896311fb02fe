//! Runs that are interrupted or killed half-way: nothing half done passes for an
//! output, and the next run clears up and writes the same bytes.

use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

use crate::program::{groundfit, map, names_in, program, sample_copy};
use crate::same_bytes::{comparable, same};

/// The sample site in cells so small that a run takes a while.
fn larger_site() -> (TempDir, PathBuf) {
    let (folder, project) = sample_copy();
    let text = std::fs::read_to_string(&project).unwrap();
    assert!(text.contains("cell_m = 5 "));
    std::fs::write(&project, text.replace("cell_m = 5 ", "cell_m = 1.5 ")).unwrap();
    (folder, project)
}

/// Starts a run and waits until it is in the middle of it.
fn started(project: &Path, out: &Path) -> Child {
    let mut command = program();
    command.arg("map").arg(project).arg("--output").arg(out);
    command.args(["--threads", "1", "--block-rows", "8"]);
    let child = command
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let partial = out.with_file_name("out.partial");
    let start = Instant::now();
    // The ratings are begun when the first half of the work is done.
    while !partial.join("ratings.tif").exists() {
        assert!(
            start.elapsed() < Duration::from_secs(120),
            "the run does not begin"
        );
        std::thread::sleep(Duration::from_millis(5));
    }
    child
}

fn send(signal: &str, child: &Child) {
    let sent = Command::new("kill")
        .arg(signal)
        .arg(child.id().to_string())
        .status();
    assert!(sent.unwrap().success());
}

#[test]
fn an_interrupted_run_leaves_nothing() {
    let (folder, project) = larger_site();
    let before = names_in(folder.path());
    let out = folder.path().join("out");
    let mut child = started(&project, &out);
    assert!(names_in(folder.path()).contains(&"out.partial".to_owned()));
    send("-INT", &child);
    let status = child.wait().unwrap();
    let mut said = String::new();
    child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
    assert_eq!(status.code(), Some(130), "{said}");
    assert!(said.contains("error: interrupted: nothing was written"), "{said}");
    assert_eq!(names_in(folder.path()), before);
}

#[test]
fn an_interrupted_run_leaves_an_earlier_output_as_it_was() {
    let (folder, project) = larger_site();
    let out = folder.path().join("out");
    // A finished output of the same place, in coarser cells.
    let coarse = std::fs::read_to_string(&project)
        .unwrap()
        .replace("cell_m = 1.5 ", "cell_m = 10 ");
    let other = folder.path().join("coarse.toml");
    std::fs::write(&other, coarse).unwrap();
    map(&other, &out, &[]).expect(0);
    let before = comparable(&out);
    let mut command = program();
    command.arg("map").arg(&project).arg("--output").arg(&out);
    command.args(["--overwrite", "--threads", "1"]);
    let mut child = command
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    while !folder.path().join("out.partial/ratings.tif").exists() {
        std::thread::sleep(Duration::from_millis(5));
    }
    send("-TERM", &child);
    assert_eq!(child.wait().unwrap().code(), Some(130));
    same(&before, &comparable(&out), "after an interrupt");
    assert!(!folder.path().join("out.partial").exists());
}

#[test]
fn what_a_killed_run_leaves_is_named_and_removed_by_the_next() {
    let (folder, project) = larger_site();
    let before = names_in(folder.path());
    let out = folder.path().join("out");
    let mut child = started(&project, &out);
    // While it runs, nobody else may write there.
    let second = groundfit([
        "map".as_ref(),
        project.as_os_str(),
        "--output".as_ref(),
        out.as_os_str(),
    ])
    .expect(3);
    assert!(second.err.contains("another run is writing to"), "{}", second.err);
    send("-KILL", &child);
    child.wait().unwrap();
    let mut left = names_in(folder.path());
    left.retain(|name| !before.contains(name));
    assert_eq!(left, ["out.partial"]);

    let run = groundfit([
        "map".as_ref(),
        project.as_os_str(),
        "--output".as_ref(),
        out.as_os_str(),
    ])
    .expect(0);
    assert!(
        run.err.contains("removed ") && run.err.contains("out.partial"),
        "{}",
        run.err
    );
    let mut now = names_in(folder.path());
    now.retain(|name| !before.contains(name));
    assert_eq!(now, ["out"]);
    let after_kill = comparable(&out);
    std::fs::remove_dir_all(&out).unwrap();
    map(&project, &out, &[]).expect(0);
    same(&after_kill, &comparable(&out), "after a killed run");
}
