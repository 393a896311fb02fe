//! Latitude and the direction of true north across a grid.

use crate::gis::{self, GisError, Transform};
use crate::grid::Grid;

/// Cells between the nodes; over so few, both run straight.
const STEP: usize = 256;

/// Latitude and true north at nodes of a grid, and between them by straight lines.
#[derive(Debug)]
pub struct TrueNorth {
    cols: usize,
    /// Latitude in degrees, and what is added to a bearing from true north for one from the
    /// grid's.
    nodes: Vec<(f64, f64)>,
}

impl TrueNorth {
    /// The nodes of a grid.
    ///
    /// # Errors
    /// When a node has no place on the globe.
    pub fn new(grid: &Grid) -> Result<TrueNorth, GisError> {
        let (rows, cols) = (grid.rows().div_ceil(STEP) + 1, grid.cols().div_ceil(STEP) + 1);
        let corners: Vec<(f64, f64)> = (0..rows * cols)
            .map(|node| grid.corner_to_map(node / cols * STEP, node % cols * STEP))
            .collect();
        let globe = gis::lon_lat()?;
        let mut places = corners.clone();
        Transform::untold(grid.crs(), &globe)?.apply(&mut places)?;
        // Toward the equator, so that a pole is not passed.
        let step_deg = |lat: f64| if lat > 0.0 { -0.001 } else { 0.001 };
        let mut beside: Vec<(f64, f64)> = places
            .iter()
            .map(|&(lon, lat)| (lon, lat + step_deg(lat)))
            .collect();
        Transform::untold(&globe, grid.crs())?.apply(&mut beside)?;
        let nodes = corners.iter().zip(&places).zip(&beside);
        let nodes = nodes.map(|((corner, &(_, lat)), beside)| {
            let sign = step_deg(lat).signum();
            let turn = ((beside.0 - corner.0) * sign).atan2((beside.1 - corner.1) * sign);
            (lat, turn.to_degrees())
        });
        Ok(TrueNorth {
            cols,
            nodes: nodes.collect(),
        })
    }

    /// Latitude and turn at the centre of a cell.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "places within a step")]
    pub fn at(&self, row: usize, col: usize) -> (f64, f64) {
        let share = |cell: usize| ((cell % STEP) as f64 + 0.5) / STEP as f64;
        let (down, right) = (share(row), share(col));
        let first = row / STEP * self.cols + col / STEP;
        let corner = |index: usize| self.nodes[index];
        let mix = |one: (f64, f64), other: (f64, f64), share: f64| {
            (
                one.0 + (other.0 - one.0) * share,
                one.1 + (other.1 - one.1) * share,
            )
        };
        let above = mix(corner(first), corner(first + 1), right);
        let below = mix(corner(first + self.cols), corner(first + self.cols + 1), right);
        mix(above, below, down)
    }

    /// The least and the greatest latitude.
    #[must_use]
    pub fn latitudes_deg(&self) -> (f64, f64) {
        let latitudes = self.nodes.iter().map(|&(lat, _)| lat);
        let ends = (f64::INFINITY, f64::NEG_INFINITY);
        latitudes.fold(ends, |(least, most), lat| (least.min(lat), most.max(lat)))
    }
}
