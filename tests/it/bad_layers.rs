//! Layers that are not what they should be: each gets an error or a warning that
//! names file, layer, value found, value needed and the way out.

use gdal::raster::{ColorEntry, ColorInterpretation, ColorTable, PaletteInterpretation};
use insta::assert_snapshot;

use crate::scenario::{Field, PLANE, RasterPlan, rectangle, write_layer};
use crate::small_site::{CANOPY, CANOPY_PLAN, Site};

#[test]
fn the_sound_site_is_taken_without_a_warning_of_its_layers() {
    let site = Site::sound();
    assert_snapshot!(site.warnings(), @"");
}

#[test]
fn layers_without_a_crs() {
    let mut site = Site::sound();
    RasterPlan {
        epsg: 0,
        ..CANOPY_PLAN
    }
    .write(&site.file("canopy.tif"), |_, _| 12_u8);
    let soils = [(
        vec![Field::Text("Well drained")],
        rectangle(0.0, 0.0, 200.0, 100.0),
    )];
    write_layer(&site.file("soils.shp"), 0, &["drain"], &soils);
    site.factors = site.factors.replace("soils.gpkg", "soils.shp");
    assert_snapshot!(site.refusal(1), @r#"
    error: factors.canopy: canopy.tif has no coordinate reference system: say `crs = "EPSG:..."` for the layer
    factors.drainage: FOLDER/soils.shp has no coordinate reference system; say `crs = "EPSG:..."` for the layer in the project file
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    "#);
}

#[test]
fn a_crs_that_the_project_names_stands_in_for_the_missing_one() {
    let mut site = Site::sound();
    RasterPlan {
        epsg: 0,
        ..CANOPY_PLAN
    }
    .write(&site.file("canopy.tif"), |_, _| 12_u8);
    site.factors.push_str("crs = \"EPSG:26915\"\n");
    assert_snapshot!(site.warnings(), @"");
}

#[test]
fn layers_that_miss_the_area() {
    let site = Site::sound();
    let away = RasterPlan {
        west: 50_000.0,
        east: 50_200.0,
        ..CANOPY_PLAN
    };
    away.write(&site.file("canopy.tif"), |_, _| 12_u8);
    site.soils(&[("Well drained", rectangle(0.0, 20_000.0, 200.0, 20_100.0))]);
    assert_snapshot!(site.refusal(1), @r"
    error: factors.drainage: soils.gpkg has nothing near the area: all of it lies at x 430000.000 to 430200.000, y 5000000.000 to 5000100.000 in NAD83 / UTM zone 15N (EPSG:26915), the area at x 430000.000 to 430200.000, y 4980000.000 to 4980100.000 in NAD83 / UTM zone 15N (EPSG:26915); a layer that covers the area is needed, or the right `crs` or `filter` for this one
    factors.canopy: canopy.tif misses the area: in NAD83 / UTM zone 15N (EPSG:26915) it lies at x 480000 to 480200, y 4980000 to 4980100 (its CRS is NAD83 / UTM zone 15N (EPSG:26915)), the area at x 430000 to 430200, y 4980000 to 4980100; a layer that covers the area is needed, or the right `crs` for this one
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    ");
}

#[test]
fn a_grid_in_degrees() {
    let mut site = Site::sound();
    site.area = site.area.replace("EPSG:26915", "EPSG:4326");
    assert_snapshot!(site.refusal(1), @r"
    error: area.grid_crs: WGS 84 (EPSG:4326) has degrees: a projected CRS in metres is needed, such as the UTM zone of the site; leave `grid_crs` out to have it chosen
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    ");
}

#[test]
fn a_class_word_that_no_table_knows() {
    let site = Site::sound();
    site.soils(&[
        ("Well draned", rectangle(0.0, 0.0, 120.0, 100.0)),
        ("Wettish", rectangle(120.0, 0.0, 200.0, 100.0)),
    ]);
    assert_snapshot!(site.warnings(), @r#"
    warning: factors.drainage: `drain` of soils.gpkg has the word "Well draned" (1 time), which no table knows; is it `well drained`?: its ground is missing; say in `words` which class it is
    warning: factors.drainage: `drain` of soils.gpkg has the word "Wettish" (1 time), which no table knows: its ground is missing; say in `words` which class it is
    warning: no cell could be rated, so there are no zones: see the areas not rated
    "#);
}

#[test]
fn an_attribute_that_is_not_there() {
    let mut site = Site::sound();
    site.factors = site.factors.replace("\"drain\"", "\"drainage\"");
    assert_snapshot!(site.refusal(1), @r"
    error: factors.drainage: layer `soils` of FOLDER/soils.gpkg has no field `drainage`; it has `drain`
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    ");
}

#[test]
fn a_layer_without_a_feature() {
    let mut site = Site::sound();
    let nothing = r#"{"type": "FeatureCollection", "features": []}"#;
    std::fs::write(site.file("soils.geojson"), nothing).unwrap();
    site.factors = site.factors.replace("soils.gpkg", "soils.geojson");
    assert_snapshot!(site.refusal(1), @r"
    error: factors.drainage: layer `soils` of FOLDER/soils.geojson is empty: it has no feature, and no field `drain`; give it its features, or leave it out of the project
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    ");
}

#[test]
fn classes_asked_to_be_averaged() {
    let site = Site::sound();
    let picture = CANOPY_PLAN.create(&site.file("canopy.tif"), 1, |_, _| 1_u8);
    let mut colours = ColorTable::new(PaletteInterpretation::Rgba);
    for index in 0..3 {
        colours.set_color_entry(index, &ColorEntry::rgba(10, 120, 30, 255));
    }
    picture.rasterband(1).unwrap().set_color_table(&colours);
    picture.close().unwrap();
    assert_snapshot!(site.refusal(1), @r"
    error: factors.canopy: band 1 of canopy.tif has a colour table, so its numbers are codes of classes, which must not be averaged; `canopy` is measured: a raster of measured values is needed
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    ");
}

#[test]
fn a_colour_picture_posing_as_classes() {
    let mut site = Site::sound();
    let picture = CANOPY_PLAN.create(&site.file("picture.tif"), 3, |_, _| 90_u8);
    for (band, colour) in [
        (1, ColorInterpretation::RedBand),
        (2, ColorInterpretation::GreenBand),
        (3, ColorInterpretation::BlueBand),
    ] {
        picture
            .rasterband(band)
            .unwrap()
            .set_color_interpretation(colour)
            .unwrap();
    }
    picture.close().unwrap();
    site.factors = format!(
        "[factors.drainage]\nlayer = \"picture.tif\"\nwords = {{ \"90\" = \"well drained\" }}\n{CANOPY}"
    );
    assert_snapshot!(site.refusal(1), @r"
    error: factors.drainage: picture.tif is a picture with red, green and blue bands, not a layer of values; a raster whose cells hold drainage is needed
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    ");
}

#[test]
fn codes_of_classes_without_words() {
    let mut site = Site::sound();
    CANOPY_PLAN.write(&site.file("codes.tif"), |_, _| 3_u8);
    site.factors = format!("[factors.drainage]\nlayer = \"codes.tif\"\n{CANOPY}");
    assert_snapshot!(site.refusal(1), @r#"
    error: factors.drainage: codes.tif holds codes of classes: `words` is needed, such as `words = { "1" = "excessively drained" }`
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    "#);
}

#[test]
fn a_code_that_no_word_explains() {
    let mut site = Site::sound();
    CANOPY_PLAN.write(&site.file("codes.tif"), |x, _| if x > 150.0 { 9_u8 } else { 3 });
    site.factors = format!(
        "[factors.drainage]\nlayer = \"codes.tif\"\nwords = {{ \"3\" = \"well drained\" }}\n{CANOPY}"
    );
    assert_snapshot!(site.warnings(), @"warning: factors.drainage: codes.tif has the code 9 (50 cells), which no table knows: its ground is missing; say in `words` which class it is");
}

#[test]
fn overlapping_polygons() {
    let site = Site::sound();
    site.soils(&[
        ("Well drained", rectangle(0.0, 0.0, 130.0, 100.0)),
        ("Poorly drained", rectangle(110.0, 0.0, 200.0, 100.0)),
    ]);
    assert_snapshot!(site.warnings(), @"warning: factors.drainage: polygons of soils.gpkg overlap on 0.20 ha, whose ground is missing: features 1 and 2 (20 cells); mend the layer so that each place has one polygon");
}

#[test]
fn invalid_polygons_are_repaired_and_told_with_their_area() {
    let site = Site::sound();
    let bow_tie = "POLYGON ((0 0, 200 100, 200 0, 0 100, 0 0))".to_owned();
    site.soils(&[("Well drained", bow_tie)]);
    assert_snapshot!(site.warnings(), @r"
    warning: factors.drainage: 1 polygon of soils.gpkg was invalid and is repaired (feature 1): its area goes from 0.0 to 10000.0 m2
    warning: simplified outlines change the area of a zone by up to 1.0 %; `area_ha` is that of its cells
    ");
}

#[test]
fn a_byte_raster_without_nodata() {
    let site = Site::sound();
    RasterPlan {
        nodata: None,
        ..CANOPY_PLAN
    }
    .write(&site.file("canopy.tif"), |_, _| 12_u8);
    assert_snapshot!(site.warnings(), @r#"warning: factors.canopy: band 1 of canopy.tif holds bytes and names no missing value: if 0 or 255 stands for "no data", say `nodata = 255`, else it counts as a value"#);
}

#[test]
fn an_empty_boundary() {
    let mut site = Site::sound();
    let empty = r#"{"type": "FeatureCollection", "features": []}"#;
    std::fs::write(site.file("empty.geojson"), empty).unwrap();
    site.area = site.area.replace("site.gpkg", "empty.geojson");
    assert_snapshot!(site.refusal(1), @r"
    error: area.boundary: empty.geojson has no polygon with an area: at least one is needed
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    ");
}

#[test]
fn a_boundary_without_an_area() {
    let site = Site::sound();
    let line = [(vec![Field::Text("site")], "LINESTRING (0 0, 200 100)".to_owned())];
    write_layer(&site.file("site.gpkg"), PLANE, &["name"], &line);
    assert_snapshot!(site.refusal(1), @r"
    error: area.boundary: site.gpkg has no polygon with an area: at least one is needed
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    ");
}

#[test]
fn a_raster_cut_short() {
    let site = Site::sound();
    let whole = std::fs::read(site.file("canopy.tif")).unwrap();
    std::fs::write(site.file("canopy.tif"), &whole[..whole.len() / 8]).unwrap();
    let run = site.run("map");
    assert!(matches!(run.code, Some(1 | 3)), "{}", run.err);
    assert!(run.err.contains("canopy.tif"), "{}", run.err);
    assert!(!site.file("out").exists() && !site.file("out.partial").exists());
}

#[test]
fn a_layer_of_points_is_no_soil_map() {
    let site = Site::sound();
    site.soils(&[("Well drained", "POINT (50 50)".to_owned())]);
    assert_snapshot!(site.refusal(1), @r"
    error: factors.drainage: of 1 feature of soils.gpkg near the area none is a polygon, and polygons are needed to own its ground
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    ");
}

#[test]
fn elevation_without_a_unit() {
    let mut site = Site::sound();
    let heights = RasterPlan {
        nodata: Some(-9999.0),
        ..CANOPY_PLAN
    };
    heights.write(&site.file("heights.tif"), |x, _| (x / 10.0).sin());
    site.factors
        .push_str("[factors.slope]\nelevation = \"heights.tif\"\n");
    assert_snapshot!(site.refusal(1), @r#"
    error: factors.slope: heights.tif names no unit of its heights: say `vertical_unit = "m"` or `"ft"`, or what is computed from them would be wrong
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    "#);
}

#[test]
fn a_project_file_or_text_in_the_place_of_a_layer() {
    let site = Site::sound();
    std::fs::write(site.file("canopy.tif"), "no raster").unwrap();
    std::fs::write(site.file("soils.gpkg"), "no layer").unwrap();
    assert_snapshot!(site.refusal(1), @r"
    error: factors.canopy: FOLDER/canopy.tif cannot be read as a raster: `FOLDER/canopy.tif' not recognized as a supported file format.
    factors.drainage: FOLDER/soils.gpkg cannot be read as a vector file: `FOLDER/soils.gpkg' not recognized as a supported file format.
    try: mend the layers or their keys; `groundfit check PROJECT` tells all of it without a run
    ");
}
