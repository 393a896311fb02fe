//! Small surveys of delimited text beside GeoJSON polygons, opened whole.

use std::path::Path;

use tempfile::TempDir;

use crate::grid::CellIndex;
use crate::project::Project;
use crate::site::{Sections, Site, SiteError};

const SOUTH: f64 = 44.9709;
const WEST: f64 = -93.887;

/// A square of 0.001 degrees, the so-and-so-many-th from the west.
fn square(properties: &str, number: u32) -> String {
    let (west, south) = (WEST + 0.001 * f64::from(number), SOUTH);
    let (east, north) = (west + 0.001, south + 0.001);
    format!(
        "{{\"type\":\"Feature\",\"properties\":{{{properties}}},\"geometry\":{{\"type\":\"Polygon\",\"coordinates\":[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]}}}}"
    )
}

fn layer(folder: &Path, name: &str, features: &[String]) {
    let text = format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{}]}}",
        features.join(",")
    );
    std::fs::write(folder.join(name), text).unwrap();
}

const COMPONENTS: &str = "mukey,cokey,comppct_r,compname,compkind,drainagecl
007,a,60,Dune,Series,Excessively drained
007,b,40,Marsh,Series,Very poorly drained
08,c,70,Loam,Series,Well drained
08,d,30,Urban land,Miscellaneous area,
";
const HORIZONS: &str =
    "cokey,hzdept_r,hzdepb_r,sandtotal_r,silttotal_r,claytotal_r,om_r,ph1to1h2o_r,ec_r,caco3_r,awc_r
a,0,20,90,7,3,1,6,0,0,0.06
a,20,150,95,3,2,0.2,7,0,2,0.04
c,0,30,40,40,20,4,6.5,0,0,0.2
c,30,150,35,40,25,1,7.5,1,10,0.18
";
const MONTHS: &str = "comonthkey,cokey,month,flodfreqcl,pondfreqcl
1,b,April,None,Frequent
2,b,May,,Occasional
3,c,April,Rare,None
";
const WET: &str = "comonthkey,soimoistdept_r,soimoiststat
1,0,Wet
1,30,Moist
2,20,Wet
3,80,Moist
";
const RESTRICTIONS: &str = "cokey,resdept_r,reskind\nc,120,Lithic bedrock\n";

/// A site of two squares and its survey: 007 in the west and 08 in the east.
struct SmallSurvey {
    folder: TempDir,
    polygons: [String; 2],
    components: String,
    horizons: String,
    settings: String,
}

impl SmallSurvey {
    fn new() -> SmallSurvey {
        let folder = tempfile::tempdir().unwrap();
        for file in ["species.csv", "tolerances.csv", "sources.csv"] {
            std::fs::write(folder.path().join(file), "").unwrap();
        }
        std::fs::create_dir(folder.path().join("tabular")).unwrap();
        layer(folder.path(), "b.geojson", &[square("", 0), square("", 1)]);
        SmallSurvey {
            folder,
            polygons: ["\"MUKEY\":\"007\"".to_owned(), "\"MUKEY\":\"08\"".to_owned()],
            components: COMPONENTS.to_owned(),
            horizons: HORIZONS.to_owned(),
            settings: String::new(),
        }
    }

