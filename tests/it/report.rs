//! `report.html` against the other files of the same run, and against what hostile
//! names could do to it. What it looks like is tested in a browser (`tests/browser`).

use std::collections::BTreeMap;
use std::sync::OnceLock;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde_json::Value;
use sha2::{Digest, Sha256};
use tempfile::TempDir;

use crate::output_files::{OutputFiles, is_listed};
use crate::program::{map, sample_copy};
use crate::small_site::Site;

/// A page and what its script reads.
struct Page {
    html: String,
    data: Value,
}

impl Page {
    fn of(output: &OutputFiles) -> Page {
        let html = std::fs::read_to_string(output.file("report.html")).unwrap();
        let data = between(
            &html,
            "<script type=\"application/json\" id=\"site-data\">",
            "</script>",
        );
        Page {
            data: serde_json::from_str(data).unwrap(),
            html,
        }
    }

    fn list<'p>(&'p self, pointer: &str) -> &'p [Value] {
        self.data.pointer(pointer).unwrap().as_array().unwrap()
    }

    fn number(&self, pointer: &str) -> f64 {
        self.data.pointer(pointer).unwrap().as_f64().unwrap()
    }

    fn place(&self, value: &Value, list: &str) -> &Value {
        &self.list(list)[usize::try_from(value.as_u64().unwrap()).unwrap()]
    }

    /// For each zone and species id how it stands.
    fn standings(&self) -> BTreeMap<(i64, String), BTreeMap<&str, Value>> {
        let mut all = BTreeMap::new();
        for (zone, pairs) in (1..).zip(self.list("/zones/species")) {
            for pair in pairs.as_array().unwrap().chunks(2) {
                let id = self.place(&pair[0], "/species")["id"].as_str().unwrap();
                all.insert((zone, id.to_owned()), named(self.place(&pair[1], "/standings")));
            }
        }
        all
    }
}

/// The fields of a standing, which is written as a plain list.
fn named(standing: &Value) -> BTreeMap<&'static str, Value> {
    let names = [
        "listing",
        "class",
        "share",
        "known",
        "soils",
        "rating",
        "rests_on",
        "limits",
        "lacking",
        "no_opinion",
        "documented",
    ];
    let fields = standing.as_array().unwrap();
    assert_eq!(fields.len(), names.len());
    names.into_iter().zip(fields.iter().cloned()).collect()
}

fn between<'t>(text: &'t str, from: &str, to: &str) -> &'t str {
    let start = text.find(from).unwrap() + from.len();
    &text[start..start + text[start..].find(to).unwrap()]
}

struct Job {
    _folder: TempDir,
    output: OutputFiles,
    page: Page,
}

/// One run of the sample site for all tests of this file.
fn job() -> &'static Job {
    static JOB: OnceLock<Job> = OnceLock::new();
    JOB.get_or_init(|| {
        let (folder, project) = sample_copy();
        let out = folder.path().join("out");
        map(&project, &out, &[]).expect(0);
        let output = OutputFiles::at(&out);
        Job {
            _folder: folder,
            page: Page::of(&output),
            output,
        }
    })
}

/// Thousandths, cut; neither none nor all where it is not quite.
fn thousandths(share: f64) -> u64 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share")]
    let cut = (share * 1000.0 + 1e-7) as u64;
    match share {
        0.0 => 0,
        1.0 => 1000,
        _ => cut.clamp(1, 999),
    }
}

#[test]
fn zones_of_the_page_are_those_of_the_files() {
    let Job { output, page, .. } = job();
    let zones = output.zones();
    assert_eq!(zones.len(), page.list("/zones/id").len());
    let (west, north, cell) = (
        page.number("/grid/west"),
        page.number("/grid/north"),
        page.number("/grid/cell_m"),
    );
    let borders: Vec<Vec<(f64, f64)>> = page
        .list("/map/borders")
        .iter()
        .map(|steps| {
            let (mut x, mut y) = (0.0, 0.0);
            let steps = steps.as_array().unwrap().chunks(2);
            let points = steps.map(|step| {
                x += step[0].as_f64().unwrap();
                y += step[1].as_f64().unwrap();
                (west + x * cell, north - y * cell)
            });
            points.collect()
        })
        .collect();
    for (place, zone) in zones.iter().enumerate() {
        assert_eq!(page.list("/zones/id")[place], zone.id.as_str());
        let area_m2 = page.list("/zones/area_m2")[place].as_f64().unwrap();
        assert!((area_m2 / 10_000.0 - zone.area_ha).abs() < 1e-5);
        let mut rings = Vec::new();
        for walk in page.list("/map/rings")[place].as_array().unwrap() {
            let mut ring: Vec<(f64, f64)> = Vec::new();
            for side in walk.as_array().unwrap() {
                let side = usize::try_from(side.as_u64().unwrap()).unwrap();
                let mut points = borders[side / 2].clone();
                if side % 2 == 1 {
                    points.reverse();
                }
                points.pop();
                ring.extend(points);
            }
            ring.push(ring[0]);
            rings.push(ring);
        }
        assert_eq!(rings, zone.rings, "zone {}", zone.number);
    }
}

