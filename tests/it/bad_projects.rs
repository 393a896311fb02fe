//! Project files with mistakes: every one is told at once, with its line and the
//! nearest valid name.

use insta::assert_snapshot;

use crate::program::groundfit;
use crate::small_site::Site;

#[test]
fn misspelt_keys_missing_layers_and_wrong_units_are_told_at_once() {
    let mut site = Site::sound();
    site.area = site
        .area
        .replace("grid_crs", "grid_csr")
        .replace("cell_m = 10", "cell_m = \"10 m\"");
    site.factors = site
        .factors
        .replace("canopy.tif\"", "canopi.tif\"\nunit = \"feet\"");
    site.more =
        "[rating]\nat_least = \"S7\"\nlimits = { S1 = 0.5, S2 = 0.6, S3 = 0.4 }\n\n[zoans]\nvote = 2\n"
            .to_owned();
    assert_snapshot!(site.refusal(1), @r"
    error: 7 problems in project file FOLDER/project.toml
      FOLDER/project.toml:3:1: area.grid_csr: no such key; nearest is `grid_crs`
      FOLDER/project.toml:4:10: area.cell_m: found the text `10 m`, needed a number above 0
      FOLDER/project.toml:13:9: factors.canopy.layer: no such file: `canopi.tif` in folder FOLDER; nearest there is `canopy.tif`
      FOLDER/project.toml:14:8: factors.canopy.unit: found the unit `feet`, needed one that converts to %: `%`, `fraction`
      FOLDER/project.toml:17:12: rating.at_least: found `S7`, needed one of `S1`, `S2`, `S3`
      FOLDER/project.toml:18:10: rating.limits: found S1 = 0.5, S2 = 0.6, S3 = 0.4, needed 1 >= S1 > S2 > S3 > 0 (what is not given is that of the rule `limiting`)
      FOLDER/project.toml:20:2: zoans: no such key; valid are `area`, `factors`, `title`, `units`, `catalogue`, `soil_survey`, `road_salt`, `exclude`, `range`, `rating`, `zones`, `outputs`
    try: mend the lines above; `groundfit new FOLDER` writes a project file that explains every key
    ");
}

#[test]
fn a_file_that_is_no_toml() {
    let site = Site::sound();
    let path = site.project();
    std::fs::write(&path, "[area]\nboundary = \n[catalogue\n").unwrap();
    let run = groundfit(["map".as_ref(), path.as_os_str()]).expect(1);
    assert_snapshot!(run.err_without(site.folder()), @r"
    error: 1 problem in project file FOLDER/project.toml
      FOLDER/project.toml:3:11: not valid TOML: unclosed table, expected `]`
    try: mend the lines above; `groundfit new FOLDER` writes a project file that explains every key
    ");
}

#[test]
fn a_file_that_is_not_there() {
    let site = Site::sound();
    let path = site.file("projekt.toml");
    let run = groundfit(["map".as_ref(), path.as_os_str()]).expect(3);
    assert_snapshot!(run.err_without(site.folder()), @r"
    error: project file FOLDER/projekt.toml could not be read
    caused by: No such file or directory (os error 2)
    try: check the path; `groundfit new FOLDER` writes a project file that explains every key
    ");
}

#[test]
fn class_limits_out_of_order() {
    let mut site = Site::sound();
    site.more = "[rating]\nlimits = { S1 = 0.6, S2 = 0.85, S3 = 0.4 }\n".to_owned();
    assert_snapshot!(site.refusal(1), @r"
    error: 1 problem in project file FOLDER/project.toml
      FOLDER/project.toml:16:10: rating.limits: found S1 = 0.6, S2 = 0.85, S3 = 0.4, needed 1 >= S1 > S2 > S3 > 0 (what is not given is that of the rule `limiting`)
    try: mend the lines above; `groundfit new FOLDER` writes a project file that explains every key
    ");
}
