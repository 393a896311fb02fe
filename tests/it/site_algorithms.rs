//! Burning and slope against GDAL's own, on polygons and elevations drawn at
//! random. All data here is invented.

#![allow(
    clippy::unwrap_used,
    clippy::float_cmp,
    reason = "functions outside the test functions, and exact values, are tests too"
)]

use gdal::raster::processing::dem::{AspectOptions, DemSlopeAlg, SlopeOptions, aspect, slope};
use gdal::raster::{Buffer, MergeAlgorithm, RasterizeOptions, rasterize};
use gdal::{Dataset, DriverManager};
use geo::{Distance, Euclidean, LineString, MultiPolygon, Point, Polygon};
use groundfit::grid::{CellIndex, Crs, Extent, Grid, Raster, Window};
use groundfit::site::burn::{OVERLAP, PolygonIndex};
use groundfit::site::slope::{Gradient, slope_pct};
use groundfit::site::terrain::facing::aspect_deg;
use proptest::prelude::*;

const ROWS: usize = 90;
const COLS: usize = 70;
const CELL_M: f64 = 5.0;
const WEST: f64 = 500_000.0;
const NORTH: f64 = 4_900_000.0;

fn grid() -> Grid {
    let extent = Extent {
        west: WEST,
        south: NORTH - 90.0 * CELL_M,
        east: WEST + 70.0 * CELL_M,
        north: NORTH,
    };
    let crs = Crs {
        wkt: String::new(),
        name: "plane".to_owned(),
        code: None,
    };
    Grid::covering(&extent, CELL_M, crs).unwrap()
}

fn dataset<T: gdal::raster::GdalType>(rows: usize, cols: usize) -> Dataset {
    let memory = DriverManager::get_driver_by_name("MEM").unwrap();
    let mut dataset = memory.create_with_band_type::<T, _>("", cols, rows, 1).unwrap();
    dataset
        .set_geo_transform(&[WEST, CELL_M, 0.0, NORTH, 0.0, -CELL_M])
        .unwrap();
    dataset
}

fn values<T: gdal::raster::GdalType + Copy>(dataset: &Dataset, rows: usize, cols: usize) -> Vec<T> {
    let band = dataset.rasterband(1).unwrap();
    band.read_as::<T>((0, 0), (cols, rows), (cols, rows), None)
        .unwrap()
        .data()
        .to_vec()
}

fn well_known_text(polygon: &MultiPolygon<f64>) -> String {
    let ring = |ring: &LineString<f64>| {
        let points: Vec<String> = ring
            .coords()
            .map(|point| format!("{} {}", point.x, point.y))
            .collect();
        format!("({})", points.join(","))
    };
    let parts: Vec<String> = polygon
        .iter()
        .map(|part| {
            let rings = std::iter::once(part.exterior()).chain(part.interiors());
            format!("({})", rings.map(ring).collect::<Vec<_>>().join(","))
        })
        .collect();
    format!("MULTIPOLYGON({})", parts.join(","))
}

/// The polygons that hold each cell's centre, one bit for each, as GDAL has it.
fn holders_by_gdal(polygons: &[MultiPolygon<f64>]) -> Vec<u32> {
    let mut burned = dataset::<u32>(ROWS, COLS);
    let geometries: Vec<gdal::vector::Geometry> = polygons
        .iter()
        .map(|polygon| gdal::vector::Geometry::from_wkt(&well_known_text(polygon)).unwrap())
        .collect();
    let bits: Vec<f64> = (0..polygons.len())
        .map(|number| f64::from(1u32 << number))
        .collect();
    let options = RasterizeOptions {
        merge_algorithm: MergeAlgorithm::Add,
        ..RasterizeOptions::default()
    };
    rasterize(&mut burned, &[1], &geometries, &bits, Some(options)).unwrap();
    values(&burned, ROWS, COLS)
}

fn on_an_edge(polygons: &[MultiPolygon<f64>], x: f64, y: f64) -> bool {
    let centre = Point::new(x, y);
    polygons.iter().flatten().any(|part| {
        std::iter::once(part.exterior())
            .chain(part.interiors())
            .any(|ring| Euclidean.distance(&centre, ring) < 1e-5)
    })
}

/// Cells whose owner is not what GDAL says, and of these the ones whose centre is
/// not on an edge.
fn differences(polygons: &[MultiPolygon<f64>]) -> (usize, usize) {
    let grid = grid();
    let owners = PolygonIndex::new(&grid, polygons).unwrap().owners(grid.window());
    let holders = holders_by_gdal(polygons);
    let (mut differing, mut unexplained) = (0, 0);
    for row in 0..ROWS {
        for col in 0..COLS {
            let cell = CellIndex { row, col };
            let holders = holders[row * COLS + col];
            let wanted = match holders.count_ones() {
                0 => None,
                1 => Some(holders.trailing_zeros()),
                _ => Some(OVERLAP),
            };
            if owners.polygons.get(cell) != wanted {
                differing += 1;
                let (x, y) = grid.cell_to_map(cell);
                unexplained += usize::from(!on_an_edge(polygons, x, y));
            }
        }
    }
    (differing, unexplained)
}

