//! Reads the files of a run back with other libraries: GDAL, geojson, csv.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use gdal::Dataset;
use gdal::vector::{Geometry, LayerAccess};

/// The output of a run.
pub struct OutputFiles {
    pub folder: PathBuf,
}

/// A zone of `zones.gpkg`, in the CRS of the grid.
pub struct GpkgZone {
    pub id: String,
    pub number: i64,
    pub area_ha: f64,
    pub shape: Geometry,
    pub rings: Vec<Vec<(f64, f64)>>,
}

impl OutputFiles {
    pub fn at(folder: &Path) -> OutputFiles {
        OutputFiles {
            folder: folder.to_owned(),
        }
    }

    pub fn file(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    pub fn record(&self) -> serde_json::Value {
        serde_json::from_slice(&std::fs::read(self.file("run.json")).unwrap()).unwrap()
    }

    /// The features of `zones.geojson`, read by the geojson crate.
    pub fn features(&self) -> Vec<geojson::Feature> {
        let text = std::fs::read_to_string(self.file("zones.geojson")).unwrap();
        text.parse::<geojson::FeatureCollection>().unwrap().features
    }

    /// The zones of `zones.gpkg`, read by GDAL.
    pub fn zones(&self) -> Vec<GpkgZone> {
        let dataset = Dataset::open(self.file("zones.gpkg")).unwrap();
        let mut layer = dataset.layer_by_name("zones").unwrap();
        let defn = layer.defn();
        let place = |name: &str| defn.field_index(name).unwrap();
        let (id, number, area_ha) = (place("zone_id"), place("zone"), place("area_ha"));
        let zones = layer.features().map(|feature| {
            let shape = feature.geometry().unwrap().clone();
            GpkgZone {
                id: feature.field_as_string(id).unwrap().unwrap(),
                number: feature.field_as_integer64(number).unwrap().unwrap(),
                area_ha: feature.field_as_double(area_ha).unwrap().unwrap(),
                rings: rings_of(&shape),
                shape,
            }
        });
        zones.collect()
    }

    /// Rows of `zone_species.csv`: by zone number and species id, the listing.
    pub fn listings(&self) -> BTreeMap<(i64, String), String> {
        let mut reader = csv::Reader::from_path(self.file("zone_species.csv")).unwrap();
        let head = reader.headers().unwrap().clone();
        let place = |name: &str| head.iter().position(|found| found == name).unwrap();
        let (zone, species, listing) = (place("zone"), place("species_id"), place("listing"));
        let rows = reader.records().map(|row| {
            let row = row.unwrap();
            let key = (row[zone].parse().unwrap(), row[species].to_owned());
            (key, row[listing].to_owned())
        });
        rows.collect()
    }

    /// The zone that holds a place in the CRS of the grid.
    pub fn zone_at(&self, x: f64, y: f64) -> GpkgZone {
        let place = Geometry::from_wkt(&format!("POINT ({x} {y})")).unwrap();
        let mut holders: Vec<GpkgZone> = self
            .zones()
            .into_iter()
            .filter(|zone| zone.shape.contains(&place))
            .collect();
        assert_eq!(holders.len(), 1, "{} zones hold {x} {y}", holders.len());
        holders.remove(0)
    }

    /// How each species stands in a zone.
    pub fn listings_of(&self, zone: i64) -> BTreeMap<String, String> {
        self.listings()
            .into_iter()
            .filter(|((number, _), _)| *number == zone)
            .map(|((_, species), listing)| (species, listing))
            .collect()
    }
}

/// Whether a listing puts the species on the zone's list.
pub fn is_listed(listing: &str) -> bool {
    matches!(listing, "throughout" | "mostly")
}

/// The rings of a polygon or of the polygons of a collection.
pub fn rings_of(shape: &Geometry) -> Vec<Vec<(f64, f64)>> {
    match shape.geometry_name().as_str() {
        "LINEARRING" => {
            let mut points = Vec::new();
            shape.get_points(&mut points);
            vec![points.into_iter().map(|(x, y, _)| (x, y)).collect()]
        }
        _ => (0..shape.geometry_count())
            .flat_map(|part| rings_of(&shape.get_geometry(part)))
            .collect(),
    }
}