    fn open(&self, factors: &[&str]) -> Result<Site, SiteError> {
        let path = self.folder.path();
        let squares = self
            .polygons
            .iter()
            .zip(0..)
            .map(|(text, number)| square(text, number));
        layer(path, "soils.geojson", &squares.collect::<Vec<_>>());
        for (name, text) in [
            ("component", self.components.as_str()),
            ("chorizon", self.horizons.as_str()),
            ("comonth", MONTHS),
            ("cosoilmoist", WET),
            ("corestrictions", RESTRICTIONS),
        ] {
            std::fs::write(path.join("tabular").join(format!("{name}.csv")), text).unwrap();
        }
        let factors: Vec<String> = factors
            .iter()
            .map(|id| format!("[factors.{id}]\nfrom = \"soil survey\"\n"))
            .collect();
        let reading = if self.settings.contains("reading") {
            ""
        } else {
            "reading = \"main component\""
        };
        let settings = &self.settings;
        let text = format!(
            "[area]\nboundary = \"b.geojson\"\ncell_m = 20\ngrid_crs = \"EPSG:26915\"\n[catalogue]\nfolder = \".\"\n[soil_survey]\npolygons = \"soils.geojson\"\ntables = \"tabular\"\ndepth_cm = 40\n{reading}\n{settings}\n{}\n[outputs]\nfolder = \"out\"\n",
            factors.join("")
        );
        let project = Project::parse(&text, &path.join("project.toml")).unwrap();
        Site::open(Sections {
            area: &project.area,
            factors: &project.factors,
            road_salt: None,
            exclude: &project.exclude,
            soil_survey: project.soil_survey.as_ref(),
        })
    }

    /// The values of factors in the west and in the east, in words.
    fn shown(&self, factors: &[&str]) -> Vec<String> {
        let site = self.open(factors).unwrap();
        let band = site.read_tile(site.grid().window()).unwrap();
        let (row, cols) = (site.grid().rows() / 2, site.grid().cols());
        let at = |raster: &crate::grid::Raster<f32>, col| raster.get(CellIndex { row, col });
        let both = site.factors().iter().zip(&band.factors).map(|(factor, raster)| {
            let shown = [cols / 4, cols * 3 / 4].map(|col| {
                at(raster, col).map_or("-".to_owned(), |value| {
                    factor.show(value, crate::factor::Units::Metric)
                })
            });
            format!("{}: {}", factor.id, shown.join(" | "))
        });
        both.collect()
    }

    fn told(&self, factors: &[&str]) -> String {
        let findings = match self.open(factors) {
            Ok(site) => site.findings().to_vec(),
            Err(SiteError::Problems { findings }) => findings,
            Err(other) => panic!("{other}"),
        };
        let texts = findings
            .iter()
            .map(|finding| format!("{:?}: {}", finding.severity, finding.text));
        texts.collect::<Vec<_>>().join("\n")
    }
}

#[test]
fn the_main_soil_stands_for_its_unit_and_horizons_count_by_thickness() {
    let survey = SmallSurvey::new();
    let shown = survey.shown(&[
        "drainage",
        "moisture",
        "ph",
        "soil_salinity",
        "texture",
        "carbonates",
        "organic_matter",
        "water_table",
        "available_water",
        "root_depth",
        "flooding",
        "ponding",
        "made_ground",
    ]);
    assert_eq!(
        shown,
        [
            "drainage: excessively drained | well drained",
            "moisture: dry | mesic",
            // (20 x 6 + 20 x 7) / 40 and (30 x 6.5 + 10 x 7.5) / 40
            "ph: pH 6.5 | pH 6.8",
            "soil_salinity: 0.0 dS/m | 0.2 dS/m",
            "texture: sand | loam",
            "carbonates: 1 % | 2 %",
            "organic_matter: 1 % | 3 %",
            // Of the dune no month is told; of the loam one is, and it is not wet.
            "water_table: - | deeper than surveyed",
            // (20 x 0.06 + 80 x 0.04) and (30 x 0.2 + 70 x 0.18)
            "available_water: 4.4 cm | 18.6 cm",
            "root_depth: deeper than surveyed | 120.0 cm",
            "flooding: - | rare",
            "ponding: - | none",
            "made_ground: natural | natural",
        ]
    );
}

#[test]
fn the_largest_class_adds_the_soils_of_one_class() {
    let mut survey = SmallSurvey::new();
    survey.settings = "reading = \"largest class\"".to_owned();
    survey.components =
        COMPONENTS.replace("007,a,60,Dune", "007,a,40,Dune") + "007,e,20,Fen,Series,Very poorly drained\n";
    let shown = survey.shown(&["drainage", "water_table", "ponding"]);
    assert_eq!(
        shown,
        [
            "drainage: very poorly drained | well drained",
            "water_table: 0.0 cm | deeper than surveyed",
            "ponding: frequent | none",
        ]
    );
}

