//! Road salt in map units of several soils: each soil keeps its own share of it, and is
//! rated on it. Common practice, no source: salt is washed out of sand sooner than out of
//! clay.

use crate::program::{groundfit, map, sample_copy};
use crate::scenario::{EAST_M, Field, NORTH_M, PLANE, rectangle, write_layer};
use crate::small_site::{CANOPY, SOURCES, SPECIES, Site};

const FACTORS: &str = "
[factors.drainage]
from = \"soil survey\"
[factors.soil_salinity]
from = \"road_salt\"
";
const MORE: &str = "
[soil_survey]
polygons = \"units.gpkg\"
tables = \"survey\"
depth_cm = 50
[road_salt]
roads = \"roads.gpkg\"
class_attribute = \"class\"
rate_attribute = \"rate\"
rate_unit = \"kg/lane-km\"
lee_share = 0.5
[road_salt.root_zone]
water_surplus_mm = 250
water_surplus_source = \"made up for a test\"
";
const SOILS: &str = "mukey,cokey,comppct_r,compname,drainagecl
01,a,50,Sand,Excessively drained
01,b,50,Clay,Poorly drained
";
/// Switchgrass is made to shy salt, and the sedge to bear any of it.
const TOLERANCES: &str = "\
species,factor,given,response,source,note
panicum-virgatum,drainage,,classes excessively drained=1; somewhat excessively drained=1; well drained=1; moderately well drained=1; somewhat poorly drained=1; poorly drained=1; very poorly drained=1,made-up,
panicum-virgatum,canopy,,range - - 30.5 60,made-up,
panicum-virgatum,soil_salinity,,threshold 4 slope 30,made-up,
carex-stricta,drainage,,classes excessively drained=1; somewhat excessively drained=1; well drained=1; moderately well drained=1; somewhat poorly drained=1; poorly drained=1; very poorly drained=1,made-up,
carex-stricta,canopy,,range - - 50 80,made-up,
carex-stricta,soil_salinity,,threshold 150 slope 1,made-up,
";

/// One map unit, half sand and half clay, with a salted road along its south.
fn half_sand_half_clay(needed: &str) -> Site {
    let mut site = Site::sound();
    let road = vec![Field::Text("highway"), Field::Number(9000.0)];
    let road = [(road, "LINESTRING (-500 -4, 700 -4)".to_owned())];
    write_layer(&site.file("roads.gpkg"), PLANE, &["class", "rate"], &road);
    let unit = [(vec![Field::Text("01")], rectangle(0.0, 0.0, 200.0, 100.0))];
    write_layer(&site.file("units.gpkg"), PLANE, &["mukey"], &unit);
    std::fs::create_dir(site.file("survey")).unwrap();
    std::fs::write(site.file("survey/component.csv"), SOILS).unwrap();
    site.catalogue("species.csv", SPECIES.as_bytes());
    site.catalogue("tolerances.csv", TOLERANCES.as_bytes());
    site.catalogue("sources.csv", SOURCES.as_bytes());
    site.area = site.area.replace("cell_m = 10", "cell_m = 5");
    site.factors = format!("{FACTORS}{CANOPY}");
    site.more = MORE.replace("depth_cm = 50", &format!("depth_cm = 50\n{needed}"));
    site
}

fn why(project: &std::path::Path, (x, y): (f64, f64)) -> serde_json::Value {
    let (x, y) = (x.to_string(), y.to_string());
    let run = groundfit(["why", project.to_str().unwrap(), &x, &y, "--json"]);
    run.expect(0).json()
}

/// What `why` tells 6 m from the road's middle.
fn beside_the_road(site: &Site) -> serde_json::Value {
    why(&site.project(), (EAST_M + 102.0, NORTH_M + 2.5))
}

fn told_of<'t>(told: &'t serde_json::Value, species: &str) -> &'t serde_json::Value {
    let mut all = told["species"].as_array().unwrap().iter();
    all.find(|one| one["id"] == species).unwrap()
}

#[test]
fn sand_has_less_salt_than_clay_in_the_same_place_and_is_rated_by_itself() {
    let site = half_sand_half_clay("");
    let told = beside_the_road(&site);
    let soils = told["soil"]["soils"].as_array().unwrap();
    let salt = |name: &str| {
        let soil = soils.iter().find(|soil| soil["name"] == name).unwrap();
        soil["road_salt_ds_m"].as_f64().unwrap()
    };
    let (sand, clay) = (salt("Sand"), salt("Clay"));
    assert!(1.0 < sand && 2.0 * sand < clay, "{sand} {clay}");
    let shy = told_of(&told, "panicum-virgatum");
    assert_eq!(shy["state"], "suits");
    let soils = shy["answers"].as_array().unwrap().iter();
    let soils = soils.flat_map(|answer| answer["soils"].as_array().unwrap());
    let soils: Vec<(&str, &str, f64)> = soils
        .map(|soil| {
            let text = |key: &str| soil[key].as_str().unwrap();
            (text("name"), text("state"), soil["share"].as_f64().unwrap())
        })
        .collect();
    assert_eq!(soils, [("Sand", "suits", 0.5), ("Clay", "does not suit", 0.5)]);
    assert_eq!(told_of(&told, "carex-stricta")["state"], "suits");
    // Half is not enough where more is asked for.
    let told = beside_the_road(&half_sand_half_clay("suits_share = 0.6"));
    assert_eq!(told_of(&told, "panicum-virgatum")["state"], "does not suit");
    assert_eq!(told_of(&told, "carex-stricta")["state"], "suits");
}

