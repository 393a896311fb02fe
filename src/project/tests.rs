//! The whole file: all problems at once, defaults, and texts nobody would write.

use std::path::Path;

use super::{Problem, Project, ProjectError, Units, Width, ZoneSection};

/// Everything a project needs, in a folder that has the files.
const VALID: &str = include_str!("../../tests/corpus/project/valid.toml");
const BROKEN: &str = include_str!("../../tests/corpus/project/broken.toml");

const FILES: [&str; 9] = [
    "boundary.geojson",
    "soils.gpkg",
    "canopy.tif",
    "elevation.tif",
    "roads.geojson",
    "litter.tif",
    "catalogue/species.csv",
    "catalogue/tolerances.csv",
    "catalogue/sources.csv",
];

/// A folder with the files of a site, all of them empty.
pub(in crate::project) fn site() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("catalogue")).unwrap();
    for file in FILES {
        std::fs::write(folder.path().join(file), "").unwrap();
    }
    std::fs::write(folder.path().join("litter-words.csv"), "word,class\nL1,thin\n").unwrap();
    folder
}

pub(in crate::project) fn problems_of(text: &str, folder: &Path) -> Vec<Problem> {
    match Project::parse(text, &folder.join("project.toml")) {
        Ok(_) => Vec::new(),
        Err(ProjectError::Problems { problems, .. }) => problems,
        Err(error) => panic!("{error}"),
    }
}

