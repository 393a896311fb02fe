//! What a run record and `check` tell of each layer.

use serde::Serialize;

use crate::gis::TransformTold;

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
    /// Share of the area's extent that the layer's extent covers, 0 to 1.
    pub covers: f64,
    /// Features, for vectors.
    pub features: Option<usize>,
    /// Edition or date, as the project gives it.
    pub date: Option<String>,
}
