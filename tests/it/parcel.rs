//! A made-up parcel: a meadow, a wood in the north, a salted road along the south
//! edge, and a wet corner just over the smallest size. What is small but different
//! stays a zone of its own under the default settings.

use std::path::{Path, PathBuf};

use crate::output_files::{OutputFiles, is_listed};
use crate::program::map;
use crate::scenario::{
    EAST_M, Field, NORTH_M, PLANE, RasterPlan, placed, rectangle, write_layer, write_project,
};

pub const WIDE_M: f64 = 400.0;
pub const HIGH_M: f64 = 300.0;
pub const ROAD_Y: f64 = 12.0;

/// The CRS of each layer, and the grid.
#[derive(Debug, Clone, Copy)]
pub struct Parcel {
    pub boundary: u32,
    pub soils: u32,
    pub canopy: u32,
    pub roads: u32,
    /// Cell of the canopy raster in its own unit.
    pub canopy_cell: f64,
    /// West, south, east and north of the wet corner.
    pub corner: [f64; 4],
    /// Lines of the area's section that lay the grid.
    pub grid: &'static str,
}

pub const PARCEL: Parcel = Parcel {
    boundary: PLANE,
    soils: PLANE,
    canopy: PLANE,
    roads: PLANE,
    canopy_cell: 5.0,
    // 30 x 35 m, 0.105 ha: just over the smallest size.
    corner: [10.0, 140.0, 40.0, 175.0],
    grid: "grid_crs = \"EPSG:26915\"\ncell_m = 5",
};

impl Parcel {
    /// Writes layers and project file.
    pub fn write(&self, folder: &Path) -> PathBuf {
        let site = rectangle(0.0, 0.0, WIDE_M, HIGH_M);
        write_layer(
            &folder.join("boundary.gpkg"),
            self.boundary,
            &["name"],
            &[(vec![Field::Text("parcel")], site.clone())],
        );
        let [west, south, east, north] = self.corner;
        let corner = rectangle(west, south, east, north);
        let around = site.replace("))", &format!("), {}", corner.strip_prefix("POLYGON (").unwrap()));
        write_layer(
            &folder.join("soils.gpkg"),
            self.soils,
            &["drain", "ph"],
            &[
                (vec![Field::Text("Well drained"), Field::Number(6.5)], around),
                (
                    vec![Field::Text("Very poorly drained"), Field::Number(6.5)],
                    corner,
                ),
            ],
        );
        write_layer(
            &folder.join("roads.gpkg"),
            self.roads,
            &["class", "width_m"],
            &[(
                vec![Field::Text("highway"), Field::Number(8.0)],
                format!("LINESTRING (1 {ROAD_Y}, {} {ROAD_Y})", WIDE_M - 1.0),
            )],
        );
        let canopy = RasterPlan {
            west: -60.0,
            south: -60.0,
            east: WIDE_M + 60.0,
            north: HIGH_M + 60.0,
            cell: self.canopy_cell,
            epsg: self.canopy,
            nodata: Some(255.0),
        };
        canopy.write(&folder.join("canopy.tif"), cover_pct);
        write_project(
            folder,
            &format!(
                r#"
[area]
boundary = "boundary.gpkg"
{grid}

[catalogue]
folder = "CATALOGUE"

[factors.drainage]
layer = "soils.gpkg"
attribute = "drain"

[factors.ph]
layer = "soils.gpkg"
attribute = "ph"

[factors.canopy]
layer = "canopy.tif"

[factors.spray_salt]
distance_to = "roads.gpkg"
reach_m = 100
cuts = [
  {{ to = 12, class = "severe" }},
  {{ to = 20, class = "heavy" }},
  {{ to = 35, class = "moderate" }},
  {{ to = 100, class = "slight" }},
  {{ class = "none" }},
]

[[exclude]]
name = "pavement"
layer = "roads.gpkg"
width_attribute = "width_m"

[outputs]
folder = "out"
"#,
                grid = self.grid
            ),
        )
    }
}

/// Cover with some noise; the wood has an uneven edge.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped before"
)]
fn cover_pct(x: f64, y: f64) -> u8 {
    let wood = y > 215.0 + 12.0 * (x / 40.0).sin();
    let noise = ((x * 12.9898 + y * 78.233).sin() * 43_758.545_3).fract() * 3.0;
    (if wood { 86.0 + noise } else { 4.0 + noise }).clamp(0.0, 100.0) as u8
}

