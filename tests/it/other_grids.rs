//! The made-up parcel with its layers in several CRS, other cells, and the grid left
//! to the program.

use crate::parcel::{HIGH_M, Mapped, PARCEL, Parcel, ROAD_Y, WIDE_M};

/// The parcel with a corner that stays over the smallest size in any cells.
const LARGER: Parcel = Parcel {
    corner: [10.0, 140.0, 50.0, 180.0],
    ..PARCEL
};

/// Wherever the layers come from, the four zones are there and areas agree.
fn is_the_parcel(parcel: &Parcel, cell_m: f64, crs_code: &str) {
    let mapped = Mapped::of(parcel);
    let record = mapped.output.record();
    assert_eq!(record["grid"]["cell_m"], cell_m);
    assert_eq!(record["grid"]["crs_code"], crs_code);
    let zones = mapped.output.zones();
    let rated_m2: f64 = zones.iter().map(|zone| zone.area_ha * 1e4).sum();
    // All but the pavement, 8 m wide.
    let wanted_m2 = WIDE_M * (HIGH_M - 8.0);
    assert!(
        (rated_m2 / wanted_m2 - 1.0).abs() < 0.02,
        "{rated_m2} {wanted_m2}"
    );

    let (x, y) = parcel.middle_of_corner();
    let places = [(x, y), (250.0, 120.0), (200.0, ROAD_Y + 6.5), (200.0, 280.0)];
    let numbers = places.map(|(x, y)| mapped.zone_at(x, y).number);
    for (place, number) in numbers.iter().enumerate() {
        assert!(!numbers[..place].contains(number), "{numbers:?}");
    }
    let corner = mapped.zone_at(x, y);
    assert!((corner.area_ha / 0.16 - 1.0).abs() < 0.15, "{}", corner.area_ha);
    let wood = mapped.zone_at(200.0, 280.0);
    let wanted_ha = WIDE_M * (HIGH_M - 215.0) / 1e4;
    assert!((wood.area_ha / wanted_ha - 1.0).abs() < 0.06, "{}", wood.area_ha);
    let wet = mapped.listed_at(x, y);
    assert!(wet.iter().any(|id| id == "asclepias-incarnata"), "{wet:?}");
}

#[test]
fn layers_in_degrees_and_in_an_albers_projection() {
    let parcel = Parcel {
        boundary: 4326,
        soils: 5070,
        canopy: 4326,
        roads: 4326,
        canopy_cell: 5e-5,
        ..LARGER
    };
    is_the_parcel(&parcel, 5.0, "EPSG:26915");
}

#[test]
fn the_grid_is_chosen_where_the_project_names_none() {
    let parcel = Parcel {
        soils: 32615,
        canopy: 32615,
        roads: 4326,
        boundary: 4326,
        grid: "",
        ..LARGER
    };
    // A 200th of the site's width is finer than the canopy's 5 m.
    is_the_parcel(&parcel, 1.5, "EPSG:32615");
}

#[test]
fn a_cell_of_3_m_in_another_datum() {
    let parcel = Parcel {
        canopy: 5070,
        grid: "grid_crs = \"EPSG:32615\"\ncell_m = 3",
        ..LARGER
    };
    is_the_parcel(&parcel, 3.0, "EPSG:32615");
}

#[test]
fn a_grid_in_an_albers_projection() {
    let parcel = Parcel {
        roads: 32615,
        grid: "grid_crs = \"EPSG:5070\"\ncell_m = 4",
        ..LARGER
    };
    is_the_parcel(&parcel, 4.0, "EPSG:5070");
}

#[test]
fn a_cell_of_10_m_keeps_the_areas() {
    let parcel = Parcel {
        soils: 4326,
        canopy: 5070,
        grid: "grid_crs = \"EPSG:26915\"\ncell_m = 10",
        ..LARGER
    };
    let mapped = Mapped::of(&parcel);
    let rated_ha: f64 = mapped.output.zones().iter().map(|zone| zone.area_ha).sum();
    assert!(
        (rated_ha / (WIDE_M * (HIGH_M - 8.0) / 1e4) - 1.0).abs() < 0.03,
        "{rated_ha}"
    );
    let (x, y) = parcel.middle_of_corner();
    assert_ne!(mapped.zone_at(x, y).number, mapped.zone_at(250.0, 120.0).number);
}
