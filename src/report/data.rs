//! What the script of the page reads: plain numbers and texts, already in the units
//! that people chose. Says nothing of how they came about.

use serde::Serialize;

use super::map_data::MapData;
use super::zone_data::{StandingData, ZoneColumns};

/// All that the page's script shows.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PageData {
    /// `metric` or `us`: how areas and lengths are written.
    pub units: &'static str,
    /// The grid, in which all places are counted.
    pub grid: GridData,
    /// Suitability classes, best first: code and words.
    pub classes: Vec<(String, &'static str)>,
    /// The class from which a species suits, as index into `classes`.
    pub wanted: usize,
    /// Words for how a species stands in a zone.
    pub listings: Vec<&'static str>,
    /// How many factors can count.
    pub of_factors: usize,
    /// The factors.
    pub factors: Vec<FactorData>,
    /// The species.
    pub species: Vec<SpeciesData>,
    /// The zones, column by column.
    pub zones: ZoneColumns,
    /// How species stand in zones: each distinct standing once.
    pub standings: Vec<StandingData>,
    /// Texts that many places share.
    pub texts: Vec<String>,
    /// Whether rows of species that are not listed were left out.
    pub rows_left_out: bool,
    /// What is drawn.
    pub map: MapData,
    /// Areas of the whole site.
    pub areas: SiteAreasData,
}

/// The grid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GridData {
    /// Name of the CRS with its code.
    pub crs: String,
    /// Map coordinates of the north-west corner.
    pub west: f64,
    /// Map coordinates of the north-west corner.
    pub north: f64,
    /// Side of a cell in metres.
    pub cell_m: f64,
    /// Rows.
    pub rows: usize,
    /// Columns.
    pub cols: usize,
    /// Longitude and latitude (WGS 84) at evenly spaced corners, row by row from the
    /// north-west: `LATTICE` + 1 along each side.
    pub lon_lat: Vec<(f64, f64)>,
}

/// Steps of [`GridData::lon_lat`] along each side.
pub const LATTICE: usize = 8;

/// One factor.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FactorData {
    /// The word for it in files.
    pub id: String,
    /// For people.
    pub words: String,
    /// Symbol of the unit people read; nothing for classes.
    pub unit: Option<&'static str>,
    /// Whether the unit stands before the number.
    pub unit_leads: bool,
    /// Decimals with which people read a value.
    pub decimals: usize,
    /// Words for values beyond reach.
    pub beyond: String,
    /// Class names; empty for measured factors.
    pub classes: Vec<String>,
    /// Whether people can change it.
    pub remediable: bool,
    /// How its values are spread over the rated ground.
    pub spread: SpreadData,
}

/// How the values of a factor are spread over the rated ground.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct SpreadData {
    /// Of a measured factor the limits of the steps, one more than there are areas.
    pub limits: Vec<f64>,
    /// Square metres in each step, or of each class.
    pub areas_m2: Vec<f64>,
    /// Square metres without a value.
    pub missing_m2: f64,
    /// Square metres beyond reach.
    pub beyond_m2: f64,
    /// Whether zones count as a whole, with their means.
    pub by_means: bool,
}

/// One species.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpeciesData {
    /// The word for it in files.
    pub id: String,
    /// Common name.
    pub common: String,
    /// Scientific name.
    pub scientific: String,
    /// Growth form.
    pub form: &'static str,
    /// Hazards that the catalogue records.
    pub cautions: Vec<String>,
    /// Months in which it flowers, January first; nothing where none are recorded.
    pub bloom: Option<[u8; 12]>,
    /// Its traits by part of the profile.
    pub profile: Vec<(&'static str, Vec<ValueData>)>,
    /// What it stands.
    pub opinions: Vec<OpinionData>,
    /// Areas over the whole site.
    pub areas: SpeciesAreasData,
}

/// One value with its source.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ValueData {
    /// What it is.
    pub label: String,
    /// The value.
    pub value: String,
    /// Its source, by place in [`super::Page::sources`].
    pub source: usize,
    /// Anything to say about it, other sources' values that are set aside included.
    pub note: String,
}

/// A tolerance: how the score of a species follows a factor.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OpinionData {
    /// The factor, by place; nothing where the project does not have it.
    pub factor: Option<usize>,
    /// The ground on which alone it holds; empty for all.
    pub given: String,
    /// As catalogues write it, with its source.
    pub value: ValueData,
    /// Scores from 0 to 1: of each class, or at the limits of the factor's steps and
    /// midway between; nothing where it says nothing.
    pub scores: Vec<Option<f64>>,
}

/// Areas of one species over the site, in square metres.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct SpeciesAreasData {
    /// Ground that suits, by the class the species has in its zone: S1, S2, S3.
    pub suits: [f64; 3],
    /// Ground that suits in zones where it is a fifth or less and has no class.
    pub suits_in_spots: f64,
    /// Ground that does not suit, by the factor that limits most in its zone; last, where
    /// no factor is told.
    pub limited: Vec<f64>,
    /// Ground on which the species is not known.
    pub unknown: f64,
}

/// Areas of the site in square metres.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct SiteAreasData {
    /// Rated.
    pub rated: f64,
    /// By best class of the zone's list; last, zones without a listed species.
    pub by_class: Vec<f64>,
    /// For each factor the area times species that it keeps out first.
    pub limited: Vec<f64>,
}