#[test]
fn keys_are_text_and_what_nothing_matches_is_told_with_its_area() {
    let mut survey = SmallSurvey::new();
    survey.polygons[1] = "\"MUKEY\":8".to_owned();
    let told = survey.told(&["drainage"]);
    assert!(
        told.contains("Error: 1 polygon of soils.geojson (0.88 ha near the area, 50.0 % of it) has a `mukey` without soils in the tables of tabular (8)")
            && !told.contains("leading zeros"),
        "{told}"
    );
    // The other way round: the tables lost their zeros.
    let mut survey = SmallSurvey::new();
    survey.components = COMPONENTS.replace("\n08,", "\n8,");
    let told = survey.told(&["drainage"]);
    assert!(told.contains("(08)"), "{told}");
}

#[test]
fn odd_tables_are_told_with_counts_and_area() {
    let mut survey = SmallSurvey::new();
    survey.components = COMPONENTS.replace("08,c,70", "08,c,60")
        + "007,b,40,Marsh,Series,Very poorly drained\n007,f,,Pit,Series,\n007,g,20,Bog,Series,Boggy\n";
    survey.horizons = HORIZONS.replace("c,30,150,35,40,25,1,7.5", "c,25,150,35,40,45,1,75");
    let told = survey.told(&["drainage", "ph", "moisture"]);
    for expected in [
        "add up to more than 100 %, to 120 % at most, in 1 map unit, 1 polygon of 0.88 ha near the area",
        "add up to less than 100 %, to 90 % at least, in 1 map unit, 1 polygon",
        "1 row of soils stands twice, alike, and counts once (1 map unit",
        "1 soil has no share of its unit",
        "3 soils have no horizons",
        "1 soil has horizons whose sand, silt and clay do not add up",
        "1 soil has horizons that overlap",
        "1 horizon has a `ph`",
        "the word \"Boggy\" (1 time), which is no class of `drainage`",
        "its largest soil stands for each map unit: on average the largest soil is 60 % of the ground",
    ] {
        assert!(told.contains(expected), "{expected}\n\n{told}");
    }
    assert!(!told.contains("Error"), "{told}");
}

#[test]
fn soils_that_stand_twice_with_different_values_stop_a_run() {
    let mut survey = SmallSurvey::new();
    survey.components += "007,a,55,Dune,Series,Well drained\n";
    let told = survey.told(&["drainage"]);
    assert!(
        told.contains(
            "Error: 1 soil stands more than once in the table of soils with different values (the first is a)"
        ),
        "{told}"
    );
}

#[test]
fn missing_tables_and_columns_are_named_with_what_is_there() {
    let mut survey = SmallSurvey::new();
    survey.components = COMPONENTS.replace("comppct_r", "comppct");
    let told = survey.told(&["drainage"]);
    assert!(
        told.contains("no column `comppct_r`; nearest is `comppct`"),
        "{told}"
    );
    let mut survey = SmallSurvey::new();
    survey.settings = "[soil_survey.horizons]\ntable = \"horizons\"\n".to_owned();
    let told = survey.told(&["ph"]);
    assert!(told.contains("folder tabular has no table `horizons`"), "{told}");
    // What moisture can do without is only assumed.
    let told = survey.told(&["moisture"]);
    assert!(
        !told.contains("Error") && told.contains("moisture rests on assumptions in 2 map units"),
        "{told}"
    );
}

