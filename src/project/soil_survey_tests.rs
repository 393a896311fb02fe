//! `[soil_survey]`: its defaults, what it refuses, and what factors may be drawn from it.

use super::tests::site;
use super::{Columns, FactorSource, Project, ProjectError, SurveyTable};
use crate::soil::{Reading, SoilFactor};

fn parse(survey: &str, factors: &str, rest: &str) -> Result<Project, String> {
    let folder = site();
    let text = format!(
        "[area]\nboundary = \"boundary.geojson\"\n[catalogue]\nfolder = \"catalogue\"\n{survey}\n{factors}\n{rest}"
    );
    match Project::parse(&text, &folder.path().join("project.toml")) {
        Ok(project) => Ok(project),
        Err(ProjectError::Problems { problems, .. }) => {
            let texts = problems
                .iter()
                .map(|problem| format!("{}: {}", problem.key, problem.text));
            Err(texts.collect::<Vec<_>>().join("\n"))
        }
        Err(error) => panic!("{error}"),
    }
}

const SURVEY: &str = "[soil_survey]\npolygons = \"soils.gpkg\"\ndepth_cm = 50\n";
const PH: &str = "[factors.ph]\nfrom = \"soil survey\"\n";

#[test]
fn each_soil_by_itself_is_usual_and_adds_the_map_unit_as_last_factor() {
    let project = parse(SURVEY, PH, "").unwrap();
    let survey = project.soil_survey.as_ref().unwrap();
    assert_eq!(survey.reading, Reading::EachComponent);
    assert_eq!(survey.suits_share, 0.5);
    assert_eq!(survey.tables, survey.polygons.path);
    assert_eq!(project.survey_tables(), None);
    assert_eq!(survey.columns, Columns::united_states());
    let last = project.factors.last().unwrap();
    assert!(matches!(
        last.source,
        FactorSource::SoilSurvey {
            of: SoilFactor::MapUnit,
            ..
        }
    ));
    // The catalogue has nothing to say of it.
    let known = project.known_factors();
    assert!(known.iter().all(|factor| factor.id != "map_unit"));

    let main = SURVEY.to_owned() + "reading = \"main component\"\n";
    assert_eq!(parse(&main, PH, "").unwrap().factors.len(), 1);
    // A survey that nothing is drawn from changes nothing.
    let canopy = "[factors.canopy]\nlayer = \"canopy.tif\"\n";
    assert_eq!(parse(SURVEY, canopy, "").unwrap().factors.len(), 1);
}

