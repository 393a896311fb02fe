//! Catalogues with mistakes, and spreadsheets as people save them.

use insta::assert_snapshot;

use crate::program::groundfit;
use crate::small_site::{SOURCES, SPECIES, Site, TOLERANCES};

/// What `species check` and `map` say of a catalogue with errors.
fn refused(site: &Site) -> String {
    let check = groundfit([
        "species".as_ref(),
        "check".as_ref(),
        "--project".as_ref(),
        site.project().as_os_str(),
    ])
    .expect(1);
    let told = site.refusal(1);
    let errors = told.strip_prefix("error: ").unwrap().lines();
    for line in errors.filter(|line| !line.starts_with("try: ")) {
        let shown = check.out.replace(&site.folder().display().to_string(), "FOLDER");
        let place = line.split(", line").next().unwrap();
        assert!(shown.contains(place), "{line} is not in {shown}");
    }
    told
}

#[test]
fn a_species_without_tolerances() {
    let site = Site::sound();
    let species = format!("{SPECIES}rhus-typhina,Rhus typhina,staghorn sumac,shrub\n");
    site.catalogue("species.csv", species.as_bytes());
    assert_snapshot!(site.warnings(), @r"
    warning: FOLDER/catalogue/species.csv:4, column `id`: `rhus-typhina` has no tolerances and will be unknown everywhere
    warning: FOLDER/catalogue/tolerances.csv: only 0 of 3 species have an opinion on `ph`; the others are unknown wherever it counts
    warning: FOLDER/catalogue/tolerances.csv: only 0 of 3 species have an opinion on `soil_salinity`; the others are unknown wherever it counts
    warning: FOLDER/catalogue/tolerances.csv: only 0 of 3 species have an opinion on `spray_salt`; the others are unknown wherever it counts
    ");
}

#[test]
fn limits_out_of_order() {
    let site = Site::sound();
    let tolerances = TOLERANCES
        .replace("range - - 30.5 60", "range - - 60 30")
        .replace("range - - 50 80", "curve 50:1 20:0.5");
    site.catalogue("tolerances.csv", tolerances.as_bytes());
    assert_snapshot!(refused(&site), @r"
    error: FOLDER/catalogue/tolerances.csv:3, column `response`: the best range open to 60 lies outside the limits open to 30: limits must rise from the lowest to the highest
    FOLDER/catalogue/tolerances.csv:5, column `response`: curve point 20:0.5: values must rise from point to point and scores lie within 0 to 1
    try: mend the catalogue; `groundfit species check` tells all problems with line and column
    ");
}

#[test]
fn contradictory_conditions() {
    let site = Site::sound();
    let tolerances = format!(
        "{TOLERANCES}\
        carex-stricta,soil_salinity,\"drainage: poorly drained, well drained\",threshold 2 slope 5,made-up,\n\
        carex-stricta,soil_salinity,\"drainage: well drained, very poorly drained\",threshold 1 slope 9,made-up,\n\
        panicum-virgatum,ph,,range 4 5 7 8,made-up,\n\
        panicum-virgatum,ph,drainage: well drained,range 4 5 7 8,made-up,\n"
    );
    site.catalogue("tolerances.csv", tolerances.as_bytes());
    assert_snapshot!(refused(&site), @r"
    error: FOLDER/catalogue/tolerances.csv:7, column `given`: overlaps the condition of `carex-stricta` on `soil_salinity` on line 6: a case may have one response only
    FOLDER/catalogue/tolerances.csv:9, column `given`: `panicum-virgatum` has one response to `ph` without a condition and one with (line 8): give both a condition
    try: mend the catalogue; `groundfit species check` tells all problems with line and column
    ");
}

#[test]
fn duplicate_ids() {
    let site = Site::sound();
    let species = format!("{SPECIES}carex-stricta,Carex blanda,eastern woodland sedge,grass\n");
    site.catalogue("species.csv", species.as_bytes());
    let sources = format!("{SOURCES}made-up,published,A book\n");
    site.catalogue("sources.csv", sources.as_bytes());
    assert_snapshot!(refused(&site), @r"
    error: FOLDER/catalogue/species.csv:4, column `id`: `carex-stricta` stands already on line 3
    FOLDER/catalogue/sources.csv:3, column `id`: `made-up` stands already on line 2
    try: mend the catalogue; `groundfit species check` tells all problems with line and column
    ");
}

#[test]
fn unknown_words_have_a_nearest_one() {
    let site = Site::sound();
    let tolerances = TOLERANCES
        .replace("panicum-virgatum,canopy", "panicum-virgatm,canopy")
        .replace("carex-stricta,canopy", "carex-stricta,canopi")
        .replacen("poorly drained=0.3", "porly drained=0.3", 1);
    site.catalogue("tolerances.csv", tolerances.as_bytes());
    assert_snapshot!(refused(&site), @r"
    error: FOLDER/catalogue/tolerances.csv:2, column `response`: `porly drained` is no class of `drainage`; did you mean `poorly drained`?
    FOLDER/catalogue/tolerances.csv:3, column `species`: there is no species with the id `panicum-virgatm`; did you mean `panicum-virgatum`?
    FOLDER/catalogue/tolerances.csv:5, column `factor`: there is no factor `canopi`; did you mean `canopy`?
    try: mend the catalogue; `groundfit species check` tells all problems with line and column
    ");
}

#[test]
fn no_species_at_all() {
    let site = Site::sound();
    site.catalogue("species.csv", SPECIES.lines().next().unwrap().as_bytes());
    site.catalogue("tolerances.csv", TOLERANCES.lines().next().unwrap().as_bytes());
    assert_snapshot!(site.refusal(1), @r"
    error: FOLDER/catalogue/species.csv: holds no species
    try: mend the catalogue; `groundfit species check` tells all problems with line and column
    ");
}

/// The ratings of a run, and what it said.
fn ratings(site: &Site) -> Vec<u8> {
    let run = site.run("map").expect(0);
    assert_eq!(run.err_without(site.folder()).matches("error").count(), 0);
    let zones = std::fs::read(site.file("out/zone_species.csv")).unwrap();
    std::fs::remove_dir_all(site.file("out")).unwrap();
    zones
}

#[test]
fn a_byte_order_mark_semicolons_decimal_commas_and_windows_line_ends_change_nothing() {
    let site = Site::sound();
    let usual = ratings(&site);
    let marked = |text: &str| format!("\u{feff}{}", text.replace('\n', "\r\n"));
    site.catalogue("species.csv", marked(&SPECIES.replace(',', ";")).as_bytes());
    // Semicolons in a field are quoted, as a spreadsheet does.
    let european: Vec<String> = TOLERANCES
        .lines()
        .map(|line| {
            let fields = line.split(',').map(|field| {
                let field = field.replace('.', ",");
                if field.contains(';') {
                    format!("\"{field}\"")
                } else {
                    field
                }
            });
            fields.collect::<Vec<_>>().join(";") + "\n"
        })
        .collect();
    site.catalogue("tolerances.csv", marked(&european.concat()).as_bytes());
    site.catalogue("sources.csv", marked(&SOURCES.replace(',', ";")).as_bytes());
    assert!(ratings(&site) == usual);
}

#[test]
fn latin_1_is_read_and_told() {
    let site = Site::sound();
    let species = SPECIES.replace("upright sedge", "laîche dressée");
    // All letters of this text are one byte in Latin-1.
    let bytes: Vec<u8> = species
        .chars()
        .map(|letter| u8::try_from(u32::from(letter)).unwrap())
        .collect();
    site.catalogue("species.csv", &bytes);
    assert_snapshot!(site.warnings(), @"warning: FOLDER/catalogue/species.csv:3: is not UTF-8; the file was read as windows-1252: check letters with accents");
    let zones = std::fs::read_to_string(site.file("out/zone_species.csv")).unwrap();
    assert!(zones.contains("laîche dressée"), "{zones}");
}
