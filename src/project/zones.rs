//! `[zones]`: how rated cells become zones.

use super::table::Table;
use super::value::{SHARE, ZERO_OR_MORE};

/// Section `[zones]`: smoothing, merging, listing and simplifying.
///
/// Keys: `vote`, `smallest_ha`, `fidelity`, `keep`, `list_share`, `number`,
/// `simplify_m`.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneSection {
    /// `vote`: passes of the majority of nine cells before zones form, 0 to 10.
    ///
    /// # Missing
    /// Two where a raster factor's cells are no larger than the grid's, else none.
    pub vote: Option<u8>,
    /// `smallest_ha`: regions below this area join a neighbour; 0.1 unless given.
    pub smallest_ha: f64,
    /// `fidelity`: zones are not merged further when the similarity of lists and
    /// cells would fall below this; 0.9 unless given.
    pub fidelity: f64,
    /// `keep`: no merge may leave the cells of either part less similar than
    /// this to the merged list; 0.6 unless given.
    pub keep: f64,
    /// `list_share`: the share of a zone on which a listed species suits; 0.5
    /// unless given.
    pub list_share: f64,
    /// `number`: merge down to so many zones instead of to `fidelity`.
    pub number: Option<usize>,
    /// `simplify_m`: how far outlines may move when they are simplified; 0 for
    /// not at all.
    ///
    /// # Missing
    /// One cell.
    pub simplify_m: Option<f64>,
}

impl Default for ZoneSection {
    fn default() -> ZoneSection {
        ZoneSection {
            vote: None,
            smallest_ha: 0.1,
            fidelity: 0.9,
            keep: 0.6,
            list_share: 0.5,
            number: None,
            simplify_m: None,
        }
    }
}

impl ZoneSection {
    pub(super) fn read(table: &Table) -> ZoneSection {
        let usual = ZoneSection::default();
        let share = |key, usual| table.number(key, SHARE).map_or(usual, |found| found.value);
        let section = ZoneSection {
            vote: table
                .whole("vote", 0..=10)
                .and_then(|found| u8::try_from(found.value).ok()),
            smallest_ha: table
                .number("smallest_ha", ZERO_OR_MORE)
                .map_or(usual.smallest_ha, |found| found.value),
            fidelity: share("fidelity", usual.fidelity),
            keep: share("keep", usual.keep),
            list_share: share("list_share", usual.list_share),
            number: table
                .whole("number", 1..=i64::MAX)
                .and_then(|found| usize::try_from(found.value).ok()),
            simplify_m: table.number("simplify_m", ZERO_OR_MORE).map(|found| found.value),
        };
        table.finish();
        section
    }
}
