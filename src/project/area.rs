//! `[area]`: the ground to rate and the grid over it.

use super::layer::LayerRef;
use super::table::Table;
use super::value::ABOVE_ZERO;

/// Section `[area]`: which ground is rated, in which grid.
///
/// Keys: `boundary` (needed; with `sublayer`, `filter`, `crs`), `grid_crs`,
/// `cell_m`.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    /// `boundary`: the polygon layer of the site; ground outside is not rated.
    pub boundary: LayerRef,
    /// `grid_crs`: the projected coordinate reference system of the grid, such
    /// as `EPSG:26915`.
    ///
    /// # Missing
    /// The UTM zone of the boundary, in the datum most layers share.
    pub grid_crs: Option<String>,
    /// `cell_m`: the side of a cell.
    ///
    /// # Missing
    /// Follows from the layers.
    pub cell_m: Option<f64>,
}

impl Area {
    pub(super) fn read(table: &Table) -> Option<Area> {
        table.require(&["boundary"]);
        let boundary = LayerRef::read(table, "boundary");
        let grid_crs = table.text("grid_crs").map(|found| found.value.to_owned());
        let cell_m = table.number("cell_m", ABOVE_ZERO).map(|found| found.value);
        table.finish();
        Some(Area {
            boundary: boundary?,
            grid_crs,
            cell_m,
        })
    }
}
