//! The main job on a copy of the sample site: its files, read back by other
//! libraries, hold what they promise.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::OnceLock;

use gdal::raster::{MergeAlgorithm, RasterizeOptions, rasterize};
use gdal::vector::LayerAccess;
use gdal::{Dataset, DriverManager};
use geo::{Area, MultiPolygon};
use groundfit::gis;
use groundfit::grid::{Extent, Grid};
use tempfile::TempDir;

use crate::output_files::OutputFiles;
use crate::program::{Run, map, names_in, sample_copy};

pub struct Job {
    _folder: TempDir,
    pub project: PathBuf,
    pub output: OutputFiles,
    said: Run,
}

/// One run for all tests of what it writes, with outlines as the cells have them.
pub fn job() -> &'static Job {
    static JOB: OnceLock<Job> = OnceLock::new();
    JOB.get_or_init(|| {
        let (folder, project) = sample_copy();
        let text = std::fs::read_to_string(&project).unwrap();
        assert!(text.contains("simplify_m = 2.5"));
        std::fs::write(&project, text.replace("simplify_m = 2.5", "simplify_m = 0")).unwrap();
        let out = folder.path().join("results/first");
        let said = map(&project, &out, &["--json"]).expect(0);
        Job {
            _folder: folder,
            project,
            output: OutputFiles::at(&out),
            said,
        }
    })
}

fn grid_of(output: &OutputFiles) -> Grid {
    let record = output.record();
    let number = |key: &str| record["grid"]["extent"][key].as_f64().unwrap();
    let extent = Extent {
        west: number("west"),
        south: number("south"),
        east: number("east"),
        north: number("north"),
    };
    let crs = gis::crs_from_text(record["grid"]["crs_code"].as_str().unwrap()).unwrap();
    Grid::covering(&extent, record["grid"]["cell_m"].as_f64().unwrap(), crs).unwrap()
}

/// 1 where a cell is rated for any species, from `ratings.tif`.
fn rated_cells(output: &OutputFiles) -> (usize, usize, Vec<u8>) {
    let ratings = Dataset::open(output.file("ratings.tif")).unwrap();
    let (cols, rows) = ratings.raster_size();
    let mut rated = vec![0; rows * cols];
    for band in 1..=ratings.raster_count() {
        let band = ratings.rasterband(band).unwrap();
        assert_eq!(band.no_data_value(), Some(255.0));
        assert_eq!(band.scale(), Some(0.005));
        let bytes = band
            .read_as::<u8>((0, 0), (cols, rows), (cols, rows), None)
            .unwrap();
        for (rated, byte) in rated.iter_mut().zip(bytes.data()) {
            if *byte != 255 {
                assert!(*byte <= 200);
                *rated = 1;
            }
        }
    }
    (rows, cols, rated)
}

#[test]
fn all_files_are_there_and_no_other() {
    let job = job();
    let names = names_in(&job.output.folder);
    let wanted = [
        "ratings.tif",
        "report.html",
        "run.json",
        "zone_species.csv",
        "zones.geojson",
        "zones.gpkg",
        "zones.merges",
        "zones.sums",
    ];
    assert_eq!(names, wanted);
    assert_eq!(names_in(job.output.folder.parent().unwrap()), ["first"]);
    let record = job.output.record();
    assert_eq!(job.said.json(), record);
    for output in record["outputs"].as_array().unwrap() {
        let size = std::fs::metadata(job.output.file(output["file"].as_str().unwrap())).unwrap();
        assert_eq!(output["bytes"], size.len());
    }
}

#[test]
fn the_counts_of_every_file_agree() {
    let job = job();
    let record = job.output.record();
    let zones = job.output.zones();
    let count = zones.len();
    assert!(count > 3);
    let species = record["counts"]["species"].as_u64().unwrap();
    assert_eq!(species, 24);
    assert_eq!(record["counts"]["zones"], count);
    assert_eq!(job.output.features().len(), count);
    let listings = job.output.listings();
    let rows = u64::try_from(count).unwrap() * species;
    assert_eq!(u64::try_from(listings.len()).unwrap(), rows);
    let package = Dataset::open(job.output.file("zones.gpkg")).unwrap();
    let table = package.layer_by_name("zone_species").unwrap();
    assert_eq!(table.feature_count(), rows);
    let by_gdal = Dataset::open(job.output.file("zones.geojson")).unwrap();
    let layer = by_gdal.layer(0).unwrap();
    assert_eq!(layer.feature_count(), u64::try_from(count).unwrap());
    assert_eq!(layer.spatial_ref().unwrap().auth_code().unwrap(), 4326);
    let zones_layer = package.layer_by_name("zones").unwrap();
    assert_eq!(zones_layer.spatial_ref().unwrap().auth_code().unwrap(), 26915);
    let rated = rated_cells(&job.output)
        .2
        .into_iter()
        .filter(|&rated| rated == 1)
        .count();
    assert_eq!(record["counts"]["rated_cells"], rated);
}

