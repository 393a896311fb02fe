//! Other numbers of zones than a run chose: cut from its files, or asked for and not
//! to be had.

use crate::output_files::OutputFiles;
use crate::program::{files_below, groundfit, map, sample_copy};
use crate::whole_job::job;

#[test]
fn another_number_of_zones_is_cut_without_a_new_run() {
    let job = job();
    let folder = tempfile::tempdir().unwrap();
    let before = files_below(&job.output.folder);
    let project = job.project.display().to_string();
    let from = job.output.folder.display().to_string();
    let cut = |number: &str, into: &str| {
        let target = folder.path().join(into).display().to_string();
        groundfit([
            "zones", &project, "--from", &from, "--number", number, "--output", &target, "--json",
        ])
    };
    let told = cut("30", "thirty").expect(0);
    assert_eq!(told.json()["counts"]["zones"], 30);
    let thirty = OutputFiles::at(&folder.path().join("thirty"));
    let zones = thirty.zones();
    assert_eq!(zones.len(), 30);
    let area_ha: f64 = zones.iter().map(|zone| zone.area_ha).sum();
    let whole_ha: f64 = job.output.zones().iter().map(|zone| zone.area_ha).sum();
    assert!((area_ha - whole_ha).abs() < 1e-6);
    assert_eq!(files_below(&job.output.folder), before);

    let refused = cut("1", "one").expect(1);
    assert!(!folder.path().join("one").exists());
    let least: String = refused
        .err
        .chars()
        .skip_while(|letter| !letter.is_ascii_digit())
        .collect();
    assert!(refused.err.starts_with("error: "), "{}", refused.err);
    assert!(!least.is_empty(), "{}", refused.err);
    // The number it names is one that can be had.
    let named: Vec<u32> = refused
        .err
        .split(|letter: char| !letter.is_ascii_digit())
        .filter_map(|word| word.parse().ok())
        .filter(|&number| number > 1)
        .collect();
    assert_eq!(named.len(), 1, "{}", refused.err);
    cut(&named[0].to_string(), "least").expect(0);
    cut(&(named[0] - 1).to_string(), "under").expect(1);
}

/// A project that asks for fewer zones than `keep` allows gets the fewest there are,
/// and is told: a long run is not lost for it.
#[test]
fn a_number_out_of_reach_gives_the_fewest_zones_and_is_told() {
    let (_folder, project) = sample_copy();
    let text = std::fs::read_to_string(&project).unwrap();
    assert!(text.contains("\nfidelity = 0.97"));
    std::fs::write(&project, text.replace("\nfidelity = 0.97", "\nnumber = 1 #")).unwrap();
    let out = project.with_file_name("fewest");
    let run = map(&project, &out, &["--json"]).expect(0);
    let zones = run.json()["counts"]["zones"].as_u64().unwrap();
    assert!(zones > 1);
    let told = format!("1 zone was asked for, and {zones} are the fewest");
    let warnings = run.json()["warnings"].to_string();
    assert!(warnings.contains(&told), "{warnings}");
}
