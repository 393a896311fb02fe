//! What the script of the page reads: plain numbers and texts, already in the units
//! that people chose. Says nothing of how they came about.

use serde::{Serialize, Serializer};

use super::outlines::{Course, Ring};

/// All that the page's script shows.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PageData {
    /// `metric` or `us`: how areas and lengths are written.
    pub units: &'static str,
    /// The grid, in which all places are counted.
    pub grid: GridData,
    /// Suitability classes, best first: code and words.
    pub classes: Vec<(&'static str, &'static str)>,
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
    pub beyond: &'static str,
    /// Class names; empty for measured factors.
    pub classes: Vec<String>,
    /// Whether silence of a species makes it unknown.
    pub decisive: bool,
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

/// The zones, one entry each in every column.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct ZoneColumns {
    /// Stable ids.
    pub id: Vec<String>,
    /// Square metres.
    pub area_m2: Vec<f64>,
    /// Best class of a listed species, by place; nothing when none is listed.
    pub best: Vec<Option<usize>>,
    /// Share of cells times species that are unknown, in thousandths.
    pub unknown: Vec<u32>,
    /// Factors that keep most species off the list.
    pub limited_by: Vec<Vec<usize>>,
    /// Of each factor what the zone has.
    pub ground: Vec<Vec<GroundData>>,
    /// Cautions, by place in [`PageData::texts`].
    pub cautions: Vec<Vec<usize>>,
    /// The factor whose support is larger than the zone.
    pub below_support: Vec<Option<usize>>,
    /// Species and standing in turn, in the order of the zone's list, by place.
    pub species: Vec<Vec<usize>>,
}

/// What a zone has of a factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GroundData {
    /// Mean, least and greatest; nothing for what is beyond reach.
    Measured([Option<f64>; 3]),
    /// Most frequent class and its share in thousandths.
    Class(u16, u32),
    /// Not known.
    Missing,
}

impl Serialize for GroundData {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            GroundData::Measured(values) => values.serialize(serializer),
            GroundData::Class(class, share) => (class, share).serialize(serializer),
            GroundData::Missing => serializer.serialize_none(),
        }
    }
}

/// How a species stands in a zone. A large site has a hundred thousand of these, so it is
/// written as a plain list of its fields, in their order.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct StandingData {
    /// By place in [`PageData::listings`].
    pub listing: usize,
    /// Class, by place.
    pub class: Option<usize>,
    /// Share of the known cells that suit, in thousandths.
    pub share: u32,
    /// Share of the cells on which it is known, in thousandths.
    pub known: u32,
    /// Share of the soils of the map unit that suit, in thousandths.
    pub soils: Option<u32>,
    /// Mean rating in hundredths.
    pub rating: Option<u32>,
    /// Number of factors the rating rests on.
    pub rests_on: usize,
    /// Factors that limit, each with what would be needed, by place in
    /// [`PageData::texts`]; nothing where no value would do.
    pub limits: Vec<(usize, Option<usize>)>,
    /// Factors without which it is not known.
    pub lacking: Vec<usize>,
    /// Factors on which it has no opinion where that is told.
    pub no_opinion: Vec<usize>,
    /// Where it is documented, by place in [`PageData::texts`].
    pub documented: Option<usize>,
}

impl Serialize for StandingData {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let StandingData {
            listing,
            class,
            share,
            known,
            soils,
            rating,
            rests_on,
            limits,
            lacking,
            no_opinion,
            documented,
        } = self;
        (
            listing, class, share, known, soils, rating, rests_on, limits, lacking, no_opinion, documented,
        )
            .serialize(serializer)
    }
}

/// What is drawn. Places are cells from the north-west corner of the grid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MapData {
    /// Borders of zones, each once.
    pub borders: Vec<Course>,
    /// For each zone its rings, the exterior first, as walks along borders.
    pub rings: Vec<Vec<Ring>>,
    /// What lies beside the zones.
    pub lines: Vec<LineData>,
    /// Shaded relief.
    pub relief: Option<ReliefData>,
    /// Ground that is not rated.
    pub not_rated: Option<CausesData>,
    /// By how many metres borders are simplified here.
    pub simplify_m: f64,
    /// By how many in the files.
    pub simplify_files_m: f64,
}

/// Lines of one kind.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineData {
    /// `boundary`, `road`, `keep-out` or `line`.
    pub kind: &'static str,
    /// What the project calls it.
    pub name: String,
    /// Lines and rings in tenths of a cell.
    pub courses: Vec<Course>,
}

/// A picture of the shaded relief.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReliefData {
    /// A `data:` address.
    pub picture: String,
    /// Cells of the grid that its width spans.
    pub cols: f64,
    /// Cells of the grid that its height spans.
    pub rows: f64,
}

/// Ground that is not rated, by cause, in coarse cells.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CausesData {
    /// Cells of the grid along a side of a coarse cell.
    pub cell: usize,
    /// Coarse columns.
    pub cols: usize,
    /// Coarse rows.
    pub rows: usize,
    /// The causes.
    pub causes: Vec<String>,
    /// Value (0, or 1 more than the place of the cause) and count in turn, row by row.
    pub runs: Vec<u32>,
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
