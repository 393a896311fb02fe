//! `[catalogue.rules]`: the settings of the rules that turn recorded levels into
//! responses.

use serde::Serialize;

use super::table::Table;
use super::value::{ABOVE_ZERO, Need};

/// Section `[catalogue.rules]`. All keys have defaults.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RuleSettings {
    /// `wetland_region`: the region whose wetland status is looked at first.
    pub wetland_region: Option<String>,
    /// `ph_at_limit`: score at a recorded limit of pH; default 0.6.
    pub ph_at_limit: f64,
    /// `ph_beyond`: units of pH outside a limit at which the score is 0; default 1.
    pub ph_beyond: f64,
    /// `ph_inside`: share of the recorded range inside a limit from which the score
    /// is 1; default 0.25.
    pub ph_inside: f64,
}

impl Default for RuleSettings {
    fn default() -> RuleSettings {
        RuleSettings {
            wetland_region: None,
            ph_at_limit: 0.6,
            ph_beyond: 1.0,
            ph_inside: 0.25,
        }
    }
}

const SCORE: Need = Need {
    words: "a score from 0 to 1",
    holds: |value| (0.0..=1.0).contains(&value),
};
const SHARE: Need = Need {
    words: "a share from 0 up to 0.5",
    holds: |value| (0.0..=0.5).contains(&value),
};

impl RuleSettings {
    pub(super) fn read(table: &Table<'_>) -> RuleSettings {
        let usual = RuleSettings::default();
        let number = |key, need, usual| table.number(key, need).map_or(usual, |found| found.value);
        let settings = RuleSettings {
            wetland_region: table.text("wetland_region").map(|found| found.value.to_owned()),
            ph_at_limit: number("ph_at_limit", SCORE, usual.ph_at_limit),
            ph_beyond: number("ph_beyond", ABOVE_ZERO, usual.ph_beyond),
            ph_inside: number("ph_inside", SHARE, usual.ph_inside),
        };
        table.finish();
        settings
    }
}