#[test]
fn files_count_the_soils_that_salt_leaves() {
    let site = half_sand_half_clay("suits_share = 0.6");
    site.run("map").expect(0);
    let rows = std::fs::read_to_string(site.file("out/zone_species.csv")).unwrap();
    let mut lines = rows.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let header = lines.next().unwrap();
    let column = |name: &str| header.iter().position(|found| *found == name).unwrap();
    let (species, share, soil_share) = (column("species_id"), column("share"), column("soil_share"));
    let shy = lines.find(|row| row[species] == "panicum-virgatum").unwrap();
    let [share, soil_share] = [share, soil_share].map(|column| shy[column].parse::<f64>().unwrap());
    // It suits but for a strip along the road, where the half that is clay is too salty.
    assert!((0.9..0.99).contains(&share), "{rows}");
    assert!((soil_share - f64::midpoint(1.0, share)).abs() < 1e-9, "{rows}");
    let record = std::fs::read_to_string(site.file("out/run.json")).unwrap();
    assert!(record.contains("\"salt_water\"") && !record.contains("all get the same salt"));
}

#[test]
fn whatever_counts_of_the_year_is_that_of_each_soil() {
    for (tells, more) in [("spring peak", ""), ("what stays", "pavement_runoff_mm = 600\n")] {
        let mut site = half_sand_half_clay("");
        site.more = format!("{}tells = \"{tells}\"\n{more}", site.more);
        let told = beside_the_road(&site);
        let soils = told["soil"]["soils"].as_array().unwrap();
        let salt: Vec<f64> = soils
            .iter()
            .map(|soil| soil["road_salt_ds_m"].as_f64().unwrap())
            .collect();
        assert!(salt[0] < salt[1], "{tells}: {salt:?}");
        let ground = told["ground"].as_array().unwrap();
        let water = ground.iter().any(|here| here["factor"] == "leaching_water");
        assert_eq!(water, !more.is_empty());
        // The largest soil, of two alike the first, shows the same as `salt_water` makes of it.
        let shown = ground
            .iter()
            .find(|here| here["factor"] == "soil_salinity")
            .unwrap();
        assert!((shown["value"].as_f64().unwrap() - salt[0]).abs() < 1e-5);
        site.run("map").expect(0);
    }
}

#[test]
fn names_that_the_program_gives_are_not_free() {
    let mut site = half_sand_half_clay("");
    site.factors += "[factors.salt_water]\nkind = \"measured\"\nunit = \"dS/m\"\nlayer = \"canopy.tif\"\n";
    let told = site.refusal(1);
    let problem = "found a factor called `salt_water`, needed another name";
    assert!(told.contains(problem), "{told}");
}

#[test]
fn the_sample_s_survey_rates_each_soil_on_the_salt_of_its_highway() {
    let (folder, main) = sample_copy();
    let project = folder.path().join("soil-survey.toml");
    let (survey, main) = [&project, &main]
        .map(|path| std::fs::read_to_string(path).unwrap())
        .into();
    let from = main.find("\n[road_salt]\n").unwrap();
    let to = from + main[from..].find("\n# What is not rated").unwrap();
    let survey = survey.replace(
        "[factors.soil_salinity]\nfrom = \"soil survey\"",
        "[factors.soil_salinity]\nfrom = \"road_salt\"",
    );
    assert!(survey.contains("from = \"road_salt\""));
    let text = survey.replacen("\n[[exclude]]", &format!("{}\n[[exclude]]", &main[from..to]), 1);
    std::fs::write(&project, text).unwrap();
    // Outwash sand, a third of it swale, just south of the highway.
    let told = why(&project, (431_260.0, 4_987_205.0));
    let soils = told["soil"]["soils"].as_array().unwrap();
    assert_eq!(
        (soils[0]["name"].as_str(), soils[1]["name"].as_str()),
        (Some("Outwash sand"), Some("Outwash swale"))
    );
    let salt = [0, 1].map(|soil: usize| soils[soil]["road_salt_ds_m"].as_f64().unwrap());
    assert!(0.2 < salt[0] && 1.3 * salt[0] < salt[1], "{salt:?}");
    let output = folder.path().join("mapped");
    map(&project, &output, &[]).expect(0);
    let zones = std::fs::read_to_string(output.join("zones.geojson")).unwrap();
    assert!(zones.contains("\"ground_salt_water\":"));
}