#[test]
fn every_rated_cell_lies_in_exactly_one_zone_and_areas_add_up() {
    let job = job();
    let (rows, cols, rated) = rated_cells(&job.output);
    let zones = job.output.zones();
    let grid = grid_of(&job.output);
    assert_eq!((grid.rows(), grid.cols()), (rows, cols));

    let memory = DriverManager::get_driver_by_name("MEM").unwrap();
    let mut burned = memory.create_with_band_type::<u8, _>("", cols, rows, 1).unwrap();
    let extent = grid.extent();
    burned
        .set_geo_transform(&[extent.west, grid.cell_m(), 0.0, extent.north, 0.0, -grid.cell_m()])
        .unwrap();
    let shapes: Vec<_> = zones.iter().map(|zone| zone.shape.clone()).collect();
    let options = RasterizeOptions {
        merge_algorithm: MergeAlgorithm::Add,
        ..RasterizeOptions::default()
    };
    rasterize(
        &mut burned,
        &[1],
        &shapes,
        &vec![1.0; shapes.len()],
        Some(options),
    )
    .unwrap();
    let band = burned.rasterband(1).unwrap();
    let holders = band
        .read_as::<u8>((0, 0), (cols, rows), (cols, rows), None)
        .unwrap();
    assert!(holders.data() == rated, "a rated cell is in no zone or in two");

    let areas = gis::cell_areas(&grid).unwrap();
    let mut total_mm2 = 0_u64;
    for row in 0..rows {
        for col in 0..cols {
            if rated[row * cols + col] == 1 {
                total_mm2 += areas.run_mm2(row, col, col + 1);
            }
        }
    }
    #[expect(clippy::cast_precision_loss, reason = "a sum of millimetres")]
    let total_ha = total_mm2 as f64 / 1e10;
    let zones_ha: f64 = zones.iter().map(|zone| zone.area_ha).sum();
    assert!((zones_ha - total_ha).abs() < 1e-6, "{zones_ha} {total_ha}");
    for zone in &zones {
        // On the plane of the grid, whose scale here is within 1 in 2,000 of true.
        assert!(
            (zone.shape.area() / 1e4 / zone.area_ha - 1.0).abs() < 1e-3,
            "zone {}",
            zone.number
        );
    }
}

#[test]
fn areas_in_geojson_are_those_of_the_package_and_rings_turn_as_the_standard_says() {
    let job = job();
    let zones: BTreeMap<String, f64> = job
        .output
        .zones()
        .into_iter()
        .map(|zone| (zone.id, zone.area_ha))
        .collect();
    let features = job.output.features();
    let mut numbers = BTreeSet::new();
    for feature in &features {
        let Some(geojson::feature::Id::String(id)) = &feature.id else {
            panic!("a feature without an id");
        };
        let properties = feature.properties.as_ref().unwrap();
        // Files for people round to a square metre or so; both round alike.
        let area_ha = properties["area_ha"].as_f64().unwrap();
        assert!(
            (area_ha - zones[id]).abs() < 1e-9,
            "{id}: {area_ha} {}",
            zones[id]
        );
        let acres = properties["area_ac"].as_f64().unwrap();
        assert!((acres / area_ha - 2.471_053_8).abs() < 2e-3, "{acres} {area_ha}");
        numbers.insert(properties["zone"].as_u64().unwrap());
        let shape: geo::Geometry<f64> = feature.geometry.clone().unwrap().try_into().unwrap();
        let polygons = match shape {
            geo::Geometry::Polygon(polygon) => MultiPolygon(vec![polygon]),
            geo::Geometry::MultiPolygon(polygons) => polygons,
            other => panic!("{other:?}"),
        };
        for polygon in &polygons {
            assert!(geo::Polygon::new(polygon.exterior().clone(), vec![]).signed_area() > 0.0);
            for hole in polygon.interiors() {
                assert!(geo::Polygon::new(hole.clone(), vec![]).signed_area() < 0.0);
            }
        }
        let listed = properties["listed"].as_u64().unwrap();
        assert_eq!(
            u64::try_from(properties["species"].as_array().unwrap().len()).unwrap(),
            listed
        );
    }
    assert_eq!(numbers.len(), features.len());
    assert_eq!(*numbers.last().unwrap(), u64::try_from(features.len()).unwrap());
}

