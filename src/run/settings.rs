//! Zone settings of a project, with the defaults that hang on the site.

use super::prepared::Prepared;
use crate::error::Error;
use crate::project::Project;
use crate::zones::{ListingRules, MergeRules, Share, ZonesError};

/// How zones are made on this site.
#[derive(Debug, Clone, Copy)]
pub struct ZoneSettings {
    /// Passes of the vote.
    pub vote: usize,
    /// Regions with fewer cells join a neighbour.
    pub smallest_cells: u64,
    /// Where merging stops.
    pub stop_at: StopAt,
    /// What guards lists while zones merge.
    pub merge: MergeRules,
    /// Tolerance of outlines.
    pub simplify_m: f64,
}

/// Where merging stops.
#[derive(Debug, Clone, Copy)]
pub enum StopAt {
    /// Before fidelity falls under this.
    Fidelity(Share),
    /// At so many zones.
    Number(u32),
}

/// Passes of the vote where a raster's cells may be noise.
const VOTES: u8 = 2;

impl ZoneSettings {
    /// The settings of a project on its site.
    ///
    /// # Errors
    /// Shares that are none; the project file is checked for them before.
    pub fn new(project: &Project, prepared: &Prepared) -> Result<ZoneSettings, Error> {
        let zones = &project.zones;
        let cell_m = prepared.site.grid().cell_m();
        let share =
            |name: &'static str, value: f64| Share::new(value).ok_or(ZonesError::NoShare { name, value });
        let number = zones
            .number
            .map(|number| u32::try_from(number).unwrap_or(u32::MAX));
        Ok(ZoneSettings {
            vote: usize::from(
                zones
                    .vote
                    .unwrap_or_else(|| usual_vote(cell_m, prepared.site.raster_cells_m())),
            ),
            smallest_cells: cells_of(zones.smallest_ha, cell_m),
            stop_at: match number {
                Some(number) => StopAt::Number(number),
                None => StopAt::Fidelity(share("fidelity", zones.fidelity)?),
            },
            merge: MergeRules {
                listing: ListingRules::with_list_share(share("list_share", zones.list_share)?),
                keep: share("keep", zones.keep)?,
            },
            simplify_m: zones.simplify_m.unwrap_or(cell_m),
        })
    }

    /// The same settings with a number of zones to stop at.
    pub fn with_number(self, number: u32) -> ZoneSettings {
        ZoneSettings {
            stop_at: StopAt::Number(number),
            ..self
        }
    }
}

/// The vote takes place where a raster's cells are no larger than the grid's: then
/// a single cell may be noise. A coarser raster has no single cells.
///
/// `raster_cells_m` are the sides of the cells of raster factors, on the grid.
fn usual_vote(cell_m: f64, mut raster_cells_m: impl Iterator<Item = f64>) -> u8 {
    let noisy = raster_cells_m.any(|side| side <= cell_m * 1.001);
    if noisy { VOTES } else { 0 }
}

/// Cells that make up an area, rounded up.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "an area of 0 or more, in cells; a float cast saturates"
)]
fn cells_of(area_ha: f64, cell_m: f64) -> u64 {
    (area_ha * 10_000.0 / (cell_m * cell_m) - 1e-9).ceil() as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn single_cells_are_voted_on_where_a_raster_may_show_noise() {
        let vote = |sides: &[f64]| usual_vote(5.0, sides.iter().copied());
        assert_eq!(vote(&[5.0]), 2);
        assert_eq!(vote(&[8.0, 1.0]), 2);
        // A side that went through a transformation may be a hair too long.
        assert_eq!(vote(&[5.000_1]), 2);
        assert_eq!(vote(&[8.0]), 0);
        assert_eq!(vote(&[]), 0);
    }

    #[test]
    fn the_smallest_zone_has_at_least_the_area_asked_for() {
        // 0.1 ha are 40 cells of 25 m2.
        assert_eq!(cells_of(0.1, 5.0), 40);
        assert_eq!(cells_of(0.1001, 5.0), 41);
        assert_eq!(cells_of(0.1, 30.0), 2);
        assert_eq!(cells_of(0.0, 5.0), 0);
        assert_eq!(cells_of(1e300, 5.0), u64::MAX);
    }
}