#[test]
fn standings_of_the_page_are_those_of_the_table() {
    let Job { output, page, .. } = job();
    let mut standings = page.standings();
    let mut reader = csv::Reader::from_path(output.file("zone_species.csv")).unwrap();
    let names = reader.headers().unwrap().clone();
    let at = |name: &str| names.iter().position(|other| other == name).unwrap();
    let (zone, species) = (at("zone"), at("species_id"));
    for row in reader.records() {
        let row = row.unwrap();
        let field = |name: &str| &row[at(name)];
        let key = (row[zone].parse().unwrap(), row[species].to_owned());
        let standing = standings.remove(&key).unwrap();
        assert_eq!(page.place(&standing["listing"], "/listings"), field("listing"));
        let class = standing["class"]
            .as_u64()
            .map(|_| page.place(&standing["class"], "/classes")[0].clone());
        assert_eq!(class.unwrap_or(Value::from("")), field("class"));
        let share = |name: &str| field(name).parse().map_or(0, thousandths);
        assert_eq!(standing["share"], share("share"), "{key:?}");
        assert_eq!(standing["known"], share("known_share"), "{key:?}");
        assert_eq!(standing["rests_on"].to_string(), field("rests_on"));
        let limits: Vec<&str> = standing["limits"]
            .as_array()
            .unwrap()
            .iter()
            .map(|limit| page.place(&limit[0], "/factors")["id"].as_str().unwrap())
            .collect();
        assert_eq!(limits.join(", "), field("limiting_factors"));
        let needed = standing["limits"].get(0).filter(|limit| !limit[1].is_null());
        let needed = needed.map_or("", |limit| page.place(&limit[1], "/texts").as_str().unwrap());
        assert_eq!(needed, field("value_needed"));
    }
    assert!(standings.is_empty());
}

#[test]
fn lists_keep_their_order() {
    let Job { output, page, .. } = job();
    let features = output.features();
    for (place, pairs) in page.list("/zones/species").iter().enumerate() {
        let pairs = pairs.as_array().unwrap().chunks(2);
        let listed = pairs.filter(|pair| {
            let standing = named(page.place(&pair[1], "/standings"));
            is_listed(page.place(&standing["listing"], "/listings").as_str().unwrap())
        });
        let ids: Vec<&Value> = listed
            .map(|pair| &page.place(&pair[0], "/species")["id"])
            .collect();
        let told = features[place].property("species").unwrap().as_array().unwrap();
        let told: Vec<&Value> = told.iter().map(|species| &species["id"]).collect();
        assert_eq!(ids, told);
    }
}

#[test]
fn areas_of_every_species_and_factor_add_up_to_what_is_rated() {
    let page = &job().page;
    let rated = page.number("/areas/rated");
    let sum = |values: &Value| -> f64 {
        values
            .as_array()
            .unwrap()
            .iter()
            .map(|value| value.as_f64().unwrap())
            .sum()
    };
    for species in page.list("/species") {
        let areas = &species["areas"];
        let single = ["suits_in_spots", "unknown"].map(|name| areas[name].as_f64().unwrap());
        let all = sum(&areas["suits"]) + sum(&areas["limited"]) + single.iter().sum::<f64>();
        assert!((all - rated).abs() < 20.0, "{}: {all} of {rated}", species["id"]);
    }
    for factor in page.list("/factors") {
        let spread = &factor["spread"];
        let rest = ["missing_m2", "beyond_m2"].map(|name| spread[name].as_f64().unwrap());
        let all = sum(&spread["areas_m2"]) + rest.iter().sum::<f64>();
        assert!((all - rated).abs() < 20.0, "{}: {all} of {rated}", factor["id"]);
    }
    assert!((sum(&page.data["areas"]["by_class"]) - rated).abs() < 1.0);
}

#[test]
fn the_policy_allows_the_script_of_the_page_and_no_other() {
    let html = &job().page.html;
    let script = between(html, "<script>", "</script>");
    let style = between(html, "<style>", "</style>");
    for text in [script, style] {
        let sum = STANDARD.encode(Sha256::digest(text));
        // Of base64 only + could be written otherwise in an attribute.
        assert!(html.replace("&#43;", "+").contains(&format!("sha256-{sum}")));
    }
    assert_eq!(html.matches("<script").count(), 2);
    assert!(!html.contains("unsafe-inline"));
}

/// Outside script and style no markup comes from names; inside, none ends the script.
#[test]
fn markup_in_names_is_text() {
    let hostile = "<script>alert(1)</script>";
    let mut site = Site::sound();
    let species = format!(
        "id,scientific_name,common_name,form\npanicum-virgatum,Panicum virgatum,{hostile},grass\ncarex-stricta,<!--<b>,</script><img src=x onerror=alert(2)>,grass\n"
    );
    site.catalogue("species.csv", species.as_bytes());
    site.more = "[outputs]\nfolder = \"out\"\n".to_owned();
    let project = site.project();
    let text = std::fs::read_to_string(&project).unwrap();
    std::fs::write(&project, format!("title = '''</title>{hostile}'''\n{text}")).unwrap();
    map(&project, &site.file("out"), &[]).expect(0);
    let page = Page::of(&OutputFiles::at(&site.file("out")));
    assert_eq!(page.list("/species")[0]["common"], hostile);
    assert!(!page.html.contains(hostile) && !page.html.contains("<img") && !page.html.contains("<!--<b>"));
    assert_eq!(page.html.matches("<script").count(), 2);
    assert_eq!(page.html.matches("</title>").count(), 1);
    assert!(page.html.contains("<h1>&#60;/title&#62;&#60;script&#62;"));
}

#[test]
fn without_the_wish_there_is_no_page() {
    let mut site = Site::sound();
    site.more = "[outputs]\nreport = false\n".to_owned();
    map(&site.project(), &site.file("out"), &[]).expect(0);
    let out = OutputFiles::at(&site.file("out"));
    assert!(!out.file("report.html").exists() && out.file("zones.geojson").exists());
    let record = out.record();
    let told = record["outputs"]
        .as_array()
        .unwrap()
        .iter()
        .any(|file| file["file"] == "report.html");
    assert!(!told);
}