/// The bits of a coordinate pair, which are the same or not.
type Place = (u64, u64);

/// Zones share their borders point for point: each stretch between two zones stands
/// in both, once in each direction.
fn borders_are_shared(rings: &[(i64, Vec<Place>)], outer_length: Option<f64>) {
    let mut stretches: BTreeMap<[Place; 2], Vec<(i64, bool)>> = BTreeMap::new();
    for (zone, ring) in rings {
        assert_eq!(ring.first(), ring.last());
        for pair in ring.windows(2) {
            assert_ne!(pair[0], pair[1]);
            let forward = pair[0] < pair[1];
            let key = if forward {
                [pair[0], pair[1]]
            } else {
                [pair[1], pair[0]]
            };
            stretches.entry(key).or_default().push((*zone, forward));
        }
    }
    let (mut shared, mut outer) = (0, 0.0);
    for (stretch, users) in &stretches {
        match users[..] {
            [_] => {
                let [one, other] = stretch.map(|(x, y)| (f64::from_bits(x), f64::from_bits(y)));
                outer += (one.0 - other.0).hypot(one.1 - other.1);
            }
            [(one, forward), (other, backward)] => {
                assert!(one != other && forward != backward, "{users:?}");
                shared += 1;
            }
            _ => panic!("{} outlines use one stretch", users.len()),
        }
    }
    assert!(shared > 100, "{shared}");
    if let Some(wanted) = outer_length {
        assert!((outer / wanted - 1.0).abs() < 1e-9, "{outer} {wanted}");
    }
}

fn bits(ring: &[(f64, f64)]) -> Vec<Place> {
    ring.iter().map(|(x, y)| (x.to_bits(), y.to_bits())).collect()
}

#[test]
fn neighbours_share_their_borders_before_and_after_simplifying() {
    let job = job();
    let folder = tempfile::tempdir().unwrap();
    let simplified = folder.path().join("out");
    map(&crate::program::sample().join("project.toml"), &simplified, &[]).expect(0);
    for output in [&job.output, &OutputFiles::at(&simplified)] {
        let zones = output.zones();
        let rings: Vec<_> = zones
            .iter()
            .flat_map(|zone| zone.rings.iter().map(|ring| (zone.number, bits(ring))))
            .collect();
        // What only one zone uses is the outline of all of them together.
        let mut all = zones[0].shape.clone();
        for zone in &zones[1..] {
            assert!(zone.shape.is_valid());
            all = all.union(&zone.shape).unwrap();
        }
        let around: f64 = crate::output_files::rings_of(&all)
            .iter()
            .flat_map(|ring| {
                ring.windows(2)
                    .map(|pair| (pair[0].0 - pair[1].0).hypot(pair[0].1 - pair[1].1))
            })
            .sum();
        borders_are_shared(&rings, Some(around));

        let rings: Vec<_> = output
            .features()
            .iter()
            .flat_map(|feature| {
                let zone = feature.properties.as_ref().unwrap()["zone"].as_i64().unwrap();
                geographic_rings(feature)
                    .into_iter()
                    .map(move |ring| (zone, bits(&ring)))
            })
            .collect();
        borders_are_shared(&rings, None);
    }
}

fn geographic_rings(feature: &geojson::Feature) -> Vec<Vec<(f64, f64)>> {
    let shape: geo::Geometry<f64> = feature.geometry.clone().unwrap().try_into().unwrap();
    let polygons = match shape {
        geo::Geometry::Polygon(polygon) => vec![polygon],
        geo::Geometry::MultiPolygon(polygons) => polygons.0,
        other => panic!("{other:?}"),
    };
    polygons
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
        .map(|ring| ring.coords().map(|point| (point.x, point.y)).collect())
        .collect()
}

#[test]
fn stable_ids_are_unique_and_the_same_in_the_next_run() {
    let job = job();
    let folder = tempfile::tempdir().unwrap();
    let again = folder.path().join("again");
    map(&job.project, &again, &[]).expect(0);
    let ids = |output: &OutputFiles| -> BTreeMap<i64, String> {
        output
            .zones()
            .into_iter()
            .map(|zone| (zone.number, zone.id))
            .collect()
    };
    let first = ids(&job.output);
    assert_eq!(first, ids(&OutputFiles::at(&again)));
    assert_eq!(first.values().collect::<BTreeSet<_>>().len(), first.len());
}
