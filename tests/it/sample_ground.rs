//! The sample's project of sun, the shape of the ground, limits and setbacks, run as it
//! stands. What keeps plants low and what is left out is held against the record.

use crate::program::{groundfit, map, sample, sample_copy};

#[test]
fn the_ground_of_the_sample_maps_and_tells_its_limit_and_excludes() {
    let (folder, _) = sample_copy();
    let project = folder.path().join("ground.toml");
    let output = folder.path().join("mapped");
    map(&project, &output, &[]).expect(0);
    let record = std::fs::read_to_string(output.join("run.json")).unwrap();
    let record: serde_json::Value = serde_json::from_str(&record).unwrap();
    let area = |list: &str, cause: &str| {
        let all = record[list].as_array().unwrap();
        let one = all
            .iter()
            .find(|one| one["cause"].as_str().unwrap().contains(cause));
        one.unwrap()["area_m2"].as_f64().unwrap()
    };
    // 12 m along the lane are under the line, of which the
    // pavement and its edge take 10 m.
    let limited = area("limited", "under_lines");
    assert!((100.0..5_000.0).contains(&limited), "{limited}");
    assert!(area("not_rated", "pavement and its edge") > 20_000.0);
    assert!(area("not_rated", "pond and its shore") > 4_000.0);
    let zones = std::fs::read_to_string(output.join("zones.geojson")).unwrap();
    for factor in ["sun_hours", "heat_load", "wetness_index"] {
        assert!(zones.contains(&format!("\"ground_{factor}\":")), "{factor}");
    }
}

#[test]
fn under_the_sample_s_line_trees_do_not_suit_and_low_shrubs_are_not_kept_off() {
    let project = sample().join("ground.toml");
    let limits_at = |x: &str, y: &str, species: &str| {
        let run = groundfit([
            "why",
            project.to_str().unwrap(),
            x,
            y,
            "--species",
            species,
            "--json",
        ]);
        let told = run.expect(0).json();
        let answers = told["species"][0]["answers"].as_array().unwrap().clone();
        answers
            .iter()
            .any(|answer| answer["factor"] == "under_lines" && answer["limits"] == true)
    };
    let (x, y) = ("432287.5", "4987632.5");
    assert!(limits_at(x, y, "acer-saccharum"));
    assert!(!limits_at(x, y, "dasiphora-fruticosa"));
}