#[test]
fn every_problem_of_a_broken_file_is_told_at_once() {
    let error = Project::parse(BROKEN, Path::new("no-such-site/project.toml")).unwrap_err();
    insta::assert_snapshot!(error.to_string(), @r##"
    54 problems in project file no-such-site/project.toml
      no-such-site/project.toml:1:1: titel: no such key; nearest is `title`
      no-such-site/project.toml:2:9: units: found `metrics`, needed one of `metric`, `us`; nearest is `metric`
      no-such-site/project.toml:5:1: area.boundry: no such key; nearest is `boundary`
      no-such-site/project.toml:6:7: area.crs: found an empty text, needed some text
      no-such-site/project.toml:7:10: area.cell_m: found -5, needed a number above 0
      no-such-site/project.toml:8:1: area.grid: no such key; nearest is `grid_crs`
      no-such-site/project.toml:10:2: catalog: no such key; nearest is `catalogue`
      no-such-site/project.toml:13:10: factors.dranaige: no standard factor is called `dranaige`; nearest is `drainage`; a factor of your own needs `kind` (`measured` or `classes`)
      no-such-site/project.toml:14:9: factors.dranaige.layer: no such file: `soils.gpkg`; there is no folder no-such-site
      no-such-site/project.toml:18:8: factors.drainage.kind: found `kind` for the standard factor `drainage`, which is in the classes `excessively drained` to `very poorly drained`: take it out, or give the factor another name
      no-such-site/project.toml:19:9: factors.drainage.layer: no such file: `soils.gpkg`; there is no folder no-such-site
      no-such-site/project.toml:21:16: factors.drainage.words.WD: found the class `wel drained`, needed a class of `drainage`; nearest is `well drained`
      no-such-site/project.toml:21:35: factors.drainage.words.3: found the number 7, needed the name of a class
      no-such-site/project.toml:22:8: factors.drainage.unit: found a unit for the classes of `drainage`, needed none (cuts are in the layer's own unit)
      no-such-site/project.toml:26:13: factors.canopy.elevation: found `elevation` beside `layer`, needed only one way to get the factor
      no-such-site/project.toml:27:8: factors.canopy.unit: found the unit `ft`, needed one that converts to %: `%`, `fraction`
      no-such-site/project.toml:28:11: factors.canopy.missing: found `ignored`, needed one of `unknown`, `ignore`; nearest is `ignore`
      no-such-site/project.toml:29:17: factors.canopy.stands_in_for: found `sun_hour`, needed a factor; nearest is `sun_hours`
      no-such-site/project.toml:31:10: factors.ph: missing; one of `layer`, `elevation`, `distance_to`, `from`, `limit` must be given
      no-such-site/project.toml:33:8: factors.ph.band: found 0, needed a whole number from 1 to 65535
      no-such-site/project.toml:36:13: factors.slope.elevation: no such file: `elevation.tif`; there is no folder no-such-site
      no-such-site/project.toml:37:17: factors.slope.vertical_unit: found the unit `yards`, needed one that converts to m: `m`, `cm`, `ft`, `US survey ft`, `km`
      no-such-site/project.toml:38:10: factors.slope.filter: found `filter` with a slope computed from `elevation`, needed polygons (a `layer` with `attribute`) or a distance (`distance_to`) or a limit (`limit`)
      no-such-site/project.toml:39:8: factors.slope.date: found `last summer`, needed a date like 2019, "2019-06" or 2019-06-30
      no-such-site/project.toml:42:15: factors.spray_salt.distance_to: no such file: `roads.geojson`; there is no folder no-such-site
      no-such-site/project.toml:46:24: factors.spray_salt.cuts[2].class: found the class `havy`, needed a class of `spray_salt`; nearest is `heavy`
      no-such-site/project.toml:47:12: factors.spray_salt.cuts[3].to: found 15, needed more than 20, the cut before
      no-such-site/project.toml:47:36: factors.spray_salt.cuts[3].form: no such key; valid are `class`, `to`
      no-such-site/project.toml:48:5: factors.spray_salt.cuts[4]: found a cut without `to` before the last one, needed `to`, where it ends
      no-such-site/project.toml:49:5: factors.spray_salt.cuts[5]: found `to = 40` in the last cut, needed a last one without `to`, for all that lies beyond
      no-such-site/project.toml:52:10: factors.aspect.reach_m: missing; it must be given
      no-such-site/project.toml:53:15: factors.aspect.distance_to: found a distance for `aspect`, needed a factor measured in m (it is measured in deg)
      no-such-site/project.toml:53:15: factors.aspect.distance_to: found the web address `https://example.org/roads.geojson`, needed a path; write `/vsicurl/https://example.org/roads.geojson`
      no-such-site/project.toml:57:11: factors.canopy_gap.classes: found 1 class, needed 2 to 1000
      no-such-site/project.toml:58:9: factors.canopy_gap.layer: no such file: `gaps.tif`; there is no folder no-such-site
      no-such-site/project.toml:61:10: factors.`Litter depth`: found the name `Litter depth`, needed a name of small letters, digits and `_` that starts with a letter
      no-such-site/project.toml:64:9: factors.`Litter depth`.layer: no such file: `litter.tif`; there is no folder no-such-site
      no-such-site/project.toml:65:12: factors.`Litter depth`.decisive: found the text `yes`, needed true or false
      no-such-site/project.toml:69:9: exclude[1].layer: no such file: `roads.geojson`; there is no folder no-such-site
      no-such-site/project.toml:71:19: exclude[1].width_attribute: found `width_m` and `width_attribute`, needed only one of them
      no-such-site/project.toml:74:8: exclude[2].name: found a second exclude called `pavement`, needed a name of its own for each
      no-such-site/project.toml:75:9: exclude[2].layer: found a list, needed text in quotes
      no-such-site/project.toml:76:13: exclude[2].setback_m: found -1, needed a number, 0 or more
      no-such-site/project.toml:79:8: rating.rule: found `limitng`, needed one of `limiting`, `geometric`, `square-root`, `product`; nearest is `limiting`
      no-such-site/project.toml:80:12: rating.at_least: found `N1`, needed one of `S1`, `S2`, `S3`
      no-such-site/project.toml:81:27: rating.limits.S2: found 1.5, needed a number above 0 and at most 1
      no-such-site/project.toml:82:23: rating.weights.drainag: found a weight for `drainag`, needed a factor of this project; nearest is `drainage`
      no-such-site/project.toml:82:35: rating.weights.canopy: found the number 0, needed a number above 0
      no-such-site/project.toml:85:8: zones.vote: found 11, needed a whole number from 0 to 10
      no-such-site/project.toml:86:1: zones.smallest: no such key; nearest is `smallest_ha`
      no-such-site/project.toml:87:12: zones.fidelity: found 90, needed a number from 0 to 1
      no-such-site/project.toml:88:10: zones.number: found the number 2.5, needed a whole number, 1 or more
      no-such-site/project.toml:91:10: outputs.folder: found an output folder (no-such-site/.) that holds the input no-such-site/project.toml, needed a folder for the outputs alone
      no-such-site/project.toml:92:11: outputs.ratings: found the number 1, needed true or false
    "##);
}

#[test]
fn a_project_with_every_section_is_read() {
    let site = site();
    let path = site.path().join("project.toml");
    std::fs::write(&path, VALID).unwrap();
    let project = Project::read(&path).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(project.title.as_deref(), Some("An invented meadow"));
    assert_eq!(project.units, Units::Us);
    assert_eq!(project.area.boundary.path, site.path().join("boundary.geojson"));
    assert_eq!(project.area.boundary.as_written, "boundary.geojson");
    assert_eq!(project.area.boundary.sublayer.as_deref(), Some("boundary"));
    assert_eq!(project.area.cell_m, Some(5.0));
    assert_eq!(
        project.catalogue.own.as_ref().unwrap().tolerances,
        site.path().join("catalogue/tolerances.csv")
    );
    assert_eq!(project.catalogue.leave_out, ["carex-stricta"]);
    assert_eq!(
        project.exclude[0].width,
        Some(Width::Attribute("width_m".to_owned()))
    );
    assert_eq!(project.exclude[0].setback_m, 1.5);
    assert_eq!(project.exclude[1].width, Some(Width::Metres(2.0)));
    assert_eq!(project.zones.number, Some(12));
    assert_eq!(project.zones.smallest_ha, 0.0);
    assert_eq!(project.zones.simplify_m, Some(0.0));
    assert_eq!(project.outputs.folder, site.path().join("results"));
    assert!(project.outputs.ratings && project.outputs.all_rows);
    let names: Vec<&str> = project
        .factors
        .iter()
        .map(|section| section.factor.id.as_str())
        .collect();
    let in_order = [
        "drainage",
        "ph",
        "canopy",
        "slope",
        "spray_salt",
        "distance",
        "litter",
    ];
    assert_eq!(names, in_order);
    assert_eq!(project.layers().count(), 10);
}

#[test]
fn what_is_not_given_has_its_usual_value() {
    let site = site();
    let text = "[area]\nboundary = \"boundary.geojson\"\n[catalogue]\nfolder = \"catalogue\"\n\
        [factors.ph]\nlayer = \"canopy.tif\"\n";
    let project = Project::parse(text, &site.path().join("project.toml")).unwrap();
    assert_eq!(project.units, Units::Metric);
    assert_eq!(project.zones, ZoneSection::default());
    assert_eq!(project.outputs.folder, site.path().join("out"));
    assert_eq!(project.area.cell_m, None);
    assert!(project.exclude.is_empty() && project.title.is_none());
}

#[test]
fn decisive_factors_left_out_are_told_unless_a_stand_in_is_there() {
    let site = site();
    let text = "[area]\nboundary = \"boundary.geojson\"\n[catalogue]\nfolder = \"catalogue\"\n\
        [factors.drainage]\nlayer = \"canopy.tif\"\n[factors.sun_hours]\nlayer = \"canopy.tif\"\n";
    let project = Project::parse(text, &site.path().join("project.toml")).unwrap();
    let left_out: Vec<String> = project
        .left_out_decisive()
        .into_iter()
        .map(|factor| factor.id)
        .collect();
    assert_eq!(left_out, ["ph", "soil_salinity", "spray_salt"]);
}

#[test]
fn a_misspelt_needed_key_is_one_problem() {
    let text = VALID.replace("boundary = \"boundary", "boundry = \"boundary");
    let site = site();
    let found = problems_of(&text, site.path());
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(
        found[0].to_string(),
        "6:1: area.boundry: no such key; nearest is `boundary`"
    );
}

#[test]
fn a_missing_file_is_told_with_its_nearest_neighbour() {
    let text = VALID.replace("\"canopy.tif\"", "\"canpoy.tif\"");
    let site = site();
    let found = problems_of(&text, site.path());
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].key, "factors.canopy.layer");
    assert!(found[0].text.starts_with("no such file: `canpoy.tif` in folder "));
    assert!(found[0].text.ends_with("; nearest there is `canopy.tif`"));
}

