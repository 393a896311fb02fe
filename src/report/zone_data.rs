//! Zones, and how species stand in them, for the script of the page.

use serde::{Serialize, Serializer};

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
    /// Cautions, by place in [`super::PageData::texts`].
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
    /// By place in [`super::PageData::listings`].
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
    /// [`super::PageData::texts`]; nothing where no value would do.
    pub limits: Vec<(usize, Option<usize>)>,
    /// Factors without which it is not known.
    pub lacking: Vec<usize>,
    /// Factors on which it has no opinion where that is told.
    pub no_opinion: Vec<usize>,
    /// Where it is documented, by place in [`super::PageData::texts`].
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
