//! What a place has and how each species fares there, as it is told.

use serde::Serialize;

use crate::score::Class;
pub use crate::site::SoilHere;

/// The place that is asked about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Why {
    /// East, or longitude.
    pub x: f64,
    /// North, or latitude.
    pub y: f64,
    /// Whether the two are longitude and latitude in degrees.
    pub lon_lat: bool,
}

/// What a place has and how each species fares there.
#[derive(Debug, Clone, Serialize)]
pub struct Explanation {
    /// East in the grid's CRS.
    pub x: f64,
    /// North in the grid's CRS.
    pub y: f64,
    /// Longitude.
    pub lon: f64,
    /// Latitude.
    pub lat: f64,
    /// The grid's CRS.
    pub crs: String,
    /// Row of the cell.
    pub row: usize,
    /// Column of the cell.
    pub col: usize,
    /// Why the place is not rated; nothing where it is.
    pub not_rated: Option<String>,
    /// The ground, one entry a factor.
    pub ground: Vec<GroundHere>,
    /// The map unit and its soils; nothing without a soil survey.
    pub soil: Option<SoilHere>,
    /// The species in the order of lists: by class, form, rating and name; those not
    /// known last.
    pub species: Vec<SpeciesHere>,
}

/// One factor at a place.
#[derive(Debug, Clone, Serialize)]
pub struct GroundHere {
    /// The factor.
    pub factor: String,
    /// Its value, in words or with its unit.
    pub found: String,
    /// The raw value; nothing where there is none or it lies beyond reach.
    pub value: Option<f32>,
    /// The numbers behind a value that is computed: grams of salt behind a band.
    pub behind: Option<String>,
    /// What a computed factor was computed from.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub from: Vec<String>,
}

/// One species at a place.
#[derive(Debug, Clone, Serialize)]
pub struct SpeciesHere {
    /// Id.
    pub id: String,
    /// Common name.
    pub common_name: String,
    /// Scientific name.
    pub scientific_name: String,
    /// `suits`, `does not suit` or `not known`.
    pub state: &'static str,
    /// Class, where known.
    pub class: Option<Class>,
    /// Rating, where known.
    pub rating: Option<f64>,
    /// Number of questions with a score.
    pub rests_on: usize,
    /// Number of questions asked.
    pub of: usize,
    /// Where it is documented, where the project tells.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<RangeHere>,
    /// What each question gave, in the project's order.
    pub answers: Vec<AnswerHere>,
}

/// Where a species is documented, seen from a place.
#[derive(Debug, Clone, Serialize)]
pub struct RangeHere {
    /// `documented here`, `documented in an adjoining region`, `not documented`, `no region
    /// here`.
    pub documented: &'static str,
    /// The nearest record in words; empty where the project has no records.
    pub nearest_record: String,
    /// The distance told; nothing without a record within reach.
    pub nearest_record_m: Option<f64>,
}

/// One answer of a species at a place.
#[derive(Debug, Clone, Serialize)]
pub struct AnswerHere {
    /// The factor that was used.
    pub factor: String,
    /// The value found.
    pub found: String,
    /// The score; nothing where there is none.
    pub score: Option<f64>,
    /// Whether it keeps the species out of the wanted class.
    pub limits: bool,
    /// The values that would reach the wanted class.
    pub needed: Option<String>,
    /// What there is to say where there is no score.
    pub note: Option<&'static str>,
    /// How each soil of the map unit fares, where soils are rated one by one; the largest
    /// first.
    pub soils: Vec<SoilRated>,
}

/// How one soil of a map unit fares.
#[derive(Debug, Clone, Serialize)]
pub struct SoilRated {
    /// Its name; nothing for what is not told of the unit.
    pub name: Option<String>,
    /// Share of the unit, 0 to 1.
    pub share: f64,
    /// `suits`, `does not suit` or `not known`.
    pub state: &'static str,
    /// Its score, where it has one.
    pub score: Option<f64>,
    /// The factor that limits it most, or lacks.
    pub factor: Option<String>,
}