/// Rings round a centre, with every corner inside the circle, and a hole.
fn blobs(round_to_half_cells: bool) -> impl Strategy<Value = Vec<MultiPolygon<f64>>> {
    let one = (
        (0.0..350.0, 0.0..450.0),
        15.0..250.0,
        proptest::collection::vec(0.6..1.0, 3..15),
    );
    proptest::collection::vec(one, 1..6).prop_map(move |blobs| {
        let half_cell = CELL_M / 2.0;
        let rounded = |place: f64| {
            if round_to_half_cells {
                (place / half_cell).round() * half_cell
            } else {
                place
            }
        };
        blobs
            .into_iter()
            .map(|((x, y), radius, shares): ((f64, f64), f64, Vec<f64>)| {
                let ring = |shrunk: f64| {
                    let corners = f64::from(u32::try_from(shares.len()).unwrap());
                    let points = (0u32..).zip(&shares).map(|(corner, share)| {
                        let angle = f64::from(corner) / corners * std::f64::consts::TAU + 0.1;
                        let from_centre = radius * share * shrunk;
                        (
                            WEST + rounded(x + from_centre * angle.cos()),
                            NORTH - rounded(y + from_centre * angle.sin()),
                        )
                    });
                    points.collect::<LineString<f64>>()
                };
                MultiPolygon(vec![Polygon::new(ring(1.0), vec![ring(0.3)])])
            })
            .collect()
    })
}

/// Hills with a gap or two, as elevations of `ROWS` x `COLS` cells.
fn elevations() -> impl Strategy<Value = Vec<f32>> {
    let gaps = proptest::collection::vec(0..ROWS * COLS, 0..20);
    (proptest::collection::vec(0.0f32..900.0, ROWS * COLS), gaps).prop_map(|(mut values, gaps)| {
        for gap in gaps {
            values[gap] = f32::NAN;
        }
        values
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(60) })]

    #[test]
    fn polygons_own_the_cells_that_gdal_burns(polygons in blobs(false)) {
        prop_assert_eq!(differences(&polygons).1, 0);
    }

    #[test]
    fn owners_differ_from_gdal_only_where_a_centre_is_on_an_edge(polygons in blobs(true)) {
        prop_assert_eq!(differences(&polygons).1, 0);
    }

    #[test]
    fn slope_is_that_of_gdal(values in elevations(), metres_per_unit in 0.2..1.2f64) {
        const NODATA: f32 = -9999.0;
        let known = values.iter().map(|value| if value.is_nan() { NODATA } else { *value }).collect();
        let ground = dataset::<f32>(ROWS, COLS);
        let mut band = ground.rasterband(1).unwrap();
        band.set_no_data_value(Some(f64::from(NODATA))).unwrap();
        band.write((0, 0), (COLS, ROWS), &mut Buffer::new((COLS, ROWS), known)).unwrap();

        let folder = tempfile::tempdir().unwrap();
        let mut options = SlopeOptions::new();
        options
            .with_algorithm(DemSlopeAlg::Horn)
            .with_percentage_results(true)
            .with_scale(1.0 / metres_per_unit);
        let theirs = slope(&ground, folder.path().join("slope.tif"), &options).unwrap();
        let theirs = self::values::<f32>(&theirs, ROWS, COLS);

        let elevations = Raster::new(ROWS, COLS, values).unwrap();
        let ours = slope_pct(&elevations, CELL_M, metres_per_unit);
        prop_assert_eq!((ours.rows(), ours.cols()), (ROWS - 2, COLS - 2));
        let inner = Window { row: 1, col: 1, rows: ROWS - 2, cols: COLS - 2 };
        for row in inner.row..inner.row_end() {
            for col in inner.col..inner.col_end() {
                let wanted = theirs[row * COLS + col];
                match ours.get(CellIndex { row: row - 1, col: col - 1 }) {
                    None => prop_assert_eq!(wanted, NODATA),
                    // GDAL sums in f32.
                    Some(found) => prop_assert!((found - wanted).abs() <= 1e-3 + wanted * 1e-5),
                }
            }
        }
    }
    #[test]
    fn aspect_is_that_of_gdal(values in elevations()) {
        const NODATA: f32 = -9999.0;
        let known = values.iter().map(|value| if value.is_nan() { NODATA } else { *value }).collect();
        let ground = dataset::<f32>(ROWS, COLS);
        let mut band = ground.rasterband(1).unwrap();
        band.set_no_data_value(Some(f64::from(NODATA))).unwrap();
        band.write((0, 0), (COLS, ROWS), &mut Buffer::new((COLS, ROWS), known)).unwrap();

        let folder = tempfile::tempdir().unwrap();
        let mut options = AspectOptions::new();
        options.with_algorithm(DemSlopeAlg::Horn);
        let theirs = aspect(&ground, folder.path().join("aspect.tif"), &options).unwrap();
        let theirs = self::values::<f32>(&theirs, ROWS, COLS);
        for row in 1..ROWS - 1 {
            for col in 1..COLS - 1 {
                let at = |down: usize, right: usize| f64::from(values[(row + down - 1) * COLS + col + right - 1]);
                let nine = [0, 1, 2].map(|down| [0, 1, 2].map(|right| at(down, right)));
                let wanted = theirs[row * COLS + col];
                if nine[1][1].is_nan() {
                    continue;
                }
                match aspect_deg(Gradient::horn(nine, CELL_M)) {
                    None => prop_assert_eq!(wanted, NODATA),
                    Some(found) => {
                        let apart = (found - f64::from(wanted)).abs();
                        // GDAL sums in f32.
                        prop_assert!(apart.min(360.0 - apart) <= 0.05, "{} is not {}", found, wanted);
                    }
                }
            }
        }
    }
}