#[test]
fn paths_for_gdal_and_absolute_paths_stay_as_they_are() {
    let site = site();
    let elsewhere = tempfile::tempdir().unwrap();
    let layer = elsewhere.path().join("ph.tif");
    std::fs::write(&layer, "").unwrap();
    let text = format!(
        "[area]\nboundary = \"/vsizip/a.zip/b.shp\"\n[catalogue]\nfolder = \"catalogue\"\n\
         [factors.ph]\nlayer = '{}'\n",
        layer.display()
    );
    let project = Project::parse(&text, &site.path().join("project.toml")).unwrap();
    assert_eq!(project.area.boundary.path, Path::new("/vsizip/a.zip/b.shp"));
    assert_eq!(project.factors[0].source.layer().unwrap().path, layer);
}

#[test]
fn an_archive_in_the_projects_folder_is_found_from_anywhere() {
    let site = site();
    let inner = site.path().join("data");
    std::fs::create_dir(&inner).unwrap();
    std::fs::write(inner.join("a.zip"), "").unwrap();
    std::fs::write(inner.join("b.archive"), "").unwrap();
    let opened = |written: &str| {
        let text = format!(
            "[area]\nboundary = \"{written}\"\n[catalogue]\nfolder = \"catalogue\"\n[factors.ph]\nlayer = 'canopy.tif'\n"
        );
        Project::parse(&text, &site.path().join("project.toml"))
            .unwrap()
            .area
            .boundary
            .path
    };
    let folder = site.path().display();
    for (written, path) in [
        (
            "/vsizip/data/a.zip/b.shp",
            format!("/vsizip/{folder}/data/a.zip/b.shp"),
        ),
        (
            "/vsizip/{data/b.archive}/b.shp",
            format!("/vsizip/{{{folder}/data/b.archive}}/b.shp"),
        ),
        (
            "/vsizip/data/none.zip/b.shp",
            "/vsizip/data/none.zip/b.shp".to_owned(),
        ),
        (
            "/vsizip//data/a.zip/b.shp",
            "/vsizip//data/a.zip/b.shp".to_owned(),
        ),
    ] {
        assert_eq!(opened(written), Path::new(&path), "{written}");
    }
}