/// The output of a parcel, asked at places in local metres.
pub struct Mapped {
    pub output: OutputFiles,
    _folder: tempfile::TempDir,
}

impl Mapped {
    pub fn of(parcel: &Parcel) -> Mapped {
        let folder = tempfile::tempdir().unwrap();
        let project = parcel.write(folder.path());
        let out = folder.path().join("out");
        map(&project, &out, &[]).expect(0);
        Mapped {
            output: OutputFiles::at(&out),
            _folder: folder,
        }
    }

    /// The number of the zone at a local place, with the CRS of the grid.
    pub fn zone_at(&self, x: f64, y: f64) -> crate::output_files::GpkgZone {
        let code = self.output.record()["grid"]["crs_code"]
            .as_str()
            .unwrap()
            .to_owned();
        let epsg = code.strip_prefix("EPSG:").unwrap().parse().unwrap();
        let (x, y, _) = placed(&format!("POINT ({x} {y})"), epsg).get_point(0);
        self.output.zone_at(x, y)
    }

    pub fn listed_at(&self, x: f64, y: f64) -> Vec<String> {
        let listings = self.output.listings_of(self.zone_at(x, y).number);
        let listed = listings.into_iter().filter(|(_, listing)| is_listed(listing));
        listed.map(|(species, _)| species).collect()
    }
}

impl Parcel {
    pub fn middle_of_corner(&self) -> (f64, f64) {
        let [west, south, east, north] = self.corner;
        (f64::midpoint(west, east), f64::midpoint(south, north))
    }
}

#[test]
fn a_small_wet_corner_and_the_roads_edge_stay_zones_of_their_own() {
    let mapped = Mapped::of(&PARCEL);
    let (x, y) = PARCEL.middle_of_corner();
    let corner = mapped.zone_at(x, y);
    let meadow = mapped.zone_at(250.0, 120.0);
    let edge = mapped.zone_at(200.0, ROAD_Y + 6.0);
    let wood = mapped.zone_at(200.0, 280.0);
    let numbers = [corner.number, meadow.number, edge.number, wood.number];
    for (place, number) in numbers.iter().enumerate() {
        assert!(!numbers[..place].contains(number), "{numbers:?}");
    }
    // The corner is where it was drawn: its 42 cells and no more.
    assert!((corner.area_ha - 0.105).abs() < 0.0002, "{}", corner.area_ha);
    let [west, south, east, north] = PARCEL.corner;
    let drawn = placed(&rectangle(west, south, east, north), PLANE);
    assert!(corner.shape.intersection(&drawn).unwrap().area() > 1_000.0);

    let lists: Vec<Vec<String>> = [(x, y), (250.0, 120.0), (200.0, ROAD_Y + 6.0), (200.0, 280.0)]
        .iter()
        .map(|&(x, y)| mapped.listed_at(x, y))
        .collect();
    let has = |place: usize, id: &str| lists[place].iter().any(|listed| listed == id);
    let (wet, dry) = ("asclepias-incarnata", "schizachyrium-scoparium");
    assert!(has(0, wet) && !has(0, dry), "{lists:?}");
    assert!(!has(1, wet) && has(1, dry), "{lists:?}");
    assert!(has(3, "carex-blanda") && !has(3, dry), "{lists:?}");
    // Spray takes most of the meadow's plants off the list beside the road.
    assert_ne!(lists[1], lists[2]);
    assert!(
        !has(2, "quercus-macrocarpa") && has(1, "quercus-macrocarpa"),
        "{lists:?}"
    );
}

#[test]
fn the_roads_edge_is_a_long_thin_zone() {
    let mapped = Mapped::of(&PARCEL);
    let edge = mapped.zone_at(200.0, ROAD_Y + 6.0).shape.envelope();
    assert!(edge.MaxX - edge.MinX > 0.9 * WIDE_M);
    assert!(edge.MaxY - edge.MinY < 60.0);
    assert!(edge.MinX >= EAST_M && edge.MinY >= NORTH_M);
}