#[test]
fn what_cannot_be_is_told_with_what_is_needed() {
    for (survey, factors, rest, expected) in [
        (
            "",
            PH,
            "",
            "factors.ph.from: found no soil survey in this project, needed a table `[soil_survey]`",
        ),
        (
            "[soil_survey]\npolygons = \"soils.gpkg\"\n",
            PH,
            "",
            "soil_survey.depth_cm: missing; it must be given",
        ),
        (
            SURVEY,
            "[factors.canopy]\nfrom = \"soil survey\"\n",
            "",
            "factors.canopy.from: found `canopy`, which no soil survey tells, needed one of `drainage`",
        ),
        (
            SURVEY,
            "[factors.ph]\nfrom = \"soil servey\"\n",
            "",
            "factors.ph.from: found `soil servey`, needed one of `road_salt`, `soil survey`; nearest is `soil survey`",
        ),
        (
            SURVEY,
            "[factors.ph]\nfrom = \"soil survey\"\ncrs = \"EPSG:26915\"\n",
            "",
            "factors.ph.crs: found `crs` beside `from`, needed it in `[soil_survey]`, which names the polygons",
        ),
        (
            SURVEY,
            "[factors.ph]\nfrom = \"road_salt\"\n",
            "",
            "factors.ph.from: found `road_salt` for `ph`, needed one of `spray_salt`, `spray_dose`, `soil_salinity`",
        ),
        (
            SURVEY,
            "[factors.ph]\nfrom = \"soil survey\"\nunit = \"pH\"\n",
            "",
            "factors.ph.unit: found a unit for a computed value, needed none",
        ),
        (
            SURVEY,
            PH,
            "[rating]\nrule = \"geometric\"\n",
            "soil_survey: found the rule `geometric` with soils rated one by one (`each component`), needed `limiting`",
        ),
        (
            &(SURVEY.to_owned() + "suits_share = 0\n"),
            PH,
            "",
            "soil_survey.suits_share: found 0, needed a number above 0 and up to 1",
        ),
        (
            &(SURVEY.to_owned() + "wetter_from = 9\n"),
            PH,
            "",
            "soil_survey.wetter_from: found one of `drier_below` and `wetter_from`, needed both or none",
        ),
        (
            &(SURVEY.to_owned() + "drier_below = 10\nwetter_from = 9\n"),
            PH,
            "",
            "soil_survey.drier_below: found 10, needed at most `wetter_from` (9)",
        ),
        (
            &(SURVEY.to_owned() + "[soil_survey.horizons]\nsand = \"sandtotal_h\"\n"),
            PH,
            "",
            "soil_survey.horizons.sand: no such key: `sand`; nearest is",
        ),
        (
            &(SURVEY.to_owned() + "structure = \"own\"\n[soil_survey.components]\nunit = \"u\"\n"),
            PH,
            "",
            "soil_survey: `share_pct` of `components` is missing; a survey with `structure = \"own\"` must name that column",
        ),
        (
            SURVEY,
            "[factors.map_unit]\nkind = \"measured\"\nunit = \"cm\"\nlayer = \"canopy.tif\"\n[factors.ph]\nfrom = \"soil survey\"\n",
            "",
            "soil_survey: found a factor called `map_unit`, needed another name",
        ),
    ] {
        let told = parse(survey, factors, rest).unwrap_err();
        assert!(told.contains(expected), "{expected}\n\n{told}");
    }
}

#[test]
fn a_survey_and_salted_roads_stand_side_by_side() {
    let factors =
        "[factors.drainage]\nfrom = \"soil survey\"\n[factors.soil_salinity]\nfrom = \"road_salt\"\n";
    let roads = "[road_salt]\nroads = \"roads.geojson\"\nclass_attribute = \"class\"\nwinter_wind_from = \"NW\"\n[road_salt.root_zone]\nwater_surplus_mm = 200\nwater_surplus_source = \"invented\"\n";
    let project = parse(SURVEY, factors, roads).unwrap();
    let (drainage, salinity) = (&project.factors[0].source, &project.factors[1].source);
    assert!(matches!(
        drainage,
        FactorSource::SoilSurvey {
            of: SoilFactor::Drainage,
            ..
        }
    ));
    assert_eq!(*salinity, FactorSource::RoadSalt);
    let names: Vec<String> = project.layers().map(|(name, _)| name).collect();
    assert!(names.contains(&"road_salt.roads".to_owned()), "{names:?}");
    assert!(names.contains(&"factors.drainage".to_owned()), "{names:?}");
}

#[test]
fn the_words_of_a_broken_survey_do_not_make_its_factors_wrong_too() {
    let told = parse(
        "[soil_survey]\npolygons = \"soils.gpkg\"\ndepth_cm = -1\n",
        PH,
        "",
    )
    .unwrap_err();
    let needed = "a number of centimetres above 0 and up to 500: surveys tell of two metres or so";
    assert_eq!(told, format!("soil_survey.depth_cm: found -1, needed {needed}"));
}

#[test]
fn a_table_by_another_name_keeps_the_usual_columns() {
    let survey = SURVEY.to_owned() + "[soil_survey.horizons]\ntable = \"layers\"\nph = \"ph01mcacl2_r\"\n";
    let project = parse(&survey, PH, "").unwrap();
    let columns = project.soil_survey.unwrap().columns;
    assert_eq!(columns.table(SurveyTable::Horizons), Some("layers"));
    assert_eq!(columns.column(SurveyTable::Horizons, "ph"), Some("ph01mcacl2_r"));
    assert!(columns.is_given(SurveyTable::Horizons, "ph"));
    assert_eq!(columns.column(SurveyTable::Horizons, "top_cm"), Some("hzdept_r"));
    assert!(!columns.is_given(SurveyTable::Horizons, "top_cm"));
}