#[test]
fn an_output_folder_must_not_hold_an_input() {
    let site = site();
    for folder in [".", "..", "catalogue", "out/../catalogue", "catalogue/.."] {
        let text = VALID.replace("\"results\"", &format!("\"{folder}\""));
        let found = problems_of(&text, site.path());
        assert_eq!(found.len(), 1, "{folder}: {found:?}");
        assert_eq!(found[0].key, "outputs.folder");
    }
    let text = VALID.replace("\"results\"", "\"catalogue/results\"");
    assert_eq!(problems_of(&text, site.path()), []);
}

#[test]
fn a_folder_of_outputs_that_is_a_file_is_told() {
    let site = site();
    let text = VALID.replace("\"results\"", "\"soils.gpkg\"");
    let found = problems_of(&text, site.path());
    assert!(found[0].text.contains("needed a folder"), "{found:?}");
}

#[test]
fn a_broken_line_is_told_with_the_problems_of_the_others() {
    let site = site();
    let text = VALID
        .replace("cell_m = 5", "cell_m = 5 m")
        .replace("vote = 2", "vote = 2\nvote = 3")
        .replace("fidelity = 0.95", "fidelty = 0.95");
    let found = problems_of(&text, site.path());
    let told: Vec<(usize, &str)> = found
        .iter()
        .map(|problem| (problem.line, problem.key.as_str()))
        .collect();
    assert_eq!(told, [(11, ""), (86, ""), (88, "zones.fidelty")]);
    assert!(found[0].text.starts_with("not valid TOML: "), "{}", found[0]);
    assert!(found[1].text.contains("duplicate key"), "{}", found[1]);
}

#[test]
fn a_list_without_an_end_is_told_once() {
    let site = site();
    let text = VALID.replace(
        "leave_out = [\"carex-stricta\"]",
        "leave_out = [\"carex-stricta\",",
    );
    let found = problems_of(&text, site.path());
    assert_eq!(found.len(), 1, "{found:?}");
}

#[test]
fn a_file_that_is_no_utf8_is_told_with_its_line() {
    let site = site();
    let path = site.path().join("project.toml");
    std::fs::write(&path, b"[area]\n# caf\xe9\n").unwrap();
    let error = Project::read(&path).unwrap_err();
    assert!(
        error
            .to_string()
            .contains(":2:6: found a letter that is not UTF-8"),
        "{error}"
    );
    std::fs::remove_file(&path).unwrap();
    let error = Project::read(&path).unwrap_err();
    assert!(matches!(error, ProjectError::Unreadable { .. }));
}

/// A project in `folder` with this one factor.
pub(in crate::project) fn parse_in(folder: &Path, factor: &str, keys: &str) -> Result<Project, ProjectError> {
    let text = format!(
        "[area]\nboundary = \"boundary.geojson\"\n[catalogue]\nfolder = \"catalogue\"\n[factors.{factor}]\n{keys}\n"
    );
    Project::parse(&text, &folder.join("project.toml"))
}

pub(in crate::project) fn project_with(factor: &str, keys: &str) -> Project {
    parse_in(site().path(), factor, keys).unwrap_or_else(|error| panic!("{error}"))
}

pub(in crate::project) fn first_problem(factor: &str, keys: &str) -> String {
    match parse_in(site().path(), factor, keys) {
        Err(ProjectError::Problems { problems, .. }) => problems[0].to_string(),
        Err(error) => panic!("{error}"),
        Ok(_) => panic!("nothing wrong with {factor}: {keys}"),
    }
}
