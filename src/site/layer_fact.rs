//! What a run record and `check` tell of each layer.

use serde::Serialize;

use crate::gis::{Features, TransformTold};
use crate::project::LayerRef;

/// How one layer was brought to the grid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LayerFact {
    /// What the project file calls it: `factors.canopy`.
    pub name: String,
    /// The path as the project file has it.
    pub path: String,
    /// What it is: `raster, measured`.
    pub kind: String,
    /// From which CRS to the grid's, and how exactly.
    pub transform: TransformTold,
    /// How cells are resampled; nothing for vectors.
    pub resampling: Option<&'static str>,
    /// Side of a source cell in metres, or the smallest delineation if given.
    pub support_m: Option<f64>,
    /// The number that stands for no value, for rasters that have one.
    pub nodata: Option<f64>,
    /// Share of the area's extent that the layer's extent covers, 0 to 1; for rasters,
    /// which have no other way to tell where they end.
    pub covers: Option<f64>,
    /// Features, for vectors.
    pub features: Option<usize>,
    /// Edition or date, as the project gives it.
    pub date: Option<String>,
    /// What else was used, for people: the settings of a computed factor.
    pub notes: Vec<String>,
}

impl LayerFact {
    /// What there is to tell of a vector layer.
    #[must_use]
    pub fn of_vector<G>(name: &str, layer: &LayerRef, read: &Features<G>) -> LayerFact {
        LayerFact {
            name: name.to_owned(),
            path: layer.as_written.clone(),
            kind: "vector".to_owned(),
            transform: read.transform.clone(),
            resampling: None,
            support_m: None,
            nodata: None,
            covers: None,
            features: Some(read.items.len()),
            date: None,
            notes: Vec::new(),
        }
    }
}
