//! Output folders that exist or cannot be written, and a disk that is full.

use std::ffi::OsStr;

use insta::assert_snapshot;

use crate::program::{files_below, groundfit, names_in, through_shell};
use crate::small_site::Site;

#[test]
fn a_finished_output_is_left_alone_unless_asked() {
    let site = Site::sound();
    site.run("map").expect(0);
    let before = files_below(&site.file("out"));
    let again = site.run("map").expect(3);
    assert_snapshot!(again.err_without(site.folder()), @r"
    error: the output folder FOLDER/out exists already; name another folder, or ask for it to be overwritten
    try: `--overwrite` replaces it, `--output FOLDER` leaves it
    ");
    assert_eq!(files_below(&site.file("out")), before);
    let project = site.project();
    groundfit(["map".as_ref(), project.as_os_str(), OsStr::new("--overwrite")]).expect(0);
    assert_eq!(
        names_in(&site.file("out")),
        before
            .keys()
            .map(|name| name.display().to_string())
            .collect::<Vec<_>>()
    );
}

#[test]
fn files_of_somebody_else_are_never_replaced() {
    let site = Site::sound();
    std::fs::create_dir(site.file("out")).unwrap();
    std::fs::write(site.file("out/notes.txt"), "mine").unwrap();
    let project = site.project();
    let run = groundfit(["map".as_ref(), project.as_os_str(), OsStr::new("--overwrite")]).expect(3);
    assert_snapshot!(run.err_without(site.folder()), @"error: FOLDER/out is not removed, because it holds files that this program did not write there: notes.txt; move them away or name another folder");
    assert_eq!(names_in(&site.file("out")), ["notes.txt"]);
}

#[test]
fn an_output_that_is_a_file_or_lies_below_one() {
    let site = Site::sound();
    std::fs::write(site.file("out"), "a file").unwrap();
    assert_snapshot!(site.run("map").expect(3).err_without(site.folder()), @"error: the output folder FOLDER/out is a file; a folder is needed");
    let project = site.project();
    let below = site.file("out/deeper");
    let run = groundfit([
        "map".as_ref(),
        project.as_os_str(),
        OsStr::new("--output"),
        below.as_os_str(),
    ])
    .expect(3);
    assert_snapshot!(run.err_without(site.folder()), @"error: could not write FOLDER/out/deeper.partial: File exists (os error 17)");
    assert_eq!(std::fs::read(site.file("out")).unwrap(), b"a file");
}

#[test]
fn a_place_that_cannot_be_written() {
    let site = Site::sound();
    let project = site.project();
    // Nobody, not even the system's own user, can make a folder there.
    let run = groundfit([
        "map".as_ref(),
        project.as_os_str(),
        OsStr::new("--output"),
        OsStr::new("/proc/groundfit-out"),
    ])
    .expect(3);
    assert!(
        run.err.starts_with("error: the disk of /proc has 0 MB free"),
        "{}",
        run.err
    );
}

#[test]
fn a_full_disk() {
    let site = Site::sound();
    let project = site.project();
    let before = names_in(site.folder());
    // A limit on the size of files stands for the full disk: one block of 512 bytes,
    // and 40 kB, in the middle of the GeoPackage.
    for blocks in ["1", "80"] {
        let line = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"");
        let run = through_shell(&line, &["map".as_ref(), project.as_os_str()]).expect(3);
        assert!(run.err.starts_with("error: could not write "), "{}", run.err);
        assert!(run.err.contains("out.partial/"), "{}", run.err);
        assert_eq!(names_in(site.folder()), before);
    }
}

#[test]
fn a_reader_that_has_seen_enough_is_no_error() {
    let site = Site::sound();
    let project = site.project();
    let run = through_shell(
        "\"$0\" \"$@\" | head -1 > /dev/null",
        &["check".as_ref(), project.as_os_str()],
    );
    assert_eq!((run.code, run.err.as_str()), (Some(0), ""));
}
