use std::fs;

use super::*;
use crate::gis::read_table::read_table;
use crate::output::Expected;
use crate::output::example_site::{Example, awkward};

#[test]
fn zones_and_their_species_are_read_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("zones.gpkg");
    let example = Example::two_zones();
    let written = write_geopackage(&path, &example.site(), RowChoice::All, 0).unwrap();
    assert_eq!(written, (2, 6));
    Expected::GeoPackage {
        zones: 2,
        zone_species: 6,
    }
    .verify(&path)
    .unwrap();
    let zones = read_table(&path, "zones");
    assert_eq!(zones.epsg, Some(26915));
    assert_eq!(zones.value(0, "zone_id"), Some("z-500000-4800000"));
    assert_eq!(zones.value(0, "area_ha"), Some("0.25001234"));
    assert_eq!(zones.value(0, "best_class_words"), Some("well suited"));
    assert_eq!(zones.value(0, "ground_drainage"), Some("poorly drained"));
    assert_eq!(zones.value(0, "ground_ph"), Some("6.1235"));
    assert_eq!(zones.value(1, "ground_ph"), None);
    assert_eq!(zones.value(1, "best_class"), None);
    assert_eq!(zones.value(1, "below_support_of"), Some("ph"));
    assert_eq!(
        zones.geometries[1],
        ("POLYGON".to_owned(), 2_400.0),
        "the hole is a hole"
    );
    let species = read_table(&path, "zone_species");
    assert_eq!(species.value(1, "listing"), Some("mostly"));
    assert_eq!(species.value(1, "limiting_factors"), Some("ph, drainage"));
    assert_eq!(species.value(1, "value_needed"), Some("needed for factor 1"));
    assert_eq!(species.value(5, "listing"), Some("not known"));
    assert_eq!(species.value(5, "share"), None, "unknown is not a share of 0");
    assert_eq!(species.value(5, "not_known_without"), Some("ph"));
    let styles = read_table(&path, "layer_styles");
    assert_eq!(styles.value(0, "f_table_name"), Some("zones"));
    assert!(styles.value(0, "styleSLD").unwrap().contains("2 species listed"));
}

#[test]
fn awkward_names_come_back_as_they_went() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("zones.gpkg");
    let example = awkward();
    write_geopackage(&path, &example.site(), RowChoice::All, 0).unwrap();
    let species = read_table(&path, "zone_species");
    assert_eq!(
        species.value(0, "common_name"),
        Some(example.species[2].common_name.as_str())
    );
    assert_eq!(
        species.value(1, "common_name"),
        Some(example.species[0].common_name.as_str())
    );
    assert_eq!(
        species.value(2, "common_name"),
        Some(example.species[1].common_name.as_str())
    );
    let zones = read_table(&path, "zones");
    assert_eq!(zones.value(0, "ground_ph"), Some("poorly drained"));
    assert_eq!(zones.value(0, "ground_PH_2"), Some("6.1235"));
}

#[test]
fn no_zones_give_a_file_without_rows() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("zones.gpkg");
    let written = write_geopackage(&path, &Example::empty().site(), RowChoice::All, 0).unwrap();
    assert_eq!(written, (0, 0));
    assert!(
        read_table(&path, "zones")
            .columns
            .contains(&"recommended".to_owned())
    );
}

#[test]
fn the_same_zones_give_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let (one, other) = (folder.path().join("1.gpkg"), folder.path().join("2.gpkg"));
    let example = Example::two_zones();
    write_geopackage(&one, &example.site(), RowChoice::All, 1_000_000_000).unwrap();
    write_geopackage(&other, &example.site(), RowChoice::All, 1_000_000_000).unwrap();
    assert!(fs::read(&one).unwrap() == fs::read(&other).unwrap());
}
