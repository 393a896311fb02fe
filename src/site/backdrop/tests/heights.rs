//! Heights of planes, with and without holes, however large cells are.

use super::*;

fn near(heights: &Heights, error: f64) {
    // 40 x 30 cells: coarse ones of 7 x 7, the last of which reach beyond the grid.
    assert_eq!((heights.cell, heights.rows, heights.cols), (7, 5, 6));
    for (at, &found) in heights.metres.iter().enumerate() {
        let (row, col) = ((at / 6) as f64, (at % 6) as f64);
        let expected = plane(35.0 + 70.0 * col, 300.0 - 35.0 - 70.0 * row);
        assert!(
            (f64::from(found) - expected).abs() < error,
            "row {row}, column {col}: {found} is not {expected}"
        );
    }
}

#[test]
fn heights_of_a_plane_are_those_at_the_middles_of_coarse_cells() {
    let folder = folder();
    // Half a cell of the rasters off would be 0.2 m and more.
    for (cell_m, error) in [(10.0, 1e-4), (4.0, 0.02), (20.0, 1e-4), (25.0, 1e-4)] {
        raster(&folder.path().join("dem.asc"), cell_m, plane);
        let backdrop = read(&folder, &format!("{SLOPE}vertical_unit = \"m\""), WANTED).unwrap();
        near(&backdrop.heights.unwrap(), error);
    }
}

#[test]
fn heights_in_feet_come_in_metres_whatever_they_are_for() {
    let folder = folder();
    raster(&folder.path().join("dem.asc"), 10.0, |x, y| plane(x, y) / 0.3048);
    for factor in [
        "[factors.slope]",
        "[factors.aspect]",
        "[factors.heat_load]",
        "[factors.sun_hours]\nreach_m = 50",
    ] {
        let section =
            format!("{factor}\nelevation = \"dem.asc\"\ncrs = \"EPSG:26915\"\nvertical_unit = \"ft\"\n");
        near(&read(&folder, &section, WANTED).unwrap().heights.unwrap(), 1e-3);
    }
}

#[test]
fn heights_below_a_pavement_serve_where_there_are_no_others() {
    let folder = folder();
    raster(&folder.path().join("dem.asc"), 10.0, |x, y| plane(x, y) / 0.3048);
    let road = [("LineString", &[(0.0, 150.0), (400.0, 150.0)][..])];
    layer(&folder.path().join("roads.geojson"), &road);
    let soils = [(0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 0.0)];
    layer(&folder.path().join("soils.geojson"), &[("Polygon", &soils)]);
    let rest = "[road_salt]\nroads = \"roads.geojson\"\nclass_attribute = \"class\"\nwinter_wind_from = \"N\"\n\
        [road_salt.root_zone]\nwater_surplus_mm = 250\nwater_surplus_source = \"invented\"\n\
        elevation = \"dem.asc\"\ncrs = \"EPSG:26915\"\nvertical_unit = \"ft\"\n\
        [factors.drainage]\nlayer = \"soils.geojson\"\nattribute = \"class\"\nwords = { local = \"well drained\" }\n\
        [factors.soil_salinity]\nfrom = \"road_salt\"\n";
    near(&read(&folder, rest, WANTED).unwrap().heights.unwrap(), 1e-3);
}

#[test]
fn a_hole_stays_missing_and_a_number_for_no_data_spoils_no_mean() {
    let folder = folder();
    raster(&folder.path().join("dem.asc"), 10.0, |x, y| {
        let hole = (140.0..210.0).contains(&x) && (160.0..230.0).contains(&y);
        match (x, y) {
            _ if hole => -1000.5,
            // One cell in the middle of the coarse cell in the corner.
            (35.0, 265.0) => -9999.0,
            _ => plane(x, y),
        }
    });
    let backdrop = read(&folder, &format!("{SLOPE}vertical_unit = \"m\""), WANTED).unwrap();
    let heights = backdrop.heights.unwrap();
    let missing: Vec<usize> = (0..30).filter(|&at| heights.metres[at].is_nan()).collect();
    assert_eq!(missing, [6 + 2]);
    assert!((f64::from(heights.metres[0]) - plane(35.0, 265.0)).abs() < 1e-4);
}

#[test]
fn any_number_of_coarse_cells_gives_the_plane() {
    let folder = folder();
    raster(&folder.path().join("dem.asc"), 10.0, plane);
    for most_cells in [0, 1, 7, 39, 40, 5_000] {
        let wanted = BackdropWanted { most_cells, ..WANTED };
        let backdrop = read(&folder, &format!("{SLOPE}vertical_unit = \"m\""), wanted).unwrap();
        let heights = backdrop.heights.unwrap();
        assert!(heights.cols <= most_cells.max(1) && heights.cell == 40_usize.div_ceil(heights.cols));
        let side = 10.0 * heights.cell as f64;
        for (at, &found) in heights.metres.iter().enumerate() {
            let (row, col) = ((at / heights.cols) as f64, (at % heights.cols) as f64);
            let (x, y) = ((col + 0.5) * side, 300.0 - (row + 0.5) * side);
            // Beyond the raster a coarse cell is the mean of what is known.
            if x + side / 2.0 <= 500.0 && y - side / 2.0 >= -100.0 {
                assert!((f64::from(found) - plane(x, y)).abs() < 1e-3);
            }
        }
    }
}
