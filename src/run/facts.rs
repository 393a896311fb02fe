//! What a run found out that a later cut of other zones tells again: areas by
//! cause, counts, warnings, and what it was run on.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::counted::Counted;
use super::found::Joined;
use super::not_rated::NotRated;
use super::not_rated_picture::NotRatedPicture;
use super::prepared::Prepared;
use super::record;
use super::settings::ZoneSettings;
use crate::output::InputRecord;
use crate::zones::{Regions, ZoneGround, absorbed_against_keep};

/// Facts of a run, apart from its zones.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Facts {
    /// The checksum of each input file, by path as the project writes it.
    pub inputs: BTreeMap<String, String>,
    /// The number of regions before small ones joined.
    pub regions: u64,
    /// Rated area and the rest by cause.
    pub not_rated: NotRated,
    /// Where the rest lies.
    ///
    /// # Missing
    /// In outputs from before there was such a picture.
    #[serde(default)]
    pub not_rated_picture: Option<NotRatedPicture>,
    /// Cells that phase 1 absorbed against `keep`.
    pub absorbed_against_keep: u64,
    /// Small zones without a neighbour.
    pub islands: u64,
    /// What people should know.
    pub warnings: Vec<String>,
}

impl Facts {
    /// The facts of a run after its second pass.
    pub fn new(
        prepared: &Prepared,
        regions: &Regions,
        joined: &Joined,
        counted: &Counted,
        settings: &ZoneSettings,
        inputs: &[InputRecord],
    ) -> Facts {
        let against = absorbed_against_keep(
            regions,
            &joined.phase_one,
            &counted.zones.tallies,
            &settings.merge.listing,
            settings.merge.keep,
            settings.smallest_cells,
        );
        let mut warnings = prepared.warnings.clone();
        let met = prepared.site.met_texts(&counted.met);
        warnings.extend(met.into_iter().map(|(layer, text)| format!("{layer}: {text}")));
        let causes = counted.not_rated.causes.keys().cloned().collect();
        Facts {
            inputs: record::checksums(inputs),
            regions: regions.len() as u64,
            not_rated: counted.not_rated.clone(),
            not_rated_picture: Some(counted.picture.finish(causes)),
            absorbed_against_keep: against.cells,
            islands: joined.phase_one.islands,
            warnings,
        }
    }
}

/// The sums of one zone of phase 1 as they are stored.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StoredZone {
    /// Geodesic area in square millimetres, as text.
    pub area_mm2: String,
    /// Ground and ratings.
    pub ground: ZoneGround,
}