#[test]
fn tables_of_another_edition_than_the_polygons_stop_a_run() {
    let mut survey = SmallSurvey::new();
    survey.polygons[0] += ",\"edition\":\"2023\"";
    survey.settings =
        "[soil_survey.map_units]\nedition = \"edition\"\n[soil_survey.units]\nedition = \"saversion\"\n"
            .to_owned();
    std::fs::write(
        survey.folder.path().join("tabular/mapunit.csv"),
        "mukey,musym,muname,saversion\n007,Du,Dune and marsh,2021\n08,Lo,Loam,2021\n",
    )
    .unwrap();
    let told = survey.told(&["drainage"]);
    assert!(
        told.contains("Error: polygons and tables are of different editions: 1 map unit, 1 polygon of 0.88 ha near the area with another edition in the tables (unit 007 is \"2023\" on the map and \"2021\" in the tables)"),
        "{told}"
    );
    survey.polygons[0] = "\"MUKEY\":\"007\",\"MUSYM\":\"Ma\"".to_owned();
    survey.settings = String::new();
    let told = survey.told(&["drainage"]);
    assert!(
        told.contains("with another symbol in the tables (unit 007 is \"Ma\""),
        "{told}"
    );
}

#[test]
fn seams_between_survey_areas_are_told() {
    let mut survey = SmallSurvey::new();
    survey.polygons[0] += ",\"AREASYMBOL\":\"AA001\"";
    survey.polygons[1] += ",\"AREASYMBOL\":\"AA003\"";
    let told = survey.told(&["drainage"]);
    assert!(
        told.contains("survey areas AA001, AA003 meet here: 1 pair of polygons touches across the seam, and 1 of them has different drainage on its two sides (polygons of 1.75 ha)"),
        "{told}"
    );
}

#[test]
fn made_ground_comes_from_names_marks_and_polygons() {
    let mut survey = SmallSurvey::new();
    survey.components = COMPONENTS
        .replace("08,d,30", "08,d,80")
        .replace("08,c,70", "08,c,20");
    let made = |survey: &SmallSurvey| survey.shown(&["made_ground"])[0].clone();
    assert_eq!(made(&survey), "made_ground: natural | made");
    survey.polygons[0] += ",\"fill\":\"yes\"";
    survey.settings = "[soil_survey.map_units]\nmade = \"fill\"\n".to_owned();
    assert_eq!(made(&survey), "made_ground: made | made");
    let mut survey = SmallSurvey::new();
    layer(survey.folder.path(), "fill.geojson", &[square("", 0)]);
    survey.settings = "[soil_survey.made_ground]\nlayer = \"fill.geojson\"\n".to_owned();
    assert_eq!(made(&survey), "made_ground: made | natural");
}

#[test]
fn a_place_tells_its_unit_and_all_of_its_soils() {
    let survey = SmallSurvey::new();
    let site = survey.open(&["moisture"]).unwrap();
    let (row, col) = (site.grid().rows() / 2, site.grid().cols() / 4);
    let here = site.soil_here(CellIndex { row, col }, &[f32::NAN]).unwrap();
    assert_eq!((here.unit.as_str(), here.reading), ("007", "main component"));
    let soils: Vec<_> = here
        .soils
        .iter()
        .map(|soil| (soil.name.as_str(), soil.share_pct, soil.moisture, soil.assumed))
        .collect();
    assert_eq!(
        soils,
        [
            ("Dune", 60.0, Some("dry"), None),
            ("Marsh", 40.0, Some("wet"), None)
        ]
    );
    assert_eq!(here.untold_pct, 0.0);
}

#[test]
fn a_survey_of_its_own_structure_names_its_columns() {
    let mut survey = SmallSurvey::new();
    std::fs::write(
        survey.folder.path().join("tabular/soils.csv"),
        "unit;part;drains;water\n007;100;gut;80,5\n08;100;schlecht;20\n",
    )
    .unwrap();
    survey.settings = "structure = \"own\"
[soil_survey.map_units]
unit = \"MUKEY\"
[soil_survey.components]
table = \"soils\"
unit = \"unit\"
share_pct = \"part\"
drainage = \"drains\"
water_table_cm = \"water\"
[factors.drainage]
from = \"soil survey\"
words = { gut = \"well drained\", schlecht = \"poorly drained\" }
"
    .to_owned();
    assert_eq!(
        survey.shown(&["water_table", "moisture"]),
        [
            "drainage: well drained | poorly drained",
            "water_table: 80.5 cm | 20.0 cm",
            "moisture: mesic | wet",
        ]
    );
}
